"""An outside supply stands below the frame that it feeds, with a free unit between (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.faults import quote


class SupplyBelow(RackRule):
    """Supplies under their frames."""

    code = "rack-supply"

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        for piece in stand.pieces:
            if piece.feeds is not None:
                yield RackLimit(self.code, (piece.name, piece.feeds), 1, "free units", at_least=True)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """How many units between the two are free; none where it does not stand below."""
        supply, frame = map(placement.units, limit.about)
        if not supply or not frame:
            return None
        return sum(placement.free(unit) for unit in range(supply[-1] + 1, frame[0]))

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """For each unit: a frame that begins there or below has no supply that ends there or just below.

        Of the places that are left, those with something between have a free unit there too; a frame that is cooled by
        draught has one anyway.
        """
        supply, frame = (draft.stand.by_name[name] for name in limit.about)
        begins, ends = draft.places(frame), [(u + supply.height_u - 1, t) for u, t in draft.places(supply)]
        for unit in range(1, max((u for u, _ in begins), default=0) + 1):
            frames = [term for begin, term in begins if begin <= unit]
            supplies = [term for end, term in ends if end >= unit - 1]
            draft.hold(limit, [(1, term) for term in [*frames, *supplies]], 1)
        for begin, its in () if frame.draught else begins:
            for end, own in ends:
                between = range(end + 1, begin)
                if between:
                    free = [(-1, draft.free(unit)) for unit in between]
                    draft.hold(limit, [(1, its), (1, own), *free], 1)

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        supply, frame = limit.about
        if placement.at[supply] >= placement.at[frame]:
            return f"{quote(supply)} does not stand below {quote(frame)}, which it feeds and warms"
        return f"no unit is free between {quote(supply)} and {quote(frame)} above it"
