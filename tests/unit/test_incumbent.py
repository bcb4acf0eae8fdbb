"""The build that a large room has at once: audited, kept when the search is left, replaced by better ones alone."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import generate
import generated_rooms
import pytest

from solver.judge import criteria
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask import ranking
from solver.search.ask.front import front
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.incumbent import seatings_at_once, worth_while
from solver.search.solve.stages import Chosen, RankedBuild, Search, audited


def _key(survey: Survey, build: RankedBuild) -> tuple[int, ...]:
    return tuple(criteria.value(survey, build.figures, c) for c in survey.rank)


def _at_once(survey: Survey) -> list[RankedBuild]:
    """The builds at once; the audit of each raises an error where it breaks a limit."""
    stages = dict.fromkeys(survey.rank, False)
    return [audited(survey, Chosen(seating, stages=stages)) for seating in seatings_at_once(survey, Clock())]


def _room(frames: int, slots: int, settings: int = 4) -> Survey:
    return survey_room(*generated_rooms.generated(1, frames=frames, slots=slots, settings=settings))


def test_it_is_found_where_there_is_one_and_ranks_no_better_than_the_best() -> None:
    outcomes: Counter[str] = Counter()
    for seed in range(120):
        survey = survey_room(*generate.random_pair(seed))
        best = rank(survey, top=1)
        for build in _at_once(survey)[-1:]:
            assert best.outcome == "found"
            if (build.figures.short, build.figures.short_needs) == (survey.short.channels, survey.short.needs):
                assert _key(survey, best.builds[0]) <= _key(survey, build)
            outcomes["at once"] += 1
        if best.outcome == "found" and best.survey == survey:
            outcomes["found"] += 1
        else:
            outcomes["none"] += 1
    assert outcomes["none"] >= 15, outcomes
    assert outcomes["at once"] >= 0.9 * outcomes["found"] > 40, outcomes


@pytest.mark.parametrize(("frames", "slots"), [(2, 12), (4, 12), (1, 48)])
def test_it_is_kept_when_the_search_is_left(frames: int, slots: int, monkeypatch: pytest.MonkeyPatch) -> None:
    def leave(*_: object, **__: object) -> Search:
        raise Stopped

    survey = _room(frames, slots)
    assert worth_while(survey)
    monkeypatch.setattr(Search, "of", leave)
    found = rank(survey)
    assert (found.outcome, len(found.builds), found.complete) == ("found", 1, False)
    assert not found.builds[0].proven
    assert _key(survey, found.builds[0]) == min(_key(survey, build) for build in _at_once(survey))
    assert front(survey).points == found.builds


def test_frames_are_seated_one_by_one_where_all_slots_together_take_too_long() -> None:
    assert len(_at_once(_room(16, 12, 16))) >= 1


@pytest.mark.parametrize(("frames", "seed", "least"), [(2, 1, 5640), (3, 2, 3360), (8, 3, 18570), (16, 3, 41070)])
def test_frames_together_cost_little_more_at_once_than_they_must(frames: int, seed: int, least: int) -> None:
    survey = survey_room(*generated_rooms.generated(seed, frames=frames, slots=12, settings=16))
    found = _at_once(survey)
    assert [_key(survey, build) for build in found] == sorted((_key(survey, build) for build in found), reverse=True)
    assert 100 * least <= found[-1].figures.cost <= 110 * least  # the least is what the whole search proves


def test_small_rooms_are_searched_as_before() -> None:
    assert not worth_while(_room(1, 12, 16))


def test_it_gives_way_to_better_builds_alone() -> None:
    survey = _room(2, 12)
    worse, better = _at_once(survey)
    assert _key(survey, better) < _key(survey, worse)
    assert ranking._with_kept(survey, [better], [worse], {}, stopped=True) == [better]
    assert ranking._with_kept(survey, [], [worse], {}, stopped=True) == [worse]
    assert ranking._with_kept(survey, [], [worse], {}, stopped=False) == []
    told = ranking._with_kept(survey, [worse], [better], {}, stopped=True)
    assert told == [replace(better, bounds=worse.bounds)]
    proven = replace(worse, proven=True)
    assert ranking._with_kept(survey, [proven], [better], {}, stopped=True) == [proven]
    cost = better.figures.cost
    (said,) = ranking._with_kept(survey, [], [better], {"cost": cost, "unused": 1}, stopped=True)
    assert (said.stages, said.bounds) == ({"cost": True, "unused": False, "cooling": False}, {"unused": 1})
    (said,) = ranking._with_kept(survey, [], [better], {"cost": cost - 1, "unused": 1}, stopped=True)
    assert (said.stages["cost"], said.bounds) == (False, {"cost": cost - 1})
