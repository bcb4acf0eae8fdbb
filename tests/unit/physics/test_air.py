"""Air: where it is accepted, and the laws it keeps."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.physics.air import (
    ALTITUDE_RANGE_M,
    TEMPERATURE_RANGE_C,
    airflow_m3_s,
    density_kg_m3,
    gas_density_kg_m3,
    pressure_ratio,
    watts_to_btu_h,
)

altitudes = st.floats(*ALTITUDE_RANGE_M)
temperatures = st.floats(*TEMPERATURE_RANGE_C)


@pytest.mark.parametrize("altitude", [-500, 11_000])
def test_the_ends_of_the_altitude_range_are_accepted(altitude: int) -> None:
    assert 0.2 < pressure_ratio(altitude) < 1.1


@pytest.mark.parametrize("altitude", [-500.1, 11_000.1, float("nan")])
def test_an_altitude_outside_the_range_is_refused_with_the_range(altitude: float) -> None:
    with pytest.raises(ValueError, match=r"altitude .* m is outside -500\.\.11000 m"):
        pressure_ratio(altitude)


@pytest.mark.parametrize("temp", [-40, 85])
def test_the_ends_of_the_temperature_range_are_accepted(temp: int) -> None:
    assert density_kg_m3(temp, 0) == gas_density_kg_m3(temp + 273.15, 0)


@pytest.mark.parametrize("temp", [-40.1, 85.1])
def test_a_temperature_outside_the_range_is_refused_with_the_range(temp: float) -> None:
    with pytest.raises(ValueError, match=rf"temperature {temp:g} C is outside -40\.\.85 C"):
        density_kg_m3(temp, 0)


def test_density_refuses_an_altitude_outside_the_range() -> None:
    with pytest.raises(ValueError, match="altitude 20000 m"):
        density_kg_m3(20, 20_000)


def test_no_density_at_absolute_zero() -> None:
    with pytest.raises(ValueError, match="not above 0 K"):
        gas_density_kg_m3(0, 0)


@given(altitudes, altitudes)
def test_pressure_never_rises_with_altitude(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert pressure_ratio(low) >= pressure_ratio(high)


@given(temperatures, temperatures, altitudes)
def test_warmer_air_is_never_denser(one: float, other: float, altitude: float) -> None:
    cold, warm = sorted((one, other))
    assert density_kg_m3(cold, altitude) >= density_kg_m3(warm, altitude)


@given(temperatures, altitudes)
def test_a_room_at_fixed_temperature_derates_with_pressure(temp: float, altitude: float) -> None:
    assert density_kg_m3(temp, altitude) == pytest.approx(density_kg_m3(temp, 0) * pressure_ratio(altitude))


@given(st.floats(0.1, 1e4), st.floats(0.1, 100), st.floats(0.2, 2))
def test_airflow_doubles_with_heat_and_halves_with_rise(heat: float, rise: float, density: float) -> None:
    flow = airflow_m3_s(heat, rise, density)
    assert airflow_m3_s(2 * heat, rise, density) == pytest.approx(2 * flow)
    assert airflow_m3_s(heat, 2 * rise, density) == pytest.approx(flow / 2)
    assert airflow_m3_s(heat, rise, 2 * density) == pytest.approx(flow / 2)


def test_airflow_for_no_heat_is_none() -> None:
    assert airflow_m3_s(0, 10, 1.2) == 0


@pytest.mark.parametrize(
    ("figures", "message"),
    [((-0.1, 10, 1.2), "heat -0.1 W"), ((1, 0, 1.2), "rise 0 K"), ((1, 10, 0), "density 0 kg/m3")],
)
def test_airflow_refuses_impossible_figures(figures: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        airflow_m3_s(*figures)


@given(st.floats(0, 1e6))
def test_btu_an_hour_are_proportional_to_watts(watts: float) -> None:
    assert watts_to_btu_h(watts) == pytest.approx(watts * watts_to_btu_h(1))
