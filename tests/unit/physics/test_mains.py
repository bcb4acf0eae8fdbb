"""Apparent power, current and energy by hand, and the figures of standards."""

from __future__ import annotations

import pytest

from solver.physics.mains import CONTINUOUS_PERCENT, INLET_MA, LEAST_TRIP, apparent_mva, current_ma, year_kwh


def test_68_w_at_a_power_factor_of_70_per_cent() -> None:
    """68 / 0.7 = 97.143 VA; at 230 V 0.42236 A."""
    assert apparent_mva(68_000, 70) == 97_143
    assert current_ma(68_000, 70, 230) == 423


def test_a_year_of_100_w_are_876_kwh() -> None:
    assert year_kwh(100_000, 8760) == 876
    assert year_kwh(1, 1) == 1


def test_the_figures_of_standards() -> None:
    """IEC 60320 C14: 10 A; NEC 210.20(A): 80 %; IEC 60898-1, from memory: B from 3, C from 5, D from 10 times."""
    assert INLET_MA["C14"] == 10_000
    assert CONTINUOUS_PERCENT == 80
    assert LEAST_TRIP == {"B": 3, "C": 5, "D": 10}


def test_figures_out_of_range_are_refused() -> None:
    with pytest.raises(ValueError, match="1 to 100 %"):
        apparent_mva(1, 0)
    with pytest.raises(ValueError, match="at least 0 mW"):
        current_ma(-1, 100, 230)
