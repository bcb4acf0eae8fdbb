"""What rises from below leaves every inlet cool enough: all heat below goes into the air up through the rack."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from solver.racks.figures import kelvin
from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import Piece, RackStand
from solver.room.faults import quote


def below_mw(placement: Placement, piece: Piece) -> int:
    """The heat that rises to a thing: of all that stands below it and gives its heat up the rack."""
    own = placement.at[piece.name]
    return sum(p.heat_mw or 0 for p in placement.placed if p.warms and placement.at[p.name] < own)


def untold_below(placement: Placement, piece: Piece) -> bool:
    """Whether something below a thing gives heat up the rack of which no file tells how much."""
    own = placement.at[piece.name]
    return any(p.unheated and p.warms and placement.at[p.name] < own for p in placement.placed)


class Inlet(RackRule):
    """Heat below an inlet."""

    code = "rack-inlet"
    work = 35

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        total = sum(piece.heat_mw or 0 for piece in stand.pieces if piece.warms)
        for piece in stand.pieces:
            if piece.most_below_mw is not None:
                yield RackLimit(self.code, (piece.name,), piece.most_below_mw, "mW", give=total + 1)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        (name,) = limit.about
        return below_mw(placement, placement.stand.by_name[name]) if name in placement.at else None

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        piece = draft.stand.by_name[limit.about[0]]
        hot = [p for p in draft.stand.pieces if p.warms and p.heat_mw and p is not piece]
        draft.hold(limit, [(p.heat_mw or 0, draft.below(p, piece)) for p in hot])

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        rise, most = (placement.stand.rise_mk(max(0, mw)) or 0 for mw in (used, limit.bound))
        up, allowed = kelvin(max(rise, most + 1), most)
        warm = f"{ceil(used / 1000)} W below {quote(limit.about[0])} warm its inlet by {up} K"
        return f"{warm}; at most {allowed} K" if limit.bound >= 0 else f"{warm}, which is too warm already"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        return f"no more than {max(0, limit.bound) // 1000} W stand below {quote(limit.about[0])}"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        """More air, where more air alone helps."""
        name = quote(limit.about[0])
        if limit.bound <= 0 or stand.rack.air_m3_h is None:
            return f"cooler air at the foot, for {ceil(amount / 1000)} W more below {name}"
        flow = ceil(float(stand.rack.air_m3_h) * (limit.bound + amount) / limit.bound)
        return f"{flow} m3/h of air up through the rack instead of {stand.rack.air_m3_h:f}, for what is below {name}"
