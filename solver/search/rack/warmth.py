"""Whether it is the warmth of what stands below, and nothing else, that keeps things out of a rack."""

from __future__ import annotations

from solver.racks import rules
from solver.racks.pieces import RackStand
from solver.racks.rules.inlet import Inlet
from solver.search.rack.model import RackModel
from solver.search.rack.solving import solve_rack
from solver.search.solve.clock import Clock


def kept_out_by_warmth(stand: RackStand, clock: Clock) -> bool:
    """Whether there are no places, proven, and there are some once no inlet matters."""
    warm = [limit for limit in rules.limits_of(stand) if limit.rule == Inlet.code]
    if not warm or solve_rack(RackModel(stand).model, clock, any_will_do=True)[0] != "none":
        return False
    return solve_rack(RackModel(stand, lifted=warm).model, clock, any_will_do=True)[0] in ("found", "proven")


def most_rises_mk(stand: RackStand) -> dict[str, int]:
    """By frame how much warmer its inlet is at most, in mK: with all other heat of the rack below it."""
    heats = {piece.name: piece.heat_mw or 0 for piece in stand.pieces if piece.warms}
    rises = {name: stand.rise_mk(sum(heats.values()) - heats.get(name, 0)) for name in stand.rack.frames}
    return {name: rise for name, rise in rises.items() if rise and name in stand.by_name}
