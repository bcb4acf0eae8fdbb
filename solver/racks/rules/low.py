"""Heavy things stand low: the centre of all weight is no higher than a unit that is given (common practice)."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand


def centre_u(placement: Placement) -> float | None:
    """How high the centre of weight is, in units above the foot of unit 1; None where nothing has a weight."""
    weight = sum(piece.weight_g or 0 for piece in placement.placed)
    moment = sum((piece.weight_g or 0) * placement.middle(piece.name) for piece in placement.placed)
    return moment / weight / 2 if weight else None


class Low(RackRule):
    """Moment of weight about the height that is given, in grams times half units."""

    code = "rack-heavy-low"
    work = 15

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        if stand.rack.centre_below_u is not None:
            total = sum(piece.weight_g or 0 for piece in stand.pieces)
            yield RackLimit(self.code, (), 0, "g U/2", give=2 * total * stand.rack.units)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """What the weight is above, less what it is below."""
        aim = 2 * (placement.stand.rack.centre_below_u or 0)
        return sum((piece.weight_g or 0) * (placement.middle(piece.name) - aim) for piece in placement.placed)

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        aim = 2 * (draft.stand.rack.centre_below_u or 0)
        load = [
            (piece.weight_g * (2 * (unit - 1) + piece.height_u - aim), term)
            for piece in draft.stand.pieces
            if piece.weight_g
            for unit, term in draft.places(piece)
        ]
        draft.hold(limit, load)

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        asked = placement.stand.rack.centre_below_u
        return f"the centre of weight is at {centre_u(placement) or 0:.1f} U; no higher than {asked} U"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        return f"the centre of weight is no higher than {stand.rack.centre_below_u} U"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        total = sum(piece.weight_g or 0 for piece in stand.pieces) or 1
        higher = (stand.rack.centre_below_u or 0) + ceil(amount * 5 / total) / 10
        return f"a centre of weight at {higher:.1f} U instead of {stand.rack.centre_below_u} U"
