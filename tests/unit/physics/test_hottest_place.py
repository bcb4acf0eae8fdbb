"""Air at the hottest place of a card, against an integration in small steps, by hand, and laws of heat."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.integrate import trapezoid
from scipy.optimize import brentq

from solver.physics.column import OUTLET, Source, rise_at_mk
from solver.physics.heat import Air, Draught, Fan, margin_mk, rise_mk

PARTS = 26


def integrated_rise_k(air: Air, sources: tuple[Source, ...], place: int) -> float:
    """The rise where the air reaches a place, from hydrostatics in small steps: nothing is averaged.

    The ideal-gas density of every height drives the column and says what the gap, and each opening, holds back.
    Own gravity, gas constant, specific heat and discharge coefficient, from the sources that solver.physics names.
    """
    path = air.path
    assert isinstance(path, Draught)
    pressure = (
        101_325.0 * (1 - 0.0065 * (6_356_766 * air.altitude_m / (6_356_766 + air.altitude_m)) / 288.15) ** 5.25588
    )
    outside_k = air.inlet_mk / 1000 + 273.15
    height, cards = path.stack_mm / 1000, (path.card_mm or path.stack_mm) / 1000
    z = np.linspace(0, 1, 20_001)
    below_w = np.zeros_like(z)
    for source in sources:
        watts = source.parts_mw / PARTS / 1000
        below_w += watts * z if source.at is None else np.where(z >= source.at / 1000 - 1e-12, watts, 0.0)

    def left_over(mass_kg_s: float) -> float:
        temp_k = outside_k + below_w / (mass_kg_s * 1006.0)
        density = pressure / (287.05287 * temp_k)
        outside = pressure / (287.05287 * outside_k)

        def lost(area_cm2: float, of: float) -> float:
            return float((mass_kg_s / (0.65 * area_cm2 / 10_000)) ** 2 / (2 * of))

        pull = 9.80665 * trapezoid(outside - density, z) * cards + 9.80665 * (outside - density[-1]) * (height - cards)
        held = trapezoid(1 / density, z) * lost(path.gap_area_cm2, 1.0)
        return float(pull - held - lost(path.opening_below_cm2, outside) - lost(path.opening_above_cm2, density[-1]))

    mass = brentq(left_over, below_w[-1] / (1006.0 * 150), below_w[-1] / (1006.0 * 0.5), xtol=1e-12)
    return float(below_w[round(place / 1000 * 20_000)] / (mass * 1006.0))


def hottest_k(air: Air, sources: tuple[Source, ...], place: int) -> float:
    """The most of all combinations of sources that are on."""
    own = [[s for s, on in zip(sources, which, strict=True) if on] for which in product((0, 1), repeat=len(sources))]
    return max(integrated_rise_k(air, tuple(some), place) for some in own if some)


CARDS = [((8, None), (6, 300)), ((9, 900), (7, 100)), ((5, 0), (5, 0)), ((9, 650), (12, None)), ((4, 600), (6, 800))]
"""Watts and places of the cards beside a gap."""


@pytest.mark.parametrize("path", [Draught(38, 60, 60, 190, card_mm=150), Draught(25, 40, 70, 300, card_mm=120)])
@pytest.mark.parametrize("cards", CARDS)
@pytest.mark.parametrize("altitude_m", [12, 1800])
def test_the_rise_agrees_with_small_steps_within_a_fifth_of_a_kelvin(
    path: Draught, cards: tuple[tuple[int, int | None], ...], altitude_m: int
) -> None:
    air = Air(path, gaps=13, inlet_mk=27_000, altitude_m=altitude_m)
    sources = (*(Source(w * 1000 * PARTS // 2, at) for w, at in cards), Source(900 * PARTS))
    for place in {OUTLET, *(at for _, at in cards if at is not None)}:
        found = rise_at_mk(air, sources, PARTS, place) / 1000
        assert found == pytest.approx(hottest_k(air, sources, place), abs=0.2), place


@pytest.mark.parametrize("heat_mw", [0, 1, 3_700, 14_845, 40_000])
def test_even_heat_at_the_outlet_is_what_a_gap_of_even_cards_has(heat_mw: int) -> None:
    for path in (Draught(38, 60, 60, 190), Draught(38, 60, 60, 300, card_mm=120), Fan(90, 0.7)):
        air = Air(path, gaps=13, inlet_mk=27_000, altitude_m=500)
        assert rise_at_mk(air, (Source(heat_mw * PARTS),), PARTS, OUTLET) == rise_mk(air, heat_mw)
        assert margin_mk(air, 55_000, heat_mw) == 28_000 - rise_mk(air, heat_mw)


def test_a_fan_worked_by_hand() -> None:
    # 90 x 0.7 / 9 = 7 m3/h of 1.18393 kg/m3 carry 1.18393 x 1006 x 7 / 3600 = 2.3159 W for each kelvin. Of 6 W at 0.4
    # and 4 W that are even, 6 + 1.6 W have warmed the air there: 3.2817 K; and at 0.3 only 1.2 W: 0.5182 K.
    air = Air(Fan(90.0, 0.7), gaps=9, inlet_mk=25_000, altitude_m=0)
    sources = (Source(6_000 * PARTS, 400), Source(4_000 * PARTS))
    assert rise_at_mk(air, sources, PARTS, 400) == pytest.approx(3_282, abs=2)
    assert rise_at_mk(air, sources, PARTS, 300) == pytest.approx(518, abs=2)


def test_heat_at_the_upper_edge_of_cards_that_end_at_the_opening_draws_nothing() -> None:
    air = Air(Draught(38, 60, 60, 190), gaps=13, inlet_mk=27_000, altitude_m=0)
    assert rise_at_mk(air, (Source(1_000 * PARTS, OUTLET),), PARTS, OUTLET) == 400_000
    low = rise_at_mk(air, (Source(10_000 * PARTS, 0),), PARTS, OUTLET)
    even = rise_at_mk(air, (Source(10_000 * PARTS),), PARTS, OUTLET)
    # The pull is twice as much, so the rise is less by the cube root of two, and a little more for thin air.
    assert even / low == pytest.approx(2 ** (1 / 3), rel=0.02)


@pytest.mark.parametrize("seed", range(60))
def test_more_heat_is_never_cooler_nor_a_wider_opening_hotter_nor_a_higher_place_or_altitude_cooler(seed: int) -> None:
    r = np.random.default_rng(seed)

    def some(least: float, most: float) -> float:
        return float(r.uniform(least, most))

    stack = some(120, 400)
    areas = [some(10, 90) for _ in range(3)]
    path = Draught(areas[0], areas[1], areas[2], stack, card_mm=stack * some(0.3, 1))
    air = Air(path, gaps=13, inlet_mk=int(some(15_000, 35_000)), altitude_m=int(some(0, 2000)))
    places = [None if r.random() < 0.3 else int(r.integers(0, 1001)) for _ in range(2)]
    heats = [int(some(0, 12_000)) * PARTS for _ in range(3)]
    place = int(r.integers(0, 1001))

    def rise(of: Air = air, add: tuple[int, int, int] = (0, 0, 0), at: int = place) -> int:
        own = [heat + more * PARTS for heat, more in zip(heats, add, strict=True)]
        return rise_at_mk(of, (Source(own[0], places[0]), Source(own[1], places[1]), Source(own[2])), PARTS, at)

    for more in (50, 900, 6_000):
        for source in range(3):
            assert rise(add=(more * (source == 0), more * (source == 1), more * (source == 2))) >= rise() - 1
    for wider in range(3):
        gap, below, above = (area * (1.3 if n == wider else 1) for n, area in enumerate(areas))
        assert (
            rise(Air(Draught(gap, below, above, stack, card_mm=path.card_mm), 13, air.inlet_mk, air.altitude_m))
            <= rise() + 1
        )
    assert rise(Air(path, 13, air.inlet_mk, air.altitude_m + 700)) >= rise() - 1
    assert rise(at=min(OUTLET, place + 150)) >= rise()


@pytest.mark.parametrize(("parts", "place"), [(0, 500), (1, -1), (1, 1001)])
def test_what_is_no_place_is_refused(parts: int, place: int) -> None:
    with pytest.raises(ValueError, match=r"parts|place"):
        rise_at_mk(Air(Fan(90, 1), 9, 25_000, 0), (Source(1),), parts, place)
