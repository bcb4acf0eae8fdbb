"""Bays, and whatever else is handled, are within reach."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.figures import units as told_units
from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.faults import quote


class Reach(RackRule):
    """A height for what is handled."""

    code = "rack-reach"
    work = 5

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        for piece in stand.pieces:
            if stand.reach is not None and piece.in_reach:
                yield RackLimit(self.code, (piece.name,), 0, "U", give=stand.rack.units)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """How many units it stands out of reach."""
        units, reach = placement.units(limit.about[0]), placement.stand.reach
        if not units or not reach:
            return None
        return max(0, reach[0] - units[0], units[-1] - reach[-1])

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """Every place costs what it is out of reach."""
        piece, reach = draft.stand.by_name[limit.about[0]], draft.stand.reach or range(1)
        low, high = reach[0], reach[-1] + 1 - piece.height_u
        draft.hold(limit, [(max(low - unit, unit - high, 0), term) for unit, term in draft.places(piece)])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        name, reach = limit.about[0], placement.stand.reach or range(1)
        return f"{quote(name)} is {used} U out of reach; within reach are {told_units(reach)}"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        return f"{quote(limit.about[0])} is within reach, {told_units(stand.reach or range(1))}"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        return f"let {quote(limit.about[0])} stand {amount} U out of reach"
