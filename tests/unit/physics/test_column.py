"""A column of air that warms on its way up, against an integration in small steps and worked by hand."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid, trapezoid
from scipy.optimize import brentq

from solver.physics.heat import Air, Draught, Fan, flow_factor, margin_mk, permitted_heat_mw

LIMIT = 55_000

Temperature = float | NDArray[np.float64]
"""That of one height in kelvin, or those of all heights from the bottom up."""


def integrated_rise_k(air: Air, heat_w: float) -> float:
    """The rise of the air at the top of the column, from hydrostatics in small steps.

    Nothing is averaged: at every height the ideal-gas density of that height's air drives the column, each opening
    holds back the air that really goes through it, and the gap does so along the height of the cards. Own
    gravity, gas constant, specific heat and discharge coefficient, from the sources that solver.physics names.
    """
    path = air.path
    assert isinstance(path, Draught)
    gravity, gas_constant, specific_heat, discharge = 9.80665, 287.05287, 1006.0, 0.65
    pressure: float = (
        101_325.0 * (1 - 0.0065 * (6_356_766 * air.altitude_m / (6_356_766 + air.altitude_m)) / 288.15) ** 5.25588
    )
    outside_k = air.inlet_mk / 1000 + 273.15
    height, cards = path.stack_mm / 1000, (path.card_mm or path.stack_mm) / 1000

    def density(temp_k: Temperature) -> Temperature:
        return pressure / (gas_constant * temp_k)

    def lost(mass_kg_s: float, temp_k: Temperature, area_cm2: float) -> Temperature:
        return (mass_kg_s / (discharge * area_cm2 / 10_000)) ** 2 / (2 * density(temp_k))

    z = np.linspace(0, cards, 10_001)
    heat_below_w = cumulative_trapezoid(np.full_like(z, heat_w / cards), z, initial=0)

    def left_over(mass_kg_s: float) -> float:
        temp_k: NDArray[np.float64] = outside_k + heat_below_w / (mass_kg_s * specific_heat)
        pull = trapezoid(gravity * (density(outside_k) - density(temp_k)), z)
        pull -= trapezoid(lost(mass_kg_s, temp_k, path.gap_area_cm2) / cards, z)
        pull += gravity * (density(outside_k) - density(temp_k[-1])) * (height - cards)
        pull -= lost(mass_kg_s, outside_k, path.opening_below_cm2) + lost(mass_kg_s, temp_k[-1], path.opening_above_cm2)
        if path.vent_below_cm2 is not None:
            pull -= lost(mass_kg_s, outside_k, path.vent_below_cm2 / air.gaps)
        if path.vent_above_cm2 is not None:
            pull -= lost(mass_kg_s, temp_k[-1], path.vent_above_cm2 / air.gaps)
        return float(pull)

    mass: float = brentq(left_over, heat_w / (specific_heat * 120), heat_w / (specific_heat * 1), xtol=1e-12)
    return heat_w / (mass * specific_heat)


COLUMNS = {
    "cards as high as the stack": Draught(38, 60, 60, 190),
    "a chimney over low cards": Draught(38, 60, 60, 300, card_mm=120),
    "cards of half the stack": Draught(25, 40, 70, 220, card_mm=110),
    "tight above": Draught(40, 90, 15, 180),
    "tight below": Draught(40, 15, 90, 180),
    "vent panels": Draught(30, 50, 50, 260, 300, 200, card_mm=233),
    "a panel above alone": Draught(38, 60, 60, 190, None, 150),
}


@pytest.mark.parametrize("path", COLUMNS.values(), ids=COLUMNS.keys())
@pytest.mark.parametrize(("inlet_c", "altitude_m"), [(18, 0), (27, 12), (32, 1800)])
def test_the_rise_agrees_with_small_steps_within_a_fifth_of_a_kelvin(
    path: Draught, inlet_c: int, altitude_m: int
) -> None:
    air = Air(path, gaps=13, inlet_mk=inlet_c * 1000, altitude_m=altitude_m)
    for rise_k in (3, 8, 13, 18, 23, 28):
        heat_mw = permitted_heat_mw(air, inlet_c * 1000 + rise_k * 1000, 0)
        assert integrated_rise_k(air, heat_mw / 1000) == pytest.approx(rise_k, abs=0.2)


def test_the_integration_tells_a_column_that_is_warm_from_below_apart() -> None:
    # What an estimate with the outlet's warmth over the whole column would say is far outside a fifth of a kelvin.
    air = Air(Draught(38, 60, 60, 190), gaps=13, inlet_mk=27_000, altitude_m=12)
    whole = Air(Draught(38, 60, 60, 190, card_mm=0.001), gaps=13, inlet_mk=27_000, altitude_m=12)
    heat_mw = permitted_heat_mw(whole, 27_000 + 17_000, 0)
    assert integrated_rise_k(whole, heat_mw / 1000) == pytest.approx(17, abs=0.2)
    assert integrated_rise_k(air, heat_mw / 1000) > 20.5


@pytest.mark.parametrize(("rise_k", "within"), [(2, 0.005), (6, 0.012), (17, 0.03)])
def test_half_the_pull_makes_the_rise_greater_by_the_cube_root_of_two(rise_k: float, within: float) -> None:
    # Heat goes with the flow times the rise, and the flow with the root of the mean excess: so with the rise to 3/2,
    # and half of the excess is made up for by 2^(1/3) = 1.26 times the rise. Warm air is thinner, so a little less.
    whole = Air(Draught(38, 60, 60, 190, card_mm=0.001), gaps=13, inlet_mk=27_000, altitude_m=0)
    even = Air(Draught(38, 60, 60, 190), gaps=13, inlet_mk=27_000, altitude_m=0)
    heat_mw = permitted_heat_mw(whole, 27_000 + round(rise_k * 1000), 0)
    rise_mk = LIMIT - 27_000 - margin_mk(even, LIMIT, heat_mw)
    assert rise_mk / 1000 / rise_k == pytest.approx(2 ** (1 / 3), rel=within)


def test_a_frame_worked_by_hand() -> None:
    # Inlet 27.0 C = 300.15 K at sea level, rise 20 K, cards as high as the stack of 190 mm: mean excess 10 K.
    # Drag as 1/A2 in 1/m4, warm air by T/To: below 1/0.0060^2 = 27 778; the gap 1/0.0038^2 x 310.15/300.15 = 71 559;
    # above 27 778 x 320.15/300.15 = 29 629; in all 128 966, so A = 27.846 cm2.
    # Q = 0.65 x 0.0027846 x sqrt(2 x 9.80665 x 0.190 x 10 / 310.15) = 6.274e-4 m3/s = 2.259 m3/h.
    # Density at the inlet 101 325 / (287.053 x 300.15) = 1.17601 kg/m3; P = 1.17601 x 1006 x 6.274e-4 x 20 = 14.845 W.
    air = Air(Draught(38, 60, 60, 190), gaps=13, inlet_mk=27_000, altitude_m=0)
    assert permitted_heat_mw(air, LIMIT, 8_000) == pytest.approx(14_845, abs=5)
    assert margin_mk(air, LIMIT, 14_845) == pytest.approx(8_000, abs=10)


def test_a_chimney_worked_by_hand() -> None:
    # The same frame with 110 mm of chimney above it, 300 mm in all: mean excess 20 x (95 + 110) / 300 = 13.667 K.
    # Q = 0.65 x 0.0027846 x sqrt(2 x 9.80665 x 0.300 x 13.667 / 313.817) = 9.162e-4 m3/s; P = 21.679 W.
    air = Air(Draught(38, 60, 60, 300, card_mm=190), gaps=13, inlet_mk=27_000, altitude_m=0)
    assert permitted_heat_mw(air, LIMIT, 8_000) == pytest.approx(21_679, abs=8)


def test_lower_cards_in_the_same_stack_permit_more_heat() -> None:
    heats = [
        permitted_heat_mw(Air(Draught(38, 60, 60, 190, card_mm=card_mm), 13, 27_000, 0), LIMIT, 5_000)
        for card_mm in (190, 150, 100, 50, 1)
    ]
    assert heats == sorted(set(heats))
    assert heats[-1] / heats[0] == pytest.approx(sqrt(2), rel=0.04)


def test_the_height_of_the_cards_is_the_whole_stack_when_it_is_not_said() -> None:
    said = Air(Draught(38, 60, 60, 190, card_mm=190), 13, 27_000, 0)
    unsaid = Air(Draught(38, 60, 60, 190), 13, 27_000, 0)
    for rise_mk in np.arange(0, 40_000, 1357).tolist():
        assert permitted_heat_mw(said, 27_000 + rise_mk, 0) == permitted_heat_mw(unsaid, 27_000 + rise_mk, 0)


def test_a_measured_rise_calibrates_the_air_at_the_top() -> None:
    # 14.845 W warm the frame worked by hand by 20 K; the same rise measured at 10 W says 0.674 of the flow.
    air = Air(Draught(38, 60, 60, 190), gaps=13, inlet_mk=27_000, altitude_m=0)
    factor = flow_factor(air, 10.0, 20.0)
    assert factor == pytest.approx(10 / 14.845, rel=1e-3)
    calibrated = Air(air.path, 13, 27_000, 0, factor)
    assert margin_mk(calibrated, LIMIT, 10_000) == pytest.approx(8_000, abs=1)


def test_a_fan_blows_through_cold_and_warm_columns_alike() -> None:
    fan = Air(Fan(90.0, 0.7), gaps=9, inlet_mk=25_000, altitude_m=0)
    # 90 x 0.7 / 9 m3/h of 1.18393 kg/m3 take 10 K x 1.18393 x 1006 x 7.0 / 3600 = 23.16 W away.
    assert permitted_heat_mw(fan, 35_000, 0) == pytest.approx(23_160, abs=10)


@pytest.mark.parametrize("card_mm", [0, -1, 190.001])
def test_cards_that_are_no_part_of_the_stack_are_refused(card_mm: float) -> None:
    with pytest.raises(ValueError, match="are not within a stack of 190 mm"):
        permitted_heat_mw(Air(Draught(38, 60, 60, 190, card_mm=card_mm), 13, 27_000, 0), LIMIT, 5_000)
