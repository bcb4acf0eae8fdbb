"""Every rule of racks, in the order of stating and of reporting."""

from __future__ import annotations

from solver.racks.limit import Placement, RackLimit, RackRule
from solver.racks.pieces import RackStand
from solver.racks.rules.depth import Depth
from solver.racks.rules.fixed import Fixed
from solver.racks.rules.inlet import Inlet
from solver.racks.rules.keep_away import KeepAway
from solver.racks.rules.lengths import Lengths
from solver.racks.rules.low import Low
from solver.racks.rules.one_place import OnePlace
from solver.racks.rules.reach import Reach
from solver.racks.rules.space import Space
from solver.racks.rules.stands import Stands
from solver.racks.rules.supply_below import SupplyBelow
from solver.racks.rules.vents import Vents
from solver.racks.rules.weight import Weight

ALL: dict[str, RackRule] = {
    rule.code: rule
    for rule in (
        Stands(),
        Space(),
        OnePlace(),
        Fixed(),
        Vents(),
        SupplyBelow(),
        Lengths(),
        KeepAway(),
        Reach(),
        Depth(),
        Weight(),
        Low(),
        Inlet(),
    )
}


def limits_of(stand: RackStand) -> list[RackLimit]:
    """Every limit of a rack, rule by rule."""
    return [limit for rule in ALL.values() for limit in rule.limits(stand)]


def broken(placement: Placement) -> list[tuple[RackLimit, int, str]]:
    """Every limit that a placement breaks, with what it uses and how that is told."""
    found: list[tuple[RackLimit, int, str]] = []
    for limit in limits_of(placement.stand):
        rule = ALL[limit.rule]
        used = rule.used(placement, limit)
        if used is not None and not limit.kept_by(used):
            found.append((limit, used, rule.fault(placement, limit, used)))
    return found
