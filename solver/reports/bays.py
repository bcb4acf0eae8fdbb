"""What is wrong with bays and looms, as the documents have it."""

from __future__ import annotations

from solver.handover.bays import BayFault
from solver.handover.conductors import Joined
from solver.handover.wiring import Wiring
from solver.reports.element import BrokenLimit

RULE, ONE_DRIVER = "bay", "one-driver"
"""What follows from a build, and no search keeps to: these are codes of no rules of the search."""


def wiring_limits(wiring: Wiring) -> list[BrokenLimit]:
    """What is wrong with bays, looms and lines of a build, beside what its rules say."""
    return [*map(_bay_limit, wiring.bays.faults), *map(_driver_limit, wiring.misjoined)]


def _bay_limit(fault: BayFault) -> BrokenLimit:
    """A fault of a bay beside those of the build."""
    return BrokenLimit(
        rule=RULE,
        room=fault.room,
        frame=None,
        slot=None,
        subject=fault.bay,
        found=fault.found,
        limit=fault.most,
        unit="points",
        text=fault.text,
    )


def _driver_limit(fault: Joined) -> BrokenLimit:
    """Conductors that do not join one driver to one receiver."""
    return BrokenLimit(
        rule=ONE_DRIVER,
        room=fault.room,
        frame=None,
        slot=None,
        subject=fault.loom,
        found=fault.found,
        limit=0,
        unit="lines",
        text=fault.text if fault.room is None else f"{fault.room}, {fault.text}",
    )
