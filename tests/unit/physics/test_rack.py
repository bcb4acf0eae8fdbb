"""Rack units, warmth from below and lifting, by hand."""

from __future__ import annotations

import pytest

from solver.physics.rack import SHOULDER_UM, UNIT_UM, heat_for_rise_mw, panel_um, people, rise_mk


def test_a_unit_is_that_of_eia_310() -> None:
    """1 U is 44.45 mm, a panel of n units 44.45 n - 0.79 mm high (EIA-310, IEC 60297)."""
    assert UNIT_UM == 44_450
    assert [panel_um(n) for n in (1, 2, 3)] == [43_660, 88_110, 132_560]


def test_air_that_takes_up_heat_gets_warmer_as_the_rule_of_thumb_says() -> None:
    """CFM = 3.16 W / dT(F), common in handbooks: 100 W at 10 F take 31.6 CFM, which are 53.7 m3/h."""
    rise = rise_mk(100_000, 31.6 * 1.69901, 20_000, 0)
    assert rise == pytest.approx(10 / 1.8 * 1000, rel=0.01)


@pytest.mark.parametrize("heat_mw", [0, 1, 999, 60_000, 250_001])
@pytest.mark.parametrize("flow", [17.5, 90.0])
def test_heat_for_a_rise_is_the_inverse(heat_mw: int, flow: float) -> None:
    rise = rise_mk(heat_mw, flow, 27_000, 500)
    assert heat_for_rise_mw(rise, flow, 27_000, 500) >= heat_mw
    assert heat_for_rise_mw(rise - 1, flow, 27_000, 500) < heat_mw


def test_thin_air_gets_warmer() -> None:
    assert rise_mk(90_000, 60, 25_000, 2000) > rise_mk(90_000, 60, 25_000, 0)


@pytest.mark.parametrize(
    ("weight_g", "top_um", "lift"),
    [(0, 0, 1), (25_000, SHOULDER_UM, 1), (25_001, 0, 2), (1000, SHOULDER_UM + 1, 2), (60_000, 0, 3)],
)
def test_two_lift_above_25_kg_or_the_shoulder(weight_g: int, top_um: int, lift: int) -> None:
    """25 kg is the filter of the HSE's guidance (from memory), 1.4 m common practice."""
    assert people(weight_g, top_um) == lift


def test_figures_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 1"):
        panel_um(0)
    with pytest.raises(ValueError, match="below 0 mW"):
        rise_mk(-1, 60, 0, 0)
    with pytest.raises(ValueError, match="above 0 m3/h"):
        rise_mk(1, 0, 0, 0)
