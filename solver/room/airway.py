"""The way of the air through a frame: from what the files say to the figures of the formulas."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from solver.physics import heat
from solver.physics.bypass import flow_of_the_rest_m3_h, past_in_gaps
from solver.room.hardware import Chassis, DraughtAir, FanAir, StillAir
from solver.room.scenario import Frame, RoomAir
from solver.room.words import in_thousandths


def air_of(frame: Frame, chassis: Chassis, room_air: RoomAir | None) -> heat.Air | None:
    """The air through a frame's gaps; None where the room's or the chassis' figures are missing.

    Where empty slots have no blanks, it is that of the worst build: one with all slots open but one. A rise is taken to
    have been measured with none open.

    Raises
    ------
    ValueError
        If a measured rise is too far from what the formulas give.
    """
    if chassis.air is None or room_air is None:
        return None
    own = chassis.air
    path: heat.Fan | heat.Draught
    path = heat.Fan(float(own.flow_m3_h), float(own.derate)) if isinstance(own, FanAir) else _rising(frame, own)
    inlet_mk = in_thousandths(room_air.inlet_c + frame.inlet_rise_k)
    air = heat.Air(path, chassis.slot_count + 1, inlet_mk, ceil(room_air.altitude_m))
    if frame.measured is not None:
        factor = heat.flow_factor(air, float(frame.measured.gap_w), float(frame.measured.rise_k))
        air = heat.Air(path, air.gaps, air.inlet_mk, air.altitude_m, factor)
    return with_open_slots(air, frame, chassis, chassis.slot_count - 1)


def with_open_slots(air: heat.Air, frame: Frame, chassis: Chassis, slots: int) -> heat.Air:
    """The air of a frame that has so many slots with neither card nor blank, as far as the files say what that does."""
    own = chassis.air
    if frame.blanks or not isinstance(own, FanAir) or not isinstance(air.path, heat.Fan):
        return air
    if own.leak_cm2 is None or own.gap_area_cm2 is None:
        return air
    past = past_in_gaps(slots, float(own.leak_cm2), float(own.gap_area_cm2))
    return replace(air, path=replace(air.path, past=past))


def without_a_fan(air: heat.Air, frame: Frame, chassis: Chassis) -> heat.Air | None:
    """The air of a frame of which one fan stands still; None where the files do not say what is left of it.

    A measured rise says nothing of air that rises by itself where there was a fan.
    """
    own = chassis.air
    if not isinstance(own, FanAir) or own.fans is None or not isinstance(air.path, heat.Fan):
        return None
    if own.fans > 1:
        return replace(air, path=replace(air.path, flow_m3_h=flow_of_the_rest_m3_h(air.path.flow_m3_h, own.fans)))
    return None if own.still is None else replace(air, path=_rising(frame, own.still), flow_factor=1.0)


def _rising(frame: Frame, own: DraughtAir | StillAir) -> heat.Draught:
    vents, card_mm = frame.vents, own.card_mm if isinstance(own, DraughtAir) else None
    return heat.Draught(
        float(own.gap_area_cm2),
        float(own.opening_below_cm2),
        float(own.opening_above_cm2),
        float(own.stack_mm),
        None if vents.below_cm2 is None else float(vents.below_cm2),
        None if vents.above_cm2 is None else float(vents.above_cm2),
        None if card_mm is None else float(card_mm),
    )
