"""What is wrong with bays, as the documents have it."""

from __future__ import annotations

from solver.handover.bays import BayFault
from solver.reports.report import BrokenLimit

RULE = "bay"
"""Bays are filled from a build and no search knows of them, so this is the code of no rule of the search."""


def bay_limit(fault: BayFault) -> BrokenLimit:
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
