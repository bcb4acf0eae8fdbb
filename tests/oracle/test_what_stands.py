"""Plans from what stands against a planner that tries everything and counts what is moved strap by strap."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import brute_force
import generate
from test_against_brute_force import _compare

from solver.judge import criteria
from solver.room.ready import survey_room
from solver.search.ask.front import front


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
    assert all(seen[figure] >= 20 and seen[f"no {figure}"] >= 10 for figure in generate.MOVING), seen


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
