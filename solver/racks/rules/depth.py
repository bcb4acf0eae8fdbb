"""The rack is deep enough for everything with what is plugged in at its rear."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.figures import mm
from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.words import in_thousandths

MOST_MORE_UM = 2_000_000
"""How much deeper another rack may be, um."""


class Depth(RackRule):
    """Depth with connectors."""

    code = "rack-depth"
    work = 50

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        if stand.rack.depth_mm is not None:
            yield RackLimit(self.code, (), in_thousandths(stand.rack.depth_mm), "um", give=MOST_MORE_UM)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """The deepest that is known; what has no figure counts nothing and is reported."""
        return max((piece.depth_um or 0 for piece in placement.placed), default=0)

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        for piece in draft.stand.pieces:
            if piece.depth_um is not None and piece.depth_um > limit.bound:
                draft.hold(limit, [(piece.depth_um, term) for _, term in draft.places(piece)])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        deep = [piece.name for piece in placement.placed if (piece.depth_um or 0) > limit.bound]
        return f"the rack is {mm(limit.bound)} deep; with what is plugged in, {', '.join(deep)} takes {mm(used)}"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        return f"the rack is {mm(limit.bound)} deep"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        return f"a rack {mm(limit.bound + amount)} deep instead of {mm(limit.bound)}"
