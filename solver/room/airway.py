"""The way of the air through a frame: from what the files say to the figures of the formulas."""

from __future__ import annotations

from math import ceil

from solver.physics import heat
from solver.room.hardware import Chassis, FanAir
from solver.room.scenario import Frame, RoomAir
from solver.room.words import in_thousandths


def air_of(frame: Frame, chassis: Chassis, room_air: RoomAir | None) -> heat.Air | None:
    """The air through a frame's gaps; None where the room's or the chassis' figures are missing.

    Raises
    ------
    ValueError
        If a measured rise is too far from what the formulas give.
    """
    if chassis.air is None or room_air is None:
        return None
    if isinstance(chassis.air, FanAir):
        path: heat.Fan | heat.Draught = heat.Fan(float(chassis.air.flow_m3_h), float(chassis.air.derate))
    else:
        vents = frame.vents
        path = heat.Draught(
            float(chassis.air.gap_area_cm2),
            float(chassis.air.opening_below_cm2),
            float(chassis.air.opening_above_cm2),
            float(chassis.air.stack_mm),
            None if vents.below_cm2 is None else float(vents.below_cm2),
            None if vents.above_cm2 is None else float(vents.above_cm2),
            None if chassis.air.card_mm is None else float(chassis.air.card_mm),
        )
    inlet_mk = in_thousandths(room_air.inlet_c + frame.inlet_rise_k)
    air = heat.Air(path, chassis.slot_count + 1, inlet_mk, ceil(room_air.altitude_m))
    if frame.measured is not None:
        factor = heat.flow_factor(air, float(frame.measured.gap_w), float(frame.measured.rise_k))
        air = heat.Air(path, air.gaps, air.inlet_mk, air.altitude_m, factor)
    return air
