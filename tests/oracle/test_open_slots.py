"""Plans of frames without blanks against every build, and what is counted against what each build leaves open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import brute_force
import generate
from amounts import some_or_all
from test_against_brute_force import _compare

from solver.fitted.cooled import own_margin_mk
from solver.fitted.frame import FrameStanding
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.ranking import rank


def _with_blanks(scenario: Scenario) -> Scenario:
    return scenario.model_copy(
        update={"frame": tuple(frame.model_copy(update={"blanks": True}) for frame in scenario.frame)}
    )


@some_or_all("seeds", range(300), range(3000))
def test_plans_have_the_same_best_builds_and_open_slots_matter(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_open(seed)
        survey = survey_room(scenario, hardware)
        seen[_compare(survey, scenario, hardware)] += 1
        for build in rank(survey, 1).builds:
            _no_cooler_than_counted(build.standing.frames, seen)
        before, after = (brute_force.best(own, hardware) for own in (_with_blanks(scenario), scenario))
        seen["made impossible"] += before is not None and after is None
        seen["judged otherwise"] += before is not None and after is not None and before.margin != after.margin
    assert seen["found"] >= len(seeds) // 4, seen
    assert seen["made impossible"] >= len(seeds) // 100, seen
    assert seen["judged otherwise"] >= len(seeds) // 10, seen
    assert seen["cooler as it stands"] >= len(seeds) // 20, seen


def _no_cooler_than_counted(frames: Sequence[FrameStanding], seen: Counter[str]) -> None:
    """As it stands no frame is warmer than it is counted, and with one slot taken just as warm."""
    for frame in frames:
        own = own_margin_mk(frame)
        if own is not None:
            counted = min(margin for _, margin in frame.gap_margins())
            taken = sum(seat.kind.span for seat in frame.seats)
            assert own == counted if taken == 1 else own >= counted
            seen["cooler as it stands"] += own > counted
