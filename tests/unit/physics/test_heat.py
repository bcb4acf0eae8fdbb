"""Heat in a gap: the permitted heat and the margin say the same, on both sides of every threshold."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.physics.air import CP, airflow_m3_s, density_kg_m3
from solver.physics.heat import (
    GREATEST_RISE_MK,
    Air,
    Draught,
    Fan,
    flow_factor,
    gap_flow_m3_s,
    gap_heat_mw,
    margin_mk,
    permitted_heat_mw,
    stack_flow_m3_s,
)

FAN = Air(Fan(90.0, 0.7), gaps=9, inlet_mk=25_000, altitude_m=0)
DRAUGHT = Air(Draught(30.0, 12.0, 12.0, 130.0), gaps=9, inlet_mk=25_000, altitude_m=0)
LIMIT = 55_000

areas = st.floats(0.5, 500)
vents = st.none() | st.floats(5, 2000)
paths = st.builds(Fan, st.floats(1, 500), st.floats(0.1, 1)) | st.builds(
    Draught, areas, areas, areas, st.floats(10, 500), vents, vents, st.none() | st.floats(1, 10)
)
airs = st.builds(
    Air, paths, st.integers(1, 30), st.integers(-10_000, 60_000), st.integers(-500, 5000), st.floats(0.25, 4)
)
limits_mk = st.integers(0, 90_000)


@given(airs, limits_mk, st.integers(0, 60_000))
def test_the_margin_is_the_exact_inverse_of_the_permitted_heat(air: Air, limit: int, heat: int) -> None:
    margin = margin_mk(air, limit, heat)
    if margin == limit - air.inlet_mk - GREATEST_RISE_MK:
        assert permitted_heat_mw(air, limit, margin + 1) < heat
    else:
        assert permitted_heat_mw(air, limit, margin) >= heat > permitted_heat_mw(air, limit, margin + 1)


@given(airs, limits_mk, st.integers(0, 100_000))
def test_the_heat_that_a_margin_permits_keeps_that_margin_and_one_more_milliwatt_does_not(
    air: Air, limit: int, rise: int
) -> None:
    margin = limit - air.inlet_mk - rise
    heat = permitted_heat_mw(air, limit, margin)
    assert margin_mk(air, limit, heat) >= margin
    assert margin_mk(air, limit, heat + 1) < margin


@given(airs, limits_mk, st.integers(-300_000, 100_000), st.integers(1, 5000))
def test_more_margin_never_permits_more_heat(air: Air, limit: int, margin: int, more: int) -> None:
    assert permitted_heat_mw(air, limit, margin) >= permitted_heat_mw(air, limit, margin + 1)
    assert permitted_heat_mw(air, limit, margin) >= permitted_heat_mw(air, limit, margin + more)


@given(airs, limits_mk, st.integers(0, 60_000), st.integers(0, 60_000))
def test_more_heat_never_leaves_more_margin(air: Air, limit: int, one: int, other: int) -> None:
    less, more = sorted((one, other))
    assert margin_mk(air, limit, less) >= margin_mk(air, limit, more)


@given(airs, limits_mk)
def test_without_heat_the_margin_is_the_limit_less_the_inlet(air: Air, limit: int) -> None:
    assert margin_mk(air, limit, 0) == limit - air.inlet_mk


@given(airs, limits_mk)
def test_nothing_is_permitted_once_the_inlet_air_breaks_the_margin(air: Air, limit: int) -> None:
    room = limit - air.inlet_mk
    assert permitted_heat_mw(air, limit, room) == 0
    assert permitted_heat_mw(air, limit, room + 1) == -1
    assert permitted_heat_mw(air, limit, room + 50_000) == -1


@given(airs, limits_mk, st.integers(0, 60_000), st.integers(-5000, 5000))
def test_a_higher_limit_adds_itself_to_the_margin(air: Air, limit: int, heat: int, more: int) -> None:
    assert margin_mk(air, limit + more, heat) == margin_mk(air, limit, heat) + more


@given(airs, st.integers(1, 4000))
def test_thinner_air_permits_no_more_heat(air: Air, climb: int) -> None:
    higher = replace(air, altitude_m=air.altitude_m + climb)
    limit = air.inlet_mk + 20_000
    assert permitted_heat_mw(higher, limit, 0) <= permitted_heat_mw(air, limit, 0)


@given(airs.filter(lambda a: isinstance(a.path, Draught)), st.floats(1, 2000))
def test_a_vent_panel_never_permits_more_heat_than_open_space(air: Air, area: float) -> None:
    assert isinstance(air.path, Draught)
    limit = air.inlet_mk + 20_000
    open_space = replace(air.path, vent_below_cm2=None, vent_above_cm2=None)
    most = permitted_heat_mw(replace(air, path=open_space), limit, 0)
    for panel in (replace(open_space, vent_below_cm2=area), replace(open_space, vent_above_cm2=area)):
        assert permitted_heat_mw(replace(air, path=panel), limit, 0) <= most


def test_a_heat_past_the_greatest_rise_gets_the_margin_at_that_rise() -> None:
    at_the_end = permitted_heat_mw(FAN, LIMIT, 30_000 - GREATEST_RISE_MK)
    assert margin_mk(FAN, LIMIT, at_the_end) == 30_000 - GREATEST_RISE_MK
    assert margin_mk(FAN, LIMIT, at_the_end - 5) > 30_000 - GREATEST_RISE_MK
    assert margin_mk(FAN, LIMIT, 10 * at_the_end) == 30_000 - GREATEST_RISE_MK


def test_a_fan_is_derated_shared_over_the_gaps_and_counted_at_the_inlet() -> None:
    flow = 90 * 0.7 / 9 / 3600
    assert gap_flow_m3_s(FAN, 0) == gap_flow_m3_s(FAN, 40) == pytest.approx(flow)
    rho = density_kg_m3(25, 0)
    assert permitted_heat_mw(FAN, LIMIT, 20_000) == int(rho * CP * flow * 10 * 1000)
    assert airflow_m3_s(rho * CP * flow * 10, 10, rho) == pytest.approx(flow)


def test_a_draught_is_counted_as_the_air_that_it_draws_in() -> None:
    heat = density_kg_m3(25, 0) * CP * gap_flow_m3_s(DRAUGHT, 10) * 10
    assert permitted_heat_mw(DRAUGHT, LIMIT, 20_000) == int(heat * 1000)


def test_openings_of_equal_drag_share_the_pull_of_the_column() -> None:
    # Twice the drag of the lower one holds the whole column; the upper one, in air of 313.15 K, is the wider for that.
    wide_gap = replace(DRAUGHT, path=Draught(1e9, 12.0, 12.0 * (313.15 / 298.15) ** 0.5, 130.0))
    assert gap_flow_m3_s(wide_gap, 15) == pytest.approx(stack_flow_m3_s(12e-4, 0.065, 305.65, 298.15))


def test_constrictions_add_in_series_by_the_warmth_of_their_air() -> None:
    cold, half_warm, warm = 1.0, 305.65 / 298.15, 313.15 / 298.15
    drag = cold * (12.0**-2 + (90 / 9) ** -2) + half_warm * 30.0**-2 + warm * (8.0**-2 + (180 / 9) ** -2)
    whole_stack = stack_flow_m3_s(drag**-0.5 / 10_000, 0.130, 305.65, 298.15)
    one = replace(DRAUGHT, path=Draught(30.0, 12.0, 8.0, 130.0, 90.0, 180.0))
    assert gap_flow_m3_s(one, 15) == pytest.approx(whole_stack)


def test_a_tight_opening_holds_warm_air_back_more_than_cold_air() -> None:
    tight_above = replace(DRAUGHT, path=Draught(30.0, 12.0, 8.0, 130.0))
    tight_below = replace(DRAUGHT, path=Draught(30.0, 8.0, 12.0, 130.0))
    assert gap_flow_m3_s(tight_above, 15) < gap_flow_m3_s(tight_below, 15) < gap_flow_m3_s(tight_above, 15) * 1.025


def test_no_rise_no_draught() -> None:
    assert gap_flow_m3_s(DRAUGHT, 0) == 0


@pytest.mark.parametrize("path", [Draught(0, 1, 1, 1), Draught(1, 1, 1, 1, -1), Draught(1, 1, 1, -1)])
def test_a_path_without_area_or_height_is_refused(path: Draught) -> None:
    with pytest.raises(ValueError, match=r"area|height"):
        gap_flow_m3_s(replace(DRAUGHT, path=path), 10)


def test_impossible_figures_are_refused() -> None:
    with pytest.raises(ValueError, match="rise -1 K"):
        gap_flow_m3_s(FAN, -1)
    with pytest.raises(ValueError, match="0 gaps"):
        gap_flow_m3_s(replace(FAN, gaps=0), 1)
    with pytest.raises(ValueError, match="heat -1 mW"):
        margin_mk(FAN, LIMIT, -1)
    with pytest.raises(ValueError, match=r"outside -500\.\.11000 m"):
        permitted_heat_mw(replace(FAN, altitude_m=12_000), LIMIT, 0)
    with pytest.raises(ValueError, match="inside 290 K must be at least outside 300 K"):
        stack_flow_m3_s(1, 1, 290, 300)


@pytest.mark.parametrize(
    ("left", "right", "shared", "gaps", "heat"),
    [
        (0, 0, 0, 9, 0),
        (8000, 6000, 9000, 9, 8000),
        (1, 0, 0, 9, 1),
        (1, 1, 0, 9, 1),
        (0, 0, 1, 9, 1),
        (0, 0, 9, 9, 1),
        (0, 0, 10, 9, 2),
        (1, 0, 1, 2, 1),
        (1, 0, 2, 3, 2),
    ],
)
def test_gap_heat_is_rounded_up_once(left: int, right: int, shared: int, gaps: int, heat: int) -> None:
    assert gap_heat_mw(left, right, shared, gaps) == heat


@given(*[st.integers(0, 10**6)] * 3, st.integers(1, 30))
def test_gap_heat_is_the_least_whole_number_not_too_small(left: int, right: int, shared: int, gaps: int) -> None:
    exact_times_2_gaps = (left + right) * gaps + 2 * shared
    heat = gap_heat_mw(left, right, shared, gaps)
    assert heat * 2 * gaps >= exact_times_2_gaps > (heat - 1) * 2 * gaps


@pytest.mark.parametrize("figures", [(-1, 0, 0, 1), (0, -1, 0, 1), (0, 0, -1, 1), (0, 0, 0, 0)])
def test_gap_heat_refuses_impossible_figures(figures: tuple[int, int, int, int]) -> None:
    with pytest.raises(ValueError, match=r"below 0 mW|0 gaps"):
        gap_heat_mw(*figures)


@given(airs, st.integers(1000, 25_000), st.floats(0.26, 3.9))
def test_a_calibrated_path_carries_the_measured_heat_at_the_measured_rise(air: Air, rise: int, factor: float) -> None:
    plain = replace(air, flow_factor=1.0)
    formula_w = (
        density_kg_m3(air.inlet_mk / 1000, air.altitude_m) * CP * gap_flow_m3_s(plain, rise / 1000) * rise / 1000
    )
    measured_w = formula_w * factor
    found = flow_factor(air, measured_w, rise / 1000)
    assert found == pytest.approx(factor)
    calibrated = replace(air, flow_factor=found)
    assert permitted_heat_mw(calibrated, air.inlet_mk + rise, 0) == pytest.approx(measured_w * 1000, abs=1.01)


@pytest.mark.parametrize(("factor", "accepted"), [(0.2499, False), (0.2501, True), (3.999, True), (4.001, False)])
def test_an_unbelievable_measurement_is_refused(factor: float, accepted: bool) -> None:
    formula_w = density_kg_m3(25, 0) * CP * gap_flow_m3_s(FAN, 10) * 10
    if accepted:
        assert flow_factor(FAN, formula_w * factor, 10) == pytest.approx(factor)
    else:
        with pytest.raises(ValueError, match=r"outside 0\.25\.\.4"):
            flow_factor(FAN, formula_w * factor, 10)


@pytest.mark.parametrize(("gap_w", "rise_k"), [(0, 10), (5, 0), (-5, 10), (5, -10)])
def test_a_measurement_of_nothing_is_refused(gap_w: float, rise_k: float) -> None:
    with pytest.raises(ValueError, match="must both be above 0"):
        flow_factor(DRAUGHT, gap_w, rise_k)


def test_the_draught_of_the_readme_example_worked_by_its_formulas() -> None:
    """petrel-12 at 25 C and sea level: 13.6 W in a gap, 18.8 K warmer, 2.20 m3/h, as README's `explain` tells."""
    inlet, rise, height = 298.15, 18.8, 0.19
    drag = 1 / 60**2 + (1 + rise / 2 / inlet) / 38**2 + (1 + rise / inlet) / 60**2
    mean = inlet + rise / 2
    flow = 0.65 * (1 / drag**0.5 / 10_000) * (2 * 9.80665 * height * (mean - inlet) / mean) ** 0.5
    assert round(flow * 3600, 2) == 2.20
    heat = 101_325 / (287.05 * inlet) * 1006 * flow * rise
    assert abs(heat - 13.6) < 0.1
    draught = Draught(gap_area_cm2=38, opening_below_cm2=60, opening_above_cm2=60, stack_mm=190)
    assert abs(gap_flow_m3_s(Air(draught, 13, 25_000, 0), rise) - flow) < 1e-9
