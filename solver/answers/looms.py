"""The looms of a build, pin by pin."""

from __future__ import annotations

from solver.answers.standing_rooms import odd_frames, stood_rooms
from solver.files.reading import Loaded
from solver.handover.bays import patch
from solver.handover.looms import looms as looms_of
from solver.handover.looms import numbered
from solver.handover.unwired import not_wired
from solver.reports.bays import bay_limit
from solver.reports.looms import LoomList, connector_bill, loom_sheets
from solver.reports.report import file_warnings
from solver.room.build import Build

ENDS = (
    "A plug has the other gender than its card's connector. Far ends but for points of bays are in no file: bell out "
    "each loom, pin to pin, before it meets equipment.",
    "Screens go to the pin that is named, the overall screen of a D-sub's cable to the shell; a mains earth is never "
    "lifted.",
)
"""What holds of every loom (common practice, no source)."""


def looms(loaded: Loaded, build: Build, room: str | None = None) -> LoomList:
    """A loom for each connector of a build that has a channel with a number.

    Parameters
    ----------
    room
        One of several rooms; None for all of them.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    stood = stood_rooms(loaded, build, room)
    channels = numbered(stood.rooms)
    bays = patch(stood.rooms, channels)
    faults = [*stood.faults, *map(bay_limit, bays.faults)]
    sheets = loom_sheets(looms_of(stood.rooms, channels), bays.of_channels())
    return LoomList(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        faults=faults,
        not_wired=not_wired(channels),
        looms=sheets,
        bill=connector_bill(sheets),
        notes=[*(ENDS if sheets else ()), *bays.notes, *odd_frames("the build", stood.rooms)],
        warnings=file_warnings(loaded.warnings),
    )
