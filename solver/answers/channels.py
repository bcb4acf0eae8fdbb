"""Every number of a build, and what it carries."""

from __future__ import annotations

from typing import Literal

from solver.answers.check import check
from solver.answers.standing_rooms import standing_rooms
from solver.files.reading import Loaded
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
    rooms = standing_rooms(loaded, build, room)
    faults = [fault for fault in check(loaded, build).faults if room is None or fault.room in (None, room)]
    rate = rooms[0].survey.sample_rate if len(rooms) == 1 else loaded.scenario.sample_rate
    return ChannelList(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=rate,
        outcome="faulty" if faults else "clean",
        by=by,
        faults=faults,
        rows=channel_rows(rooms, by),
        warnings=file_warnings(loaded.warnings),
    )
