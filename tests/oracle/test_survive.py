"""Plans that survive any one card against every build, with a reading of survival of the test's own."""

from __future__ import annotations

from collections import Counter
from dataclasses import astuple

import brute_force
import generate
from amounts import some_or_all
from test_against_brute_force import _compare
from test_ways_out import EVERYTHING

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.clash import clash


@some_or_all("seeds", 80, 3000)
def test_plans_that_survive_are_the_best_of_all_that_do(seeds: int) -> None:
    """The same builds, ties too; to survive is never cheaper, and quotas say that it matters."""
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        scenario, hardware = generate.random_surviving(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario.model_copy(update={"survive": None}), hardware)
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        assert before is not None or after is None, seed
        if before is not None and after is not None:
            first = scenario.rank[0]
            assert scenario.slack or after.bad(first) >= before.bad(first), seed
            seen["worse in the first criterion"] += after.bad(first) > before.bad(first)
            seen["seated otherwise"] += before.seats != after.seats
    assert seen["found"] >= seeds // 3, seen
    for what in ("made impossible", "worse in the first criterion", "seated otherwise"):
        assert seen[what] >= seeds // 20, (what, seen)


@some_or_all("seeds", 60, 2000)
def test_needs_of_which_enough_stays_have_no_more_on_a_card_than_they_may_lose(seeds: int) -> None:
    """Against every build with so few channels of theirs on each card."""
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        scenario, hardware = generate.random_surviving(seed, "nothing")
        needs = [n.model_copy(update={"max_per_card": n.spare if n.critical else None}) for n in scenario.need]
        spread = scenario.model_copy(update={"need": tuple(needs), "survive": None})
        seen[_compare(survey_room(scenario, hardware), spread, hardware)] += 1
        before = brute_force.best(scenario.model_copy(update={"survive": None}), hardware)
        after = brute_force.best(spread, hardware)
        seen["made impossible"] += before is not None and after is None
        seen["seated otherwise"] += before is not None and after is not None and before.seats != after.seats
    assert seen["found"] >= seeds // 4, seen
    assert min(seen["made impossible"], seen["seated otherwise"]) >= seeds // 20, seen


@some_or_all("seeds", 60, 1000)
def test_frames_that_survive_a_supply_are_the_best_of_all_that_do(seeds: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        scenario, hardware = generate.random_supplied(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario.model_copy(update={"survive": None}), hardware)
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        seen["seated otherwise"] += before is not None and after is not None and before.seats != after.seats
    assert seen["found"] >= seeds // 4, seen
    assert seen["made impossible"] >= seeds // 10, seen
    assert seen["seated otherwise"] >= seeds // 30, seen


def _possible(scenario: Scenario, hardware: Hardware, need: int, drop: int = 0) -> bool:
    """Whether anything can be built where a need has so many channels less, or is critical no more if that is none."""
    document = scenario.model_dump(by_alias=True, exclude_unset=True)
    own = {**document["need"][need]}
    spare = own.get("spare", 0)
    own |= {"spare": max(0, spare - drop), "channels": own["channels"] - max(0, drop - spare)}
    own["critical"] = bool(drop) and own.get("critical", False)
    left = [own] if own["channels"] + own["spare"] else []
    document["need"] = [*document["need"][:need], *left, *document["need"][need + 1 :]]
    return brute_force.best(Scenario.model_validate(document), hardware) is not None


@some_or_all("seeds", 40, 1500)
def test_each_need_that_is_a_way_out_alone_is_found_with_the_least_that_helps(seeds: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        scenario, hardware = generate.random_surviving(seed)
        if brute_force.best(scenario, hardware) is not None:
            continue
        found = clash(survey_room(scenario, hardware), extent=EVERYTHING)
        alone = {
            (way.changes[0].wish.sort, *astuple(way.changes[0].wish)): way
            for way in found.ways
            if len(way.changes) == 1
        }
        for index, need in enumerate(scenario.need):
            if need.critical:
                helps = _possible(scenario, hardware, index)
                assert (("critical", index) in alone) == helps, (seed, index)
                seen["let it be lost"] += helps
            if need.importance == "must":
                drops = range(1, need.demand + 1)
                least = next((n for n in drops if _possible(scenario, hardware, index, n)), None)
                way = alone.get(("need", index))
                assert (None if way is None else way.changes[0].amount) == least, (seed, index)
                seen["give up channels"] += least is not None
    assert min(seen["let it be lost"], seen["give up channels"]) >= seeds // 8, seen
