"""No unit holds two things."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.words import enumerated


class OnePlace(RackRule):
    """One thing in a unit."""

    code = "rack-overlap"

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        yield RackLimit(self.code, (), 1, "things")

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """The most things in one unit."""
        return max(map(len, placement.taken.values()), default=0)

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """Of the places that take a unit at most one is chosen; whatever is not is free."""
        top = max((unit + p.height_u for p in draft.stand.pieces for unit, _ in draft.places(p)), default=1)
        for unit in range(1, top):
            there = [term for piece in draft.stand.pieces for term in draft.covering(piece, unit)]
            draft.hold(limit, [(1, term) for term in there])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        unit, there = next((u, t) for u, t in sorted(placement.taken.items()) if len(t) == used)
        return f"{enumerated(there)} are {'both ' if used == 2 else ''}in unit {unit}"
