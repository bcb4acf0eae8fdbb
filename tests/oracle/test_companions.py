"""Cards that need and exclude others: plans, ways out and campuses against trying everything."""

from __future__ import annotations

from collections import Counter

import brute_force
import clashing
import generate
import test_ways_out
import ways_out
from amounts import some_or_all
from campus_against import same_plan
from test_against_brute_force import _compare

from solver.room.hardware import Hardware
from solver.room.survey import survey_room


def _without_company(hardware: Hardware) -> Hardware:
    plain = [card.model_copy(update={"needs": (), "excludes": ()}) for card in hardware.card]
    return hardware.model_copy(update={"card": tuple(plain)})


@some_or_all("seeds", range(120), range(2000))
def test_plans_have_the_same_best_builds_and_company_matters(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_companioned(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario, _without_company(hardware))
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        if before is not None and after is not None:
            seen["moved"] += before.seats != after.seats
        if after is not None:
            seen["fed"] += any(card == "card-f" for own in after.seats for _, card in own)
    assert seen["found"] >= len(seeds) // 4, seen
    assert min(seen["made impossible"], seen["moved"], seen["fed"]) >= len(seeds) // 20, seen


@some_or_all("most", 20, 400)
def test_every_way_out_is_found_where_company_is_asked_for(most: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(100 * most):
        scenario, plain = clashing.pair(seed)
        drawn = plain.model_dump(exclude_unset=True)
        document = scenario.model_dump(exclude_unset=True)
        company = {"stock": dict(document.get("stock", {})), "offer": list(document.get("offer", ()))}
        drawn["card"] = [dict(card) for card in drawn["card"]]
        if len(drawn["card"]) < 2:
            continue
        generate.add_companions(generate.Seeded(seed), company, drawn)
        scenario = type(scenario).model_validate({**document, **company})
        hardware = Hardware.model_validate(drawn)
        if len(ways_out.Bench(scenario, hardware).wishes) > clashing.MOST_WISHES:
            continue
        expected = ways_out.ways_out(scenario, hardware)
        if frozenset() in expected:
            continue
        assert test_ways_out.found(scenario, hardware) == expected, seed
        seen["scenarios"] += 1
        seen["that company alone makes impossible"] += frozenset() in ways_out.ways_out(
            scenario, _without_company(hardware)
        )
        if seen["scenarios"] == most:
            break
    assert seen["scenarios"] == most
    assert seen["that company alone makes impossible"] >= most // 20, seen


@some_or_all("seeds", range(30), range(400))
def test_campuses_have_the_same_best_plan(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.companioned_campus(seed)
        plans = same_plan(seed, scenario, hardware, seen)
        if plans is None:
            continue
        _, expected, _ = plans
        seen["fed"] += any(card == "card-f" for room in expected.rooms for own in room.seats for _, card in own)
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 10, seen
    assert seen["fed"] >= len(seeds) // 30, seen
