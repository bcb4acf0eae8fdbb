"""Needs that ask for certain numbers: plans and readings of builds against trying every set of numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import combinations
from typing import Any

import brute_force
import generate
import numbered
import pytest
from amounts import some_or_all
from test_against_brute_force import _compare
from test_ways_out import EVERYTHING

from solver.files.numbercheck import check_numbers
from solver.fitted.standing import stand
from solver.judge import audit, criteria
from solver.relax.document import changed
from solver.relax.frame import OneMoreFrame
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Need, Scenario
from solver.rules.asked_numbers import OtherNumbers
from solver.rules.wanted import NumbersLeftOpen
from solver.search.ask.clash import clash

Draw = Callable[[int], tuple[Scenario, Hardware]]
DRAWS = [generate.random_numbered, generate.random_returning, generate.random_on_cards]

NUMBERS = {
    "asked-numbers",
    "consecutive",
    "banks",
    "one-card",
    "pairs",
    "returns-on",
    "one-frame",
    "per-card",
    "apart-from",
}


def _plain(scenario: Scenario) -> Scenario:
    """The same in which no need asks for certain numbers."""
    keys = ("numbers", "consecutive", "bank_of", "one_card", "pairs", "returns_on", "max_per_card", "apart_from")
    needs = [need.model_dump(exclude_unset=True, exclude=set(keys)) for need in scenario.need]
    return Scenario.model_validate({**scenario.model_dump(exclude_unset=True), "need": needs})


@pytest.mark.parametrize("draw", DRAWS)
@some_or_all("seeds", range(200), range(3000))
def test_plans_have_the_same_best_builds_and_wishes_matter(draw: Draw, seeds: Any) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = draw(seed)
        if not any(numbered.wishes(need) for need in scenario.need):
            continue
        seen["scenarios"] += 1
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before, after = brute_force.best(_plain(scenario), hardware), brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        if before is not None and after is not None:
            seen["moved"] += (before.seats, before.layouts) != (after.seats, after.layouts)
    assert seen["scenarios"] >= len(seeds) * 3 // 4, seen
    assert seen["found"] >= len(seeds) // 5, seen
    assert min(seen["made impossible"], 2 * seen["moved"]) >= len(seeds) // 20, seen


@some_or_all("seeds", range(30), range(3000))
def test_what_is_nice_to_have_keeps_its_numbers_or_gives_way(seeds: Any) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_nice_numbered(seed)
        nice = [need.name for need in scenario.need if need.importance == "nice" and numbered.wishes(need)]
        if not nice:
            continue
        survey = survey_room(scenario, hardware)
        seen[_compare(survey, scenario, hardware)] += 1
        best = brute_force.best(scenario, hardware)
        seen["short"] += best is not None and best.short > 0
        standing = None if best is None else stand(survey, best.build())
        if best is not None and standing is not None:
            assert not audit.faults(survey, standing), seed
            lacking = standing.short()
            assert (sum(lacking.values()), len(lacking)) == (best.short, best.short_needs), seed
            seen["of numbers"] += any(need.name in nice for need in lacking)
    assert min(seen["found"], 2 * seen["of numbers"]) > len(seeds) // 3, seen


def test_a_pair_with_one_place_comes_before_what_is_left_of_the_need() -> None:
    """Three lines in pairs on numbers 2-6, on cards of three: the one pair is 5 and 6, and no third number follows."""
    scenario, hardware = generate.random_numbered(902)
    moved = _moved(scenario, 1, -1)
    assert moved is not None
    assert brute_force.best(moved, hardware) is None
    assert clash(survey_room(moved, hardware)).because


MOST_BUILDS = 12
"""Of each scenario so many builds are read without what they serve."""


@pytest.mark.parametrize("draw", DRAWS)
@some_or_all("seeds", range(5000, 5100), range(5000, 6000))
def test_a_build_that_does_not_say_what_it_serves_is_read_at_its_best(draw: Draw, seeds: Any) -> None:
    """Every figure is that of the best way to serve, and a wish is broken only where no way keeps all of them."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = draw(seed)
        if not any(numbered.wishes(need) for need in scenario.need):
            continue
        survey = survey_room(scenario, hardware)
        kept = {repr(candidate.used()): candidate for candidate in brute_force.every(scenario, hardware)}
        plain = brute_force.every(_plain(scenario), hardware)
        for candidate in plain[:: max(1, len(plain) // MOST_BUILDS)]:
            build = candidate.build()
            standing = stand(survey, build)
            broken = {reading.limit.rule for reading in audit.faults(survey, standing)}
            best = kept.get(repr(candidate.used()))
            if best is None:
                assert broken
                seen["broken"] += bool(broken & NUMBERS)
                continue
            assert not broken, (seed, build)
            figures = criteria.figures(survey, standing)
            if {"unused", "holes"} & set(scenario.rank):
                assert (figures.holes, figures.misfit) == (best.holes, best.misfit), (seed, build)
            else:
                assert figures.misfit == best.misfit, (seed, build)
            seen["kept"] += 1
    assert min(seen["broken"], seen["kept"]) >= len(seeds) // 2, seen


KEYS = {
    "numbers": ("numbers",),
    "run": ("consecutive", "bank_of", "one_card"),
    "bank": ("bank_of",),
    "one_card": ("one_card",),
    "pairs": ("pairs",),
    "returns": ("returns_on",),
    "per_card": ("max_per_card",),
    "apart": ("apart_from",),
    "one_frame": ("may_split",),
}
"""By the sort of a wish the keys of a need that it takes out; that of one frame is put in."""


def _asks(scenario: Scenario, need: Need, sort: str) -> bool:
    """Whether there is a wish of that sort."""
    if sort != "one_frame":
        return KEYS[sort][0] in need.model_fields_set
    grouped = need.returns_on or (need.pairs and need.demand > 2)
    return len(scenario.frame) > 1 and bool(grouped) and not need.may_split


def _without(scenario: Scenario, keys: set[tuple[int, str]]) -> Scenario:
    """The same without some keys of needs, each told by its need's place."""
    document = scenario.model_dump(exclude_unset=True)
    document["need"] = [
        {key: value for key, value in need.items() if (place, key) not in keys}
        | ({"may_split": True} if (place, "may_split") in keys else {})
        for place, need in enumerate(document["need"])
    ]
    return Scenario.model_validate(document)


@pytest.mark.parametrize("draw", DRAWS)
@some_or_all("most", 25, 200)
def test_every_set_of_wishes_about_numbers_that_has_to_go_is_a_way_out(draw: Draw, most: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(100 * most):
        scenario, hardware = draw(seed)
        wishes = [
            (place, sort) for place, need in enumerate(scenario.need) for sort in KEYS if _asks(scenario, need, sort)
        ]
        if not wishes or brute_force.best(scenario, hardware) is not None:
            continue
        if brute_force.best(_plain(scenario), hardware) is None:
            continue
        able = [
            frozenset(own)
            for size in range(1, len(wishes) + 1)
            for own in combinations(wishes, size)
            if brute_force.best(_without(scenario, {(p, k) for p, sort in own for k in KEYS[sort]}), hardware)
        ]
        expected = {own for own in able if not any(other < own for other in able)}
        answer = clash(survey_room(scenario, hardware), extent=EVERYTHING)
        assert answer.searched
        assert answer.complete
        found = [[change.wish for change in way.changes] for way in answer.ways]
        of_numbers = {
            frozenset((wish.index, wish.sort) for wish in own if isinstance(wish, NumbersLeftOpen))
            for own in found
            if all(isinstance(wish, NumbersLeftOpen) for wish in own)
        }
        assert sorted(map(sorted, of_numbers)) == sorted(map(sorted, expected)), seed
        seen["scenarios"] += 1
        seen["together"] += any(len(own) > 1 for own in expected)
        for way in answer.ways[:3]:
            if draw is generate.random_on_cards and any(
                isinstance(change.wish, OneMoreFrame) for change in way.changes
            ):
                continue  # too many ways to spread channels over the cards of one frame more are there to try all
            changed_to = changed(survey_room(scenario, hardware), way.changes)
            faults = check_numbers("x.toml", (), changed_to.rooms()[0])
            assert not [fault for fault in faults if fault.severity == "fault"], (seed, way)
            assert brute_force.best(changed_to, hardware) is not None, (seed, way)
        if seen["scenarios"] == most:
            break
    assert seen["scenarios"] == most
    assert seen["together"] or draw is not generate.random_numbered, seen


def _moved(scenario: Scenario, index: int, by: int) -> Scenario | None:
    """The same, ranked by cost, with all numbers of a need moved by so many; None where no file may say it."""
    document = scenario.model_dump(exclude_unset=True)
    room = scenario.rooms()[0]
    _, numbers = numbered.asked_in(room.need[index], sorted(frame.name for frame in room.frame)) or ("", [])
    if min(numbers) + by < 1:
        return None
    frame = {"frame": document["need"][index]["numbers"].get("frame")} if len(room.frame) > 1 else {}
    document["need"][index]["numbers"] = {"list": ",".join(str(number + by) for number in numbers)} | frame
    document |= {"rank": ["cost"], "slack": {}}
    moved = Scenario.model_validate(document)
    faults = check_numbers("x.toml", (), moved.rooms()[0])
    return None if any(fault.severity == "fault" for fault in faults) else moved


FARTHEST = 24
"""Frames of the oracle have fewer numbers."""


def test_numbers_that_cost_no_more_are_named_with_what_is_nice_to_have_in_their_cost() -> None:
    scenario, hardware = generate.random_numbered(1316)
    ways = clash(survey_room(scenario, hardware)).ways
    named = [(w.changes[0].choice, w.cheapest.figures.cost) for w in ways if w.changes[0].wish == OtherNumbers(0)]
    assert named == [(-2, 12000), (-5, 9000)]
    for by, cost in named:
        moved = _moved(scenario, 0, int(by or 0))
        best = None if moved is None else brute_force.best(moved, hardware)
        assert best is not None
        assert best.cost == cost


def _nearest(scenario: Scenario, hardware: Hardware, index: int, least: int) -> dict[int, int]:
    """What moving the numbers of a need by so many costs, the nearest first, up to the first that costs the least."""
    costs: dict[int, int] = {}
    for by in sorted(range(-FARTHEST, FARTHEST + 1), key=lambda by: (abs(by), by)):
        moved = _moved(scenario, index, by)
        best = None if moved is None else brute_force.best(moved, hardware)
        if best is not None:
            costs[by] = best.cost
            if best.cost == least:
                break
    return costs


@pytest.mark.parametrize("draw", DRAWS)
@some_or_all("most", 4, 150)
def test_other_numbers_that_a_way_out_names_are_the_nearest_that_work(draw: Draw, most: int) -> None:
    """Alone in a way out; farther ones are named too where they cost less, and none where no move does."""
    seen: Counter[str] = Counter()
    for seed in range(100 * most):
        scenario, hardware = draw(seed)
        asking = [place for place, need in enumerate(scenario.need) if need.numbers is not None]
        if not asking or brute_force.best(scenario, hardware) is not None:
            continue
        survey = survey_room(scenario, hardware)
        ways = [way for way in clash(survey).ways if len(way.changes) == 1]
        for index in asking:
            own = [w for w in ways if w.changes[0].wish == OtherNumbers(index)]
            if not own:
                continue
            by_cost = scenario.model_copy(update={"rank": ("cost",), "slack": {}})
            anything = brute_force.best(_without(by_cost, {(index, "numbers")}), hardware)
            assert anything is not None
            costs = _nearest(scenario, hardware, index, anything.cost)
            named = {way.changes[0].choice: way.cheapest.figures.cost for way in own}
            if not costs:
                assert list(named) == [None], seed
                seen["none"] += 1
                continue
            nearest, *dearer = costs
            least = [by for by in costs if costs[by] == anything.cost]
            assert named == {by: costs[by] for by in (nearest, *least)}, (seed, costs)
            told = [way.changes[0].choice for way in own if way.changes[0].dearer_nearer]
            assert told == [by for by in least if by in dearer], seed
            for way in own:
                assert brute_force.best(changed(survey, way.changes), hardware) is not None, seed
            seen["named"] += 1
            seen["not beside"] += abs(nearest) > 1
            seen["a cheaper one"] += len(named) > 1
        if seen["named"] >= most:
            break
    assert seen["named"] >= most, seen
    assert seen["not beside"] >= most // 4, seen
