"""Plans of rooms with bays against trying every seating and every setting, and every loom on every block."""

from __future__ import annotations

import random
from collections import Counter

import brute_force
import generate
from amounts import some_or_all
from test_against_brute_force import _compare

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.rules.bay_points import MoreRows
from solver.search.ask.clash import clash


def with_bays(seed: int) -> tuple[Scenario, Hardware]:
    """A scenario of the seeded generator with one to three bays, of which some have little room."""
    scenario, hardware = generate.random_pair(seed)
    draw = random.Random(seed)
    signals = sorted({signal for card in hardware.card for port in card.ports for signal in port.signals})
    block = draw.choice([1, 1, 2, 4])
    bays = [
        {
            "name": f"P{n}",
            "signals": draw.sample(signals, draw.randint(1, len(signals))),
            "direction": draw.choice([None, "in", "out"]),
            "rows": 2,
            "points": draw.randint(1, 6),
            "gauge": "bantam",
            "rear": {"connector": "multi", "block": block} if block > 1 else None,
        }
        for n in range(draw.choice([1, 1, 2, 3]))
    ]
    return Scenario.model_validate({**scenario.model_dump(exclude_unset=True), "bay": bays}), hardware


@some_or_all("seeds", range(60), range(800))
def test_plans_have_the_same_best_builds_and_bays_matter(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = with_bays(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario.model_copy(update={"bay": ()}), hardware)
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        seen["moved"] += before is not None and after is not None and before.seats != after.seats
    assert min(seen["found"], seen["made impossible"]) >= len(seeds) // 10, seen
    assert seen["moved"] >= len(seeds) // 150, seen


def test_rows_that_are_a_way_out_are_the_least_that_help() -> None:
    """Of rooms that bays alone make impossible: with so many rows there is a build, with two fewer there is none."""
    met = 0
    for seed in range(150):
        scenario, hardware = with_bays(seed)
        if brute_force.best(scenario, hardware) is not None:
            continue
        if brute_force.best(scenario.model_copy(update={"bay": ()}), hardware) is None:
            continue
        for way in clash(survey_room(scenario, hardware)).ways:
            (change, *others) = way.changes
            if others or not isinstance(change.wish, MoreRows):
                continue
            before, after = change.wish.rows(survey_room(scenario, hardware), change)
            for rows, helps in ((after, True), (after - 2, False)):
                bays = [bay.model_copy(update={"rows": rows}) for bay in scenario.bay[change.wish.index :][:1]]
                bays = [*scenario.bay[: change.wish.index], *bays, *scenario.bay[change.wish.index + 1 :]]
                asked = scenario.model_copy(update={"bay": tuple(bays)})
                assert (brute_force.best(asked, hardware) is not None) == helps, seed
            assert after > before
            met += 1
    assert met > 3
