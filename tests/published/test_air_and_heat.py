"""Air and heat against published figures and independent programs; the source stands beside each check."""

from __future__ import annotations

import ambiance
import psychrolib
import pytest
import scipy.constants
from fluids.atmosphere import ATMOSPHERE_1976

from solver.physics.air import P0, G, airflow_m3_s, density_kg_m3, pressure_ratio, watts_to_btu_h
from solver.physics.heat import (
    Air,
    Draught,
    Fan,
    gap_flow_m3_s,
    margin_mk,
    permitted_heat_mw,
    stack_flow_m3_s,
)

CUBIC_FOOT_A_MINUTE = scipy.constants.foot**3 / 60

# Rule of thumb of the electronics cooling trade: CFM = 3.16 x watts / rise in degrees Fahrenheit, with its
# usual worked figures. It stands on air of 1.2 kg/m3: dry air at 21 C (70 F) at sea level (from memory).
AIRFLOW_RULE = [(100, 10, 31.6), (300, 15, 63.2)]

# Stack effect: equation of the ASHRAE Handbook of Fundamentals, chapter 16, with C_D 0.65. The figures were
# computed from it apart from this code, with gravity rounded to 9.81 m/s2, which is taken out again below:
# area m2, height to the neutral level m, inside C, outside C, flow m3/s to four figures.
STACK_FLOWS = [(0.01, 1.0, 40, 25, 6.301e-3), (0.005, 0.5, 35, 20, 2.246e-3)]
STANDARD_GRAVITY = (G / 9.81) ** 0.5
HALF_OF_THE_LAST_FIGURE = 5e-7

# U.S. Standard Atmosphere 1976: pressure over that at sea level, by height above the sea in metres.
ATMOSPHERE = [(0, 1.0), (500, 0.94213), (1000, 0.88701), (1500, 0.83454), (2000, 0.78462), (3000, 0.69204)]

# Dry air at 101 325 Pa, kg/m3 by degrees Celsius: common handbook table.
DENSITIES = [(20, 1.2041), (25, 1.1839), (30, 1.1644), (40, 1.1272)]


@pytest.mark.parametrize(("watts", "rise_f", "cfm"), AIRFLOW_RULE)
def test_airflow_agrees_with_the_rule_of_thumb(watts: float, rise_f: float, cfm: float) -> None:
    flow = airflow_m3_s(watts, rise_f * 5 / 9, density_kg_m3(21, 0))
    assert flow / CUBIC_FOOT_A_MINUTE == pytest.approx(cfm, rel=1e-3)


@pytest.mark.parametrize(("watts", "rise_f", "cfm"), AIRFLOW_RULE)
def test_a_fan_frame_permits_the_heat_of_the_rule_of_thumb(watts: float, rise_f: float, cfm: float) -> None:
    fan = Air(Fan(8 * cfm * CUBIC_FOOT_A_MINUTE * 3600, 1.0), gaps=8, inlet_mk=21_000, altitude_m=0)
    rise_mk = round(rise_f * 5000 / 9)
    assert permitted_heat_mw(fan, 21_000 + rise_mk, 0) == pytest.approx(watts * 1000, rel=1e-3)
    assert margin_mk(fan, 55_000, round(watts * 1000)) == pytest.approx(34_000 - rise_mk, rel=1e-3)


@pytest.mark.parametrize(("area", "height", "inside", "outside", "flow"), STACK_FLOWS)
def test_stack_flow_agrees_with_the_worked_figures(
    area: float, height: float, inside: float, outside: float, flow: float
) -> None:
    assert stack_flow_m3_s(area, height, inside + 273.15, outside + 273.15) == pytest.approx(
        flow * STANDARD_GRAVITY, abs=HALF_OF_THE_LAST_FIGURE
    )


@pytest.mark.parametrize(("area", "height", "inside", "outside", "flow"), STACK_FLOWS)
def test_a_draughty_gap_with_equal_openings_agrees_with_the_worked_figures(
    area: float, height: float, inside: float, outside: float, flow: float
) -> None:
    # Same source: with equal openings the neutral level is at half the height but for the ratio of the temperatures,
    # H = dH (1 + Ti/To) (the ratio from memory). Cards of no height leave the whole column at the inside temperature.
    ratio = (inside + 273.15) / (outside + 273.15)
    path = Draught(1e9, area * 10_000, area * 10_000, height * (1 + ratio) * 1000, card_mm=1e-6)
    air = Air(path, gaps=9, inlet_mk=round(outside * 1000), altitude_m=0)
    assert gap_flow_m3_s(air, inside - outside) == pytest.approx(flow * STANDARD_GRAVITY, abs=HALF_OF_THE_LAST_FIGURE)


@pytest.mark.parametrize(("area", "height", "inside", "outside", "flow"), STACK_FLOWS)
def test_a_column_with_twice_the_excess_at_its_top_draws_as_the_worked_figures(
    area: float, height: float, inside: float, outside: float, flow: float
) -> None:
    # Same source, the mean of a column that warms evenly in place of the inside temperature: the same pull. Each
    # constriction is made as much wider as its air is warmer, so that two of them share the pull evenly.
    outside_k, rise = outside + 273.15, 2 * (inside - outside)
    above = area * 10_000 * ((outside_k + rise) / outside_k) ** 0.5
    air = Air(
        Draught(1e9, area * 10_000, above, 2 * height * 1000), gaps=9, inlet_mk=round(outside * 1000), altitude_m=0
    )
    assert gap_flow_m3_s(air, rise) == pytest.approx(flow * STANDARD_GRAVITY, abs=HALF_OF_THE_LAST_FIGURE)


@pytest.mark.parametrize(("altitude", "ratio"), ATMOSPHERE)
def test_pressure_agrees_with_the_table(altitude: float, ratio: float) -> None:
    assert pressure_ratio(altitude) == pytest.approx(ratio, abs=6e-6)


@pytest.mark.parametrize("altitude", [-500, *(a for a, _ in ATMOSPHERE), 5000, 8000, 11_000])
def test_pressure_agrees_with_two_independent_programs(altitude: float) -> None:
    # The packages ambiance (ICAO 1993, the same troposphere) and fluids (1976), both by height above the sea.
    assert pressure_ratio(altitude) == pytest.approx(ambiance.Atmosphere(altitude).pressure[0] / P0, rel=2e-6)
    assert pressure_ratio(altitude) == pytest.approx(ATMOSPHERE_1976(altitude).P / P0, rel=2e-6)


@pytest.mark.parametrize(("temp", "density"), DENSITIES)
def test_density_agrees_with_the_table(temp: float, density: float) -> None:
    assert density_kg_m3(temp, 0) == pytest.approx(density, abs=1e-4)


@pytest.mark.parametrize("temp", [-40, 0, 20, 25, 30, 40, 85])
@pytest.mark.parametrize("altitude", [0, 1000, 3000])
def test_density_agrees_with_an_independent_program(temp: float, altitude: float) -> None:
    # The package psychrolib, dry air by the ASHRAE psychrometric equations; its gas constant is 287.042.
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = ATMOSPHERE_1976(altitude).P
    expected = psychrolib.GetDryAirDensity(temp, pressure)
    assert density_kg_m3(temp, altitude) == pytest.approx(expected, rel=1e-4)


def test_a_watt_is_so_many_british_thermal_units_an_hour() -> None:
    # International Table unit: the constants of the package scipy, and the usual figure of data sheets.
    assert watts_to_btu_h(1) == pytest.approx(3600 / scipy.constants.Btu, rel=1e-12)
    assert watts_to_btu_h(1) == pytest.approx(3.412142, abs=5e-7)
