"""The second optimiser against the exhaustive planner on tiny scenarios, and the search against it on midsize ones."""

from __future__ import annotations

import os
from collections import Counter

import brute_force
import generate
import known_fronts
import midsize
import milp
import pytest
from amounts import some_or_all

from solver.judge import audit
from solver.room.ready import survey_room
from solver.room.words import SAMPLE_RATES
from solver.search.ask.front import front
from solver.search.ask.ranking import rank

TINY_SEEDS = range(60)
MIDSIZE_SEEDS = range(int(os.environ.get("STRAPWORK_MIDSIZE", "60")))
"""Midsize scenarios that the slow test compares; the variable asks for more."""

CRITERIA = ("cost", "unused", "cooling")


def _triple(optimum: milp.Optimum) -> tuple[int, int, int]:
    return optimum.cost, optimum.unused, optimum.level


def test_tiny_scenarios_have_the_front_that_trying_all_gives() -> None:
    points: Counter[int] = Counter()
    for seed in TINY_SEEDS:
        scenario, hardware = generate.random_pair(seed)
        if len(scenario.frame) > 1:
            continue
        expected = brute_force.front(scenario, hardware, CRITERIA)
        assert [_triple(p) for p in milp.front(scenario, hardware)] == expected, seed
        best = milp.optimum(scenario, hardware)
        assert (best and _triple(best)) == (expected[0] if expected else None), seed
        points[len(expected)] += 1
    assert points[0] >= 10
    assert sum(count for size, count in points.items() if size >= 2) >= 5, points


@some_or_all("seeds", MIDSIZE_SEEDS[:8], MIDSIZE_SEEDS)
def test_midsize_scenarios_have_the_same_optimum_in_the_search(seeds: range) -> None:
    impossible: Counter[str | None] = Counter()
    for seed in seeds:
        drawn = midsize.midsize(seed)
        survey = survey_room(drawn.scenario, drawn.hardware)
        expected = milp.optimum(drawn.scenario, drawn.hardware)
        ranking = rank(survey, top=1)
        assert ranking.outcome == ("found" if expected else "impossible"), seed
        impossible[drawn.squeezed] += expected is None
        for build in ranking.builds:
            assert build.proven
            assert expected is not None
            assert (build.figures.cost, build.figures.unused, build.figures.level) == _triple(expected), seed
            assert audit.faults(survey, build.standing) == []
    share = impossible.total() / len(seeds)
    assert 0.2 <= share <= 0.6, impossible
    if len(seeds) >= 100:
        assert share <= 0.45, impossible
        assert all(impossible[reason] >= 3 for reason in midsize.SQUEEZES), impossible
    print(f"{len(seeds)} scenarios, impossible by what was squeezed: {dict(impossible)}")


def _front_is_the_known_one(seed: int, shape: tuple[int, int]) -> None:
    drawn = midsize.trade_off(seed, shape=shape)
    found = front(survey_room(drawn.scenario, drawn.hardware))
    assert found.complete
    points = [(p.figures.cost, p.figures.unused, p.figures.level) for p in found.points]
    assert sorted(points) == [(cost * 100, unused, level) for cost, unused, level in known_fronts.FRONTS[seed, shape]]


def test_a_midsize_front_is_the_one_that_the_programs_give() -> None:
    _front_is_the_known_one(4, (4, 3))
    _front_is_the_known_one(3, (4, 3))


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "shape"), sorted(known_fronts.FRONTS))
def test_every_known_front_is_found(seed: int, shape: tuple[int, int]) -> None:
    _front_is_the_known_one(seed, shape)


def test_midsize_scenarios_are_of_the_promised_size() -> None:
    pinned = closed = both_ways = wide = 0
    for seed in range(100):
        drawn = midsize.midsize(seed)
        (frame,) = drawn.scenario.frame
        (chassis,) = drawn.hardware.chassis
        family = SAMPLE_RATES[drawn.scenario.sample_rate]
        ways = [
            w
            for board in drawn.hardware.board
            if frame.board in (None, board.id)
            for w in brute_force.numberings(board, chassis.slot_count, family, frame.straps)
            if w.legal
        ]
        assert chassis.slot_count == 12
        assert 8 <= len(ways) <= 16
        assert 10 <= len(drawn.hardware.card) <= 20
        assert 3 <= len(drawn.scenario.need) <= 5
        assert {n.direction for n in drawn.scenario.need} == {"in", "out"}
        assert len({c.air_limit_c for c in drawn.hardware.card}) > 1
        assert drawn == midsize.midsize(seed)
        pinned += bool(frame.pins)
        closed += bool(frame.keep_empty)
        both_ways += any(p.grain == 2 for c in drawn.hardware.card for p in c.ports)
        wide += any(c.span == 2 for c in drawn.hardware.card)
    assert min(pinned, closed, both_ways, wide) >= 10
