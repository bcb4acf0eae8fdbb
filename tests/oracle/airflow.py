"""The air on its way through a frame, as the files say it, for the planners that the search is compared with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from itertools import combinations
from math import ceil

from solver.physics.heat import Air, Draught, Fan, rise_mk
from solver.room.hardware import Card, Chassis, FanAir
from solver.room.scenario import Frame, Room, Scenario
from solver.room.words import in_thousandths


def air_through(frame: Frame, chassis: Chassis, room: Room, scenario: Scenario) -> Air | None:
    """None where the files do not say enough."""
    room_air, own = room.air or scenario.air, chassis.air
    if own is None or room_air is None:
        return None
    if frame.measured is not None:
        raise ValueError("a measured rise is not covered here")
    if isinstance(own, FanAir):
        past = 0.0
        if not frame.blanks and own.leak_cm2 is not None and own.gap_area_cm2 is not None:
            past = (chassis.slot_count - 1) * float(own.leak_cm2) / float(own.gap_area_cm2)
        path: Fan | Draught = Fan(float(own.flow_m3_h), float(own.derate), past)
    else:
        areas = (own.gap_area_cm2, own.opening_below_cm2, own.opening_above_cm2, own.stack_mm)
        others = (frame.vents.below_cm2, frame.vents.above_cm2, own.card_mm)
        path = Draught(*(float(v) for v in areas), *(None if v is None else float(v) for v in others))
    inlet = in_thousandths(room_air.inlet_c + frame.inlet_rise_k)
    return Air(path, chassis.slot_count + 1, inlet, int(_altitude_m(room, scenario)))


def _altitude_m(room: Room, scenario: Scenario) -> Decimal:
    """A room's own altitude where its air says one, else the house's, else sea level."""
    said = [air.altitude_m for air in (room.air, scenario.air) if air and "altitude_m" in air.model_fields_set]
    return said[0] if said else Decimal(0)


def own_margins(air: Air, beside: Sequence[Card], shared_mw: int) -> Iterator[int]:
    """The margin in mK of each card beside a gap that has a limit, where some tell where their heat is.

    At its own place, or where the air leaves it, it is as warm as whichever of the gap's heats are on make it.
    """
    half = [(Decimal(in_thousandths(card.heat_w or Decimal(0))) / 2, card.hot_at) for card in beside]
    heats = [(each, at) for each, at in [*half, (Decimal(shared_mw) / air.gaps, None)] if each]
    for card in beside:
        if card.air_limit_c is not None:
            place = Decimal(1) if card.hot_at is None else card.hot_at
            some = (own for count in range(1, len(heats) + 1) for own in combinations(heats, count))
            rises = [_rise(air, own, place) for own in some]
            yield int(card.air_limit_c * 1000) - air.inlet_mk - max(rises, default=0)


@lru_cache(maxsize=10_000)
def _rise(air: Air, heats: tuple[tuple[Decimal, Decimal | None], ...], place: Decimal) -> int:
    total = sum((heat for heat, _ in heats), Decimal(0))
    above = sum((heat * (Decimal("0.5") if at is None else 1 - at) for heat, at in heats), Decimal(0))
    met = sum((heat * place if at is None else heat if at <= place else Decimal(0) for heat, at in heats), Decimal(0))
    return ceil(Decimal(rise_mk(air, ceil(total), float(above / total))) * met / total)
