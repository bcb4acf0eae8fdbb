"""What has to stay where it is stays there."""

from __future__ import annotations

from collections.abc import Iterator

from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.room.faults import quote


class Fixed(RackRule):
    """Places that are given."""

    code = "rack-fixed"
    work = 20

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        for piece in stand.pieces:
            if piece.at is not None:
                yield RackLimit(self.code, (piece.name,), 0, "U", give=stand.rack.units)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """How many units it stands off its place."""
        (name,) = limit.about
        asked = placement.stand.by_name[name].at
        return abs(placement.at[name] - asked) if name in placement.at and asked is not None else None

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """Every place costs its distance."""
        piece = draft.stand.by_name[limit.about[0]]
        draft.hold(limit, [(abs(unit - (piece.at or unit)), term) for unit, term in draft.places(piece)])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        (name,) = limit.about
        asked = placement.stand.by_name[name].at
        return f"{quote(name)} is at unit {placement.at[name]} and has to stay at unit {asked}"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        (name,) = limit.about
        return f"{quote(name)} stays at unit {stand.by_name[name].at}"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        return f"move {quote(limit.about[0])} by {amount} U"
