"""The air on its way through a frame, as the files say it, for the planners that the search is compared with."""

from __future__ import annotations

from decimal import Decimal

from solver.physics.heat import Air, Draught, Fan
from solver.room.hardware import Chassis, FanAir
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
        path: Fan | Draught = Fan(float(own.flow_m3_h), float(own.derate))
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
