"""The looms of a build, pin by pin."""

from __future__ import annotations

from solver.answers.handed_over import handed_over
from solver.files.reading import Loaded
from solver.handover.unwired import not_wired
from solver.reports.looms import LoomList, connector_bill, loom_sheets
from solver.room.build import Build

ENDS = (
    "A plug has the other gender than its card's connector. Bell out each loom, pin to pin, before it meets equipment: "
    "whether its other end is wired so is in no file.",
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
    handed = handed_over(loaded, build, room)
    sheets = loom_sheets(handed.wiring)
    return LoomList(
        **handed.head,
        not_wired=not_wired(handed.wiring.channels),
        looms=sheets,
        bill=connector_bill(sheets),
        notes=[*(ENDS if sheets else ()), *handed.notes],
    )
