"""What a placement comes to: cable, free units together, the most heat below an inlet, weight up high."""

from __future__ import annotations

from solver.racks.limit import Placement
from solver.racks.rules.inlet import below_mw
from solver.racks.rules.lengths import length_um
from solver.room.words import in_runs


def cables_um(placement: Placement) -> int:
    """The length of all cables together, um."""
    return sum(run.count * (length_um(placement, run) or 0) for run in placement.stand.runs)


def reserve(placement: Placement) -> list[int]:
    """The longest run of units that are free and left to no frame's air, from below; the lowest of equals."""
    aired = {
        unit
        for piece in placement.placed
        if piece.draught
        for unit in (placement.units(piece.name)[0] - 1, placement.units(piece.name)[-1] + 1)
    }
    free = [u for u in range(1, placement.stand.rack.units + 1) if placement.free(u) and u not in aired]
    return max(in_runs(free, lambda one, other: other == one + 1), key=len, default=[])


def worst_below_mw(placement: Placement) -> int:
    """The most heat that rises to an inlet which it matters to, mW."""
    return max((below_mw(placement, p) for p in placement.placed if p.most_below_mw is not None), default=0)
