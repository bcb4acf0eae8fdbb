"""Everything stands within the units of the rack."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand

MOST_MORE = 20
"""Units that a higher rack may have more."""


class Space(RackRule):
    """Units that there are."""

    code = "rack-space"
    work = 50

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        yield RackLimit(self.code, (), stand.rack.units, "U", give=MOST_MORE)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """The highest unit that is taken."""
        return max(placement.taken, default=0)

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """No thing ends above the last unit; and counted, so that it is seen at once where there are too few.

        Each frame that is cooled by draught has the unit above it to itself, and the lowest one that below it too.
        """
        pieces = draft.stand.pieces
        for piece in pieces:
            draft.within([(unit + piece.height_u - 1, term) for unit, term in draft.places(piece)])
        heights = [(piece.height_u + piece.draught, term) for piece in pieces for _, term in draft.places(piece)]
        draft.within(heights)
        for piece in pieces:
            if piece.draught:
                draft.within([*heights, *((1, term) for _, term in draft.places(piece))])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        over = [name for name in sorted(placement.at) if placement.units(name)[-1] > limit.bound]
        return f"{', '.join(over)} stands above unit {limit.bound}, the last of the rack"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        return f"the rack has {limit.bound} units"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        return f"a rack of {limit.bound + amount} units instead of {limit.bound}"
