"""What is to stand in the rack has a place there, a frame with its outside supplies."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.faults import quote


class Stands(RackRule):
    """A place for everything."""

    code = "rack-place"
    work = 40

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        """One for each frame with its supplies, and for each other thing."""
        for piece in stand.pieces:
            if piece.feeds is None:
                supplies = [other.name for other in stand.pieces if other.feeds == piece.name]
                yield RackLimit(self.code, (piece.name, *supplies), 1, "places", at_least=True, give=1)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """Whether all of it has a place."""
        return int(all(name in placement.at for name in limit.about))

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """One place each, unless all of it is taken out."""
        for name in limit.about:
            places = [term for _, term in draft.places(draft.stand.by_name[name])]
            one = [*places, draft.gives(limit, 1)]
            draft.hold(limit, [(1, term) for term in one], 1)
            draft.hold(limit, [(-1, term) for term in one], -1)

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        return f"{', '.join(name for name in limit.about if name not in placement.at)} has no place in the rack"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        name, *supplies = limit.about
        height = sum(stand.by_name[each].height_u for each in limit.about)
        return f"{quote(name)}{' with its supply' if supplies else ''} takes {height} U"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        name, *supplies = limit.about
        return f"put {quote(name)}{' with its supply' if supplies else ''} elsewhere"
