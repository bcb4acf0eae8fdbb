"""Air that gets by without passing a card, and fans that stand still, against a network of openings solved by scipy."""

from __future__ import annotations

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from solver.physics.bypass import flow_of_the_rest_m3_h, past_in_gaps
from solver.physics.heat import Air, Fan, gap_flow_m3_s, rise_mk

DENSITY = 1.2
"""kg/m3 of air near 20 C."""

DISCHARGE = 0.65


def _through(area_cm2: float, pressure_pa: float) -> float:
    """Flow in m3/s through an opening: Q = C_D A sqrt(2 dp / rho) (ASHRAE Handbook of Fundamentals, chapter 16)."""
    return DISCHARGE * area_cm2 / 10_000 * sqrt(2 * pressure_pa / DENSITY)


def _each_gap(areas_cm2: list[float], flow_m3_s: float) -> float:
    """Flow through the first of some openings side by side that carry a flow together, by their pressure difference."""
    pressure: float = brentq(lambda dp: sum(_through(a, dp) for a in areas_cm2) - flow_m3_s, 1e-9, 1e6, xtol=1e-12)
    return _through(areas_cm2[0], pressure)


AREAS = st.floats(5, 80)


@given(st.integers(2, 21), st.data(), AREAS, st.floats(0, 60), st.floats(8, 120))
def test_gaps_get_what_a_network_of_openings_gives_them(
    gaps: int, data: st.DataObject, gap_cm2: float, leak_cm2: float, flow_m3_h: float
) -> None:
    open_slots = data.draw(st.integers(0, gaps - 1))
    past = past_in_gaps(open_slots, leak_cm2, gap_cm2)
    told = gap_flow_m3_s(Air(Fan(flow_m3_h, 0.8, past), gaps, 25_000, 0), 0.0)
    areas = [gap_cm2] * gaps + [leak_cm2] * open_slots
    assert told == pytest.approx(_each_gap(areas, flow_m3_h * 0.8 / 3600), rel=1e-6)


def test_by_hand() -> None:
    """Six gaps of 40 cm2 and two open slots of 30 cm2: as if there were 1.5 gaps more, 34 / 7.5 m3/h each."""
    assert past_in_gaps(2, 30, 40) == 1.5
    assert gap_flow_m3_s(Air(Fan(34, 1.0, 1.5), 6, 25_000, 0), 5.0) * 3600 == pytest.approx(34 / 7.5)


@given(st.integers(0, 12), st.floats(0, 60), st.floats(0, 40), st.integers(0, 30_000), AREAS)
def test_more_that_is_open_is_never_cooler(slots: int, leak: float, more: float, heat_mw: int, gap: float) -> None:
    def rise(open_slots: int, leak_cm2: float) -> int:
        return rise_mk(Air(Fan(30, 0.8, past_in_gaps(open_slots, leak_cm2, gap)), 13, 25_000, 300), heat_mw)

    assert rise(0, leak) == rise_mk(Air(Fan(30, 0.8), 13, 25_000, 300), heat_mw)
    assert rise(slots, leak) <= rise(slots + 1, leak)
    assert rise(slots, leak) <= rise(slots, leak + more)


def _curve_pa(flow_m3_s: float, free_m3_s: float) -> float:
    """A fan that makes 40 Pa against a shut opening, and none at its free flow (a parabola, our own)."""
    return 40.0 * (1 - (flow_m3_s / free_m3_s) ** 2)


@given(st.integers(2, 15), st.integers(1, 14), AREAS, st.floats(1, 60), st.floats(0.01, 0.08))
def test_a_fan_with_a_curve_moves_no_less_through_the_gaps_than_is_told(
    gaps: int, open_slots: int, gap_cm2: float, leak_cm2: float, free: float
) -> None:
    """The flow that files have is that with nothing open; with slots open a real fan moves more than that in all."""

    def working(areas: list[float]) -> float:
        def over(flow: float) -> float:
            return sum(_through(a, max(0.0, _curve_pa(flow, free))) for a in areas) - flow

        point: float = brentq(over, 0, free, xtol=1e-12)
        return point

    shut = working([gap_cm2] * gaps)
    areas = [gap_cm2] * gaps + [leak_cm2] * open_slots
    real = _each_gap(areas, working(areas))
    told = gap_flow_m3_s(Air(Fan(shut * 3600, 1.0, past_in_gaps(open_slots, leak_cm2, gap_cm2)), gaps, 25_000, 0), 0.0)
    assert real >= told * (1 - 1e-9)


@given(st.integers(2, 8), st.floats(0.01, 0.05), st.floats(20, 900))
def test_the_other_fans_move_no_less_than_is_told(fans: int, free: float, area_cm2: float) -> None:
    """Fans with a curve side by side blow through one opening, all of them or one less, with nothing back."""

    def together(count: int) -> float:
        def over(flow: float) -> float:
            return _through(area_cm2, max(0.0, _curve_pa(flow / count, free))) - flow

        point: float = brentq(over, 0, count * free, xtol=1e-12)
        return point

    assert together(fans - 1) * 3600 >= flow_of_the_rest_m3_h(together(fans) * 3600, fans) * (1 - 1e-9)


def test_figures_outside_their_range_are_refused() -> None:
    for wrong in ((-1, 1.0, 1.0), (1, -1.0, 1.0), (1, 1.0, 0.0), (1, float("nan"), 1.0)):
        with pytest.raises(ValueError, match=r"is below 0|is not above 0|at least 0"):
            past_in_gaps(*wrong)
    for flow, fans in ((0.0, 2), (10.0, 1)):
        with pytest.raises(ValueError, match=r"is not above 0|at least 2"):
            flow_of_the_rest_m3_h(flow, fans)
