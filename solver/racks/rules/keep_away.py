"""What disturbs microphone levels keeps away from frames with cards for them (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.faults import quote


class KeepAway(RackRule):
    """Distance from microphone levels."""

    code = "rack-keep-away"
    work = 30

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        for piece in stand.pieces:
            for frame in stand.pieces:
                if piece.keep_away_u and frame.microphones:
                    away = piece.keep_away_u
                    yield RackLimit(self.code, (piece.name, frame.name), away, "U", at_least=True, give=away)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """The units between the two, free or not."""
        one, other = map(placement.units, limit.about)
        if not one or not other:
            return None
        return max(0, other[0] - one[-1] - 1, one[0] - other[-1] - 1)

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """For each distance that is not enough: no unit is both in the frame and that near to the other."""
        piece, frame = (draft.stand.by_name[name] for name in limit.about)
        top = max((unit + frame.height_u for unit, _ in draft.places(frame)), default=1)
        for near in range(limit.bound):
            given = [(-1, draft.gives(limit, limit.bound - near))]
            for unit in range(1, top):
                close = [t for u, t in draft.places(piece) if u - near - 1 <= unit <= u + piece.height_u + near]
                taken = draft.covering(frame, unit)
                if close and taken:
                    draft.hold(limit, [(1, term) for term in [*close, *taken]] + given, 1)

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        one, other = map(quote, limit.about)
        return f"{one} stands {used} U from the microphone inputs of {other}; at least {limit.bound} U"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        one, other = map(quote, limit.about)
        return f"{one} keeps {limit.bound} U away from the microphone inputs of {other}"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        one, other = map(quote, limit.about)
        return f"let {one} stand {limit.bound - amount} U from {other} instead of {limit.bound} U"
