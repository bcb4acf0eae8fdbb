"""The rack carries what is in it."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.figures import kg
from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.words import in_thousandths

MOST_MORE_G = 2_000_000
"""What a stronger rack may carry more, g."""


class Weight(RackRule):
    """Weight in all."""

    code = "rack-weight"
    work = 50

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        if stand.rack.most_kg is not None:
            yield RackLimit(self.code, (), in_thousandths(stand.rack.most_kg), "g", give=MOST_MORE_G)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """What is known to stand in it; what has no figure counts nothing and is reported."""
        return sum(piece.weight_g or 0 for piece in placement.placed)

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        load = [(p.weight_g, term) for p in draft.stand.pieces if p.weight_g for _, term in draft.places(p)]
        draft.hold(limit, load)

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        return f"{kg(used)} stand in a rack that carries {kg(limit.bound)}"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        return f"the rack carries {kg(limit.bound)}"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        return f"a rack that carries {kg(limit.bound + amount)} instead of {kg(limit.bound)}"
