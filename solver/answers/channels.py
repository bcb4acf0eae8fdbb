"""Every number of a build, and what it carries."""

from __future__ import annotations

from solver.answers.asking import ListedBy
from solver.answers.handed_over import handed_over
from solver.files.reading import Loaded
from solver.handover.unwired import not_wired
from solver.reports.channels import ChannelList, channel_rows
from solver.room.build import Build


def channels(loaded: Loaded, build: Build, room: str | None = None, by: ListedBy = "number") -> ChannelList:
    """List every number that a card of a build answers.

    Parameters
    ----------
    room
        One of several rooms; None for all of them.
    by
        What the rows are in order of.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    handed = handed_over(loaded, build, room)
    return ChannelList(
        **handed.head,
        by=by,
        rows=channel_rows(handed.wiring, by),
        not_wired=not_wired(handed.wiring.channels),
        notes=handed.notes,
    )
