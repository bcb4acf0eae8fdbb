"""Places in racks against every placement there is, and ways out against racks that are changed so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import combinations
from random import Random

import pytest
from amounts import some_or_all
from rack_brute_force import best, keeps, merit, placements, random_rack

from solver.racks.limit import Placement, RackLimit
from solver.racks.pieces import RackStand
from solver.racks.rules import broken
from solver.search.rack.clash import all_listed, rack_clash
from solver.search.rack.placing import place
from solver.search.solve.clock import Clock


@some_or_all("seeds", range(200), range(2000))
def test_the_best_places_are_those_of_brute_force(seeds: range) -> None:
    outcomes = {"found": 0, "impossible": 0}
    for seed in seeds:
        stand = random_rack(seed)
        placed, expected = place(stand, Clock()), best(stand)
        assert placed.proven
        outcomes[placed.outcome] += 1
        if placed.placement is None:
            assert expected is None, seed
        else:
            assert merit(stand, dict(placed.placement.at)) == expected, seed
    assert min(outcomes.values()) > len(seeds) // 8


@pytest.mark.parametrize("seed", range(40))
def test_a_placement_is_judged_as_by_brute_force(seed: int) -> None:
    stand = random_rack(seed)
    for n, at in enumerate(placements(stand)):
        if n % 7 == 0:
            assert (not broken(Placement(stand, at))) == keeps(stand, at)
        if n > 2000:
            break


def _changed(stand: RackStand, limit: RackLimit, by: int) -> RackStand | None:
    """A rack in which one limit is loosened; None where that is more than a figure of the rack or of one thing."""
    rack = stand.rack
    figures: dict[str, dict[str, object]] = {
        "rack-space": {"units": rack.units + by},
        "rack-depth": {"depth_mm": None if rack.depth_mm is None else rack.depth_mm + Decimal(by) / 1000},
        "rack-weight": {"most_kg": None if rack.most_kg is None else rack.most_kg + Decimal(by) / 1000},
    }
    if limit.rule in figures:
        return replace(stand, rack=rack.model_copy(update=figures[limit.rule]))
    if limit.rule == "rack-inlet":
        return replace(
            stand,
            pieces=tuple(
                replace(p, most_below_mw=limit.bound + by) if p.name in limit.about else p for p in stand.pieces
            ),
        )
    if limit.rule == "rack-cable":
        runs = [replace(r, most_um=limit.bound + by) if r.ends == limit.about else r for r in stand.runs]
        return replace(stand, runs=tuple(runs))
    return None


def _without(stand: RackStand, names: Sequence[str]) -> RackStand:
    """A rack without some things."""
    pieces = tuple(piece for piece in stand.pieces if piece.name not in names)
    return replace(stand, pieces=pieces, runs=tuple(run for run in stand.runs if not set(names) & set(run.ends)))


@some_or_all("seeds", range(12), range(300))
def test_a_way_out_makes_room_and_a_little_less_does_not(seeds: range) -> None:
    tried = 0
    for seed in seeds:
        stand = random_rack(seed)
        if best(stand) is not None:
            continue
        why = rack_clash(stand, Clock())
        assert why.proven
        for way in why.ways:
            (limit, amount), *more = way.given
            if more:
                continue
            if limit.rule == "rack-place":
                assert best(_without(stand, limit.about)) is not None, seed
                tried += 1
            elif (changed := _changed(stand, limit, amount)) is not None:
                assert best(changed) is not None, (seed, limit)
                less = _changed(stand, limit, amount - 1)
                assert less is not None
                assert best(less) is None, (seed, limit)
                tried += 1
    assert tried > len(seeds) // 3


@some_or_all("seeds", range(300), range(5000))
def test_all_ways_are_listed_where_no_set_that_breaks_every_clash_holds_none_of_them(seeds: range) -> None:
    outcomes = {True: 0, False: 0}
    for seed in seeds:
        rng = Random(seed)
        limits = range(rng.randint(2, 7))
        clashes = [frozenset(rng.sample(limits, rng.randint(1, min(3, len(limits))))) for _ in range(rng.randint(1, 6))]
        sets = [set(own) for size in range(1, len(limits) + 1) for own in combinations(limits, size)]
        breaking = [own for own in sets if all(own & clash for clash in clashes)]
        least = [own for own in breaking if not any(other < own for other in breaking)]
        ways = [own for own in least if len(own) <= 2 and rng.random() < 0.9]
        expected = ways == least
        assert all_listed(clashes, ways) == expected, seed
        outcomes[expected] += 1
    assert min(outcomes.values()) > len(seeds) // 8


def test_not_all_ways_are_listed_where_the_amounts_of_one_are_not_known(monkeypatch: pytest.MonkeyPatch) -> None:
    stand = next(stand for stand in map(random_rack, range(100)) if place(stand, Clock()).outcome == "impossible")
    monkeypatch.setattr("solver.search.rack.clash._least", lambda *_: None)
    why = rack_clash(stand, Clock())
    assert (why.ways, why.complete) == ((), False)
