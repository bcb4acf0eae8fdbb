"""Supply rails: reserve and heat, exact to the milliampere and the milliwatt."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.physics.power import rail_heat_mw, usable_ma


# A fifth kept free: the US electrical code, 210.20(A), loads a breaker continuously to at most 80 %; taken
# over for rails by common practice, no source.
@pytest.mark.parametrize(
    ("capacity", "reserve", "usable"),
    [(5000, 20, 4000), (5000, 0, 5000), (5000, 90, 500), (1001, 20, 800), (4, 20, 3), (1, 1, 0), (0, 20, 0)],
)
def test_what_a_reserve_leaves_is_rounded_down(capacity: int, reserve: int, usable: int) -> None:
    assert usable_ma(capacity, reserve) == usable


@given(st.integers(0, 10**15), st.integers(0, 90))
def test_usable_is_the_greatest_whole_number_that_keeps_the_reserve(capacity: int, reserve: int) -> None:
    usable = usable_ma(capacity, reserve)
    assert usable * 100 <= capacity * (100 - reserve) < (usable + 1) * 100


@given(st.integers(0, 10**6), st.integers(0, 89))
def test_more_reserve_never_leaves_more(capacity: int, reserve: int) -> None:
    assert usable_ma(capacity, reserve + 1) <= usable_ma(capacity, reserve)


@pytest.mark.parametrize("reserve", [-1, 91])
def test_a_reserve_outside_the_range_is_refused_with_the_range(reserve: int) -> None:
    with pytest.raises(ValueError, match=rf"reserve {reserve} % is outside 0\.\.90 %"):
        usable_ma(1000, reserve)


def test_a_negative_capacity_is_refused() -> None:
    with pytest.raises(ValueError, match="capacity -1 mA"):
        usable_ma(-1, 20)


# Power is voltage times current: school physics, worked by hand.
@pytest.mark.parametrize(
    ("rails", "heat"),
    [
        ({"+17": 200, "-17": 200, "+5": 100}, 7300),
        ({"48": 10}, 480),
        ({"3.3": 10}, 33),
        ({"3.3": 1}, 4),
        ({"3.3": 1, "1.7": 1}, 5),
        ({"+0": 500}, 0),
        ({}, 0),
    ],
)
def test_rails_deliver_volts_times_current_whatever_the_sign(rails: dict[str, int], heat: int) -> None:
    assert rail_heat_mw(rails) == heat


@pytest.mark.parametrize(
    "name", ["phantom", "+17V", "", "+", "1e3", "nan", "inf", "1_0", " 5", "5.", ".5", "--5", "\u0665"]
)
def test_a_rail_that_is_not_named_by_its_volts_says_nothing(name: str) -> None:
    assert rail_heat_mw({"+17": 200, name: 100}) is None


def test_a_negative_current_is_refused() -> None:
    with pytest.raises(ValueError, match="rail -17: current -5 mA"):
        rail_heat_mw({"-17": -5})


@given(st.dictionaries(st.integers(1, 99), st.integers(0, 10**6)))
def test_the_sign_of_the_volts_does_not_change_the_heat(rails: dict[int, int]) -> None:
    heat = sum(volts * ma for volts, ma in rails.items())
    assert rail_heat_mw({f"+{volts}": ma for volts, ma in rails.items()}) == heat
    assert rail_heat_mw({f"-{volts}": ma for volts, ma in rails.items()}) == heat
