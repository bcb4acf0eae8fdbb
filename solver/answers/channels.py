"""Every number of a build, and what it carries."""

from __future__ import annotations

from typing import Literal

from solver.answers.standing_rooms import odd_frames, stood_rooms
from solver.files.reading import Loaded
from solver.handover.bays import patch
from solver.handover.looms import numbered
from solver.handover.unwired import not_wired
from solver.reports.bays import bay_limit
from solver.reports.channels import ChannelList, channel_rows
from solver.reports.report import file_warnings
from solver.room.build import Build


def channels(
    loaded: Loaded, build: Build, room: str | None = None, by: Literal["number", "slot", "need"] = "number"
) -> ChannelList:
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
    stood = stood_rooms(loaded, build, room)
    found = numbered(stood.rooms)
    bays = patch(stood.rooms, found)
    faults = [*stood.faults, *map(bay_limit, bays.faults)]
    return ChannelList(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        by=by,
        faults=faults,
        rows=channel_rows(stood.rooms, found, bays.of_channels(), by),
        not_wired=not_wired(found),
        notes=[*bays.notes, *odd_frames("the build", stood.rooms)],
        warnings=file_warnings(loaded.warnings),
    )
