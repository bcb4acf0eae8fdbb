"""Plans from what stands against a planner that tries everything and counts what is moved strap by strap."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from itertools import pairwise

import brute_force
import generate
import pytest
from amounts import some_or_all
from test_against_brute_force import _compare

from solver.judge import criteria
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.front import front
from solver.search.ask.ranking import rank


def test_builds_that_move_the_least_are_the_same() -> None:
    """Moved cards, straps and lids as criteria in all orders, beside the others; quotas say that they matter."""
    seen: Counter[str] = Counter()
    for seed in range(300):
        scenario, hardware = generate.random_standing(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        for best in brute_force.ranked(scenario, hardware, 1):
            for figure in generate.MOVING:
                seen[figure] += figure in scenario.rank and getattr(best, figure) > 0
                seen[f"no {figure}"] += figure in scenario.rank and getattr(best, figure) == 0
    assert seen["found"] >= 150, seen
    least = dict.fromkeys(generate.MOVING, 20) | {"renumbered": 8}
    assert all(seen[figure] >= least[figure] and seen[f"no {figure}"] >= 10 for figure in generate.MOVING), seen


@some_or_all("seeds", range(150), range(2000))
def test_what_is_fixed_stays_in_the_same_builds(seeds: range) -> None:
    """Whole frames and slots, ranked by what is moved or not; quotas say that it matters."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_standing(seed)
        draw = random.Random(seed)
        slots = [f"{frame.name}:{slot}" for frame in scenario.frame for slot in range(1, 4)]
        whole = [frame.name for frame in scenario.frame]
        free = brute_force.ranked(scenario, hardware, 1)
        fixed = tuple(draw.sample(slots, draw.randint(1, 2)) if draw.random() < 0.7 else draw.sample(whole, 1))
        rank = scenario.rank if draw.random() < 0.5 else ("cost", "unused")
        held = scenario.model_copy(update={"fixed": fixed, "rank": rank, "slack": {}})
        outcome = _compare(survey_room(held, hardware), held, hardware)
        seen[outcome] += 1
        seen["in the way"] += bool(free) and outcome == "impossible"
    assert seen["found"] >= len(seeds) // 5, seen
    assert seen["in the way"] >= len(seeds) // 15, seen


@some_or_all("seeds", range(20), range(3000))
def test_what_is_out_of_service_serves_nothing_in_the_same_builds(seeds: range) -> None:
    """Cards, channels, numbers and stock, read anew from their names; quotas say that it matters."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_out_of_service(seed)
        whole = scenario.model_copy(update={"out_of_service": ()})
        outcome = _compare(survey_room(scenario, hardware), scenario, hardware)
        seen[outcome] += 1
        before = brute_force.ranked(whole, hardware, 1)
        after = brute_force.ranked(scenario, hardware, 1)
        seen["in the way"] += bool(before) and not after
        seen["otherwise"] += bool(before and after) and before[0].used() != after[0].used()
    assert seen["found"] >= len(seeds) // 3, seen
    assert min(seen["in the way"], seen["otherwise"]) >= len(seeds) // 15, seen


def _asked(seed: int) -> tuple[Scenario, Hardware]:
    """What stands with some needs nice to have, ranked by what gets another number among a few more, with slack."""
    scenario, hardware = generate.random_standing(seed)
    draw = random.Random(seed)
    others = draw.sample(["cost", "unused", "holes", "cards_moved", "cooling"], draw.randint(0, 3))
    rank = draw.sample([*others, "renumbered"], len(others) + 1)
    needs = [need.model_copy(update={"importance": "nice"}) if draw.random() < 0.4 else need for need in scenario.need]
    slack = {draw.choice(rank): 1} if draw.random() < 0.4 else {}
    return scenario.model_copy(update={"rank": tuple(rank), "slack": slack, "need": tuple(needs)}), hardware


@some_or_all("seeds", range(150), range(3000))
def test_as_few_channels_get_another_number_as_trying_every_way_to_serve_leaves(seeds: range) -> None:
    """Every way to give the lines of every build to needs, and what each had before, counted by hand."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = _asked(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        for best in brute_force.ranked(scenario, hardware, 1):
            seen["short"] += best.short > 0
            seen["renumbered" if best.renumbered else "all kept"] += 1
    assert seen["found"] >= len(seeds) // 2, seen
    assert seen["renumbered"] >= len(seeds) // 15, seen
    assert seen["short"] >= len(seeds) // 15, seen


@pytest.mark.parametrize(
    "draw", [generate.random_numbered, generate.random_returning, generate.random_on_cards, generate.random_nice]
)
def test_what_a_plan_gave_is_kept_whatever_needs_ask_for(draw: Callable[[int], tuple[Scenario, Hardware]]) -> None:
    """From its own answer no channel gets another number, named or not; and with fewer channels it is still audited."""
    seen: Counter[str] = Counter()
    for seed in range(30):
        scenario, hardware = draw(seed)
        stands = [one.build for one in rank(survey_room(scenario, hardware), 1).builds if not one.figures.short]
        if not stands:
            continue
        named = [
            need.model_copy(update={"channel_names": tuple(f"{need.name} {n}" for n in range(need.channels))})
            if (seed + place) % 2
            else need
            for place, need in enumerate(scenario.need)
        ]
        again = scenario.model_copy(update={"installed": stands[0], "rank": ("renumbered", "cost"), "slack": {}})
        again = again.model_copy(update={"need": tuple(named)})
        (best,) = rank(survey_room(again, hardware), 1).builds
        assert (best.figures.renumbered, best.proven) == (0, True), seed
        fewer = [
            need if need.numbers else need.model_copy(update={"channels": max(1, need.channels - 1)}) for need in named
        ]
        changed = again.model_copy(update={"need": tuple(fewer), "rank": ("cost", "renumbered")})
        found = rank(survey_room(changed, hardware), 2)
        seen[found.outcome] += 1
        seen["renumbered"] += any(build.figures.renumbered for build in found.builds)
    assert seen["found"] >= 8, seen


def test_the_front_from_what_stands_is_the_one_that_trying_all_gives() -> None:
    several = 0
    for seed in range(120):
        scenario, hardware = generate.random_standing(seed)
        scenario = scenario.model_copy(update={"slack": {}})
        survey = survey_room(scenario, hardware)
        found = front(survey)
        keys = [tuple(criteria.value(survey, point.figures, c) for c in survey.rank) for point in found.points]
        expected = sorted(
            tuple(survey.top_level - v if c == "cooling" else v for v, c in zip(point, survey.rank, strict=True))
            for point in brute_force.front(scenario, hardware, survey.rank)
        )
        assert (found.complete, keys) == (True, expected), seed
        several += any(one[0] != other[0] for one, other in pairwise(keys))
    assert several >= 10, several
