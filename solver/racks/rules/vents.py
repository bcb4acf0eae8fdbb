"""A frame that is cooled by draught has a free unit directly below and above it (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.faults import quote
from solver.room.words import enumerated


class Vents(RackRule):
    """Free units for air."""

    code = "rack-vent"

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        for piece in stand.pieces:
            if piece.draught:
                yield RackLimit(self.code, (piece.name,), 2, "free units", at_least=True)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """How many of the two are free."""
        units = placement.units(limit.about[0])
        return placement.free(units[0] - 1) + placement.free(units[-1] + 1) if units else None

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """Where it leaves a unit to the air nothing else takes that, and both are units of the rack."""
        piece = draft.stand.by_name[limit.about[0]]
        others = [other for other in draft.stand.pieces if other is not piece]
        left: dict[int, list[object]] = {}
        for unit, term in draft.places(piece):
            left.setdefault(unit - 1, []).append(term)
            left.setdefault(unit + piece.height_u, []).append(term)
        draft.hold(limit, [(1, term) for term in left.pop(0, [])], 0)
        for unit, terms in sorted(left.items()):
            taken = [term for other in others for term in draft.covering(other, unit)]
            draft.hold(limit, [(1, term) for term in [*terms, *taken]], 1)
        draft.within([(unit + piece.height_u, term) for unit, term in draft.places(piece)])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        (name,) = limit.about
        units = placement.units(name)
        sides = [("below", units[0] - 1), ("above", units[-1] + 1)]
        shut = [side for side, unit in sides if not placement.free(unit)]
        return f"{quote(name)} has no free unit directly {enumerated(shut)} it for its air"
