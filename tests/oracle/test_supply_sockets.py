"""Cards with supply cables and the sockets for them: plans, ways out and campuses against trying everything."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import astuple

import brute_force
import clashing
import generate
import test_ways_out
import ways_out
from amounts import some_or_all
from campus_against import same_plan
from test_against_brute_force import _compare

from solver.reports.wording import in_words
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.clash import clash


def _with_sockets(hardware: Hardware, told: Collection[str] = ()) -> Hardware:
    """The hardware without sockets that can run out, but for those that some sentences speak of."""
    every = []
    for chassis in hardware.chassis:
        sorts = sorted({sort for card in hardware.card for sort in card.supply_cables})
        kept = {sort: (chassis.supply_sockets or {}).get(sort, 0) for sort in sorts}
        named = {sort for sort in sorts for said in told if said.startswith(f"{chassis.id} ") and f'"{sort}"' in said}
        sockets = {sort: kept[sort] if sort in named else 99 for sort in sorts}
        every.append(chassis.model_copy(update={"supply_sockets": sockets if chassis.supply_sockets else None}))
    return hardware.model_copy(update={"chassis": tuple(every)})


@some_or_all("seeds", range(40), range(2000))
def test_plans_have_the_same_best_builds_and_sockets_matter(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_cabled(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario, _with_sockets(hardware))
        after = brute_force.best(scenario, hardware)
        seen["made impossible"] += before is not None and after is None
        seen["seated otherwise"] += before is not None and after is not None and before.seats != after.seats
    assert seen["found"] >= len(seeds) // 4, seen
    assert seen["made impossible"] >= len(seeds) // 20, seen
    assert seen["seated otherwise"] >= len(seeds) // 40, seen


@some_or_all("most", 6, 400)
def test_ways_out_and_the_sockets_that_clash_are_found(most: int) -> None:
    """Each way out that there is, and of sockets just those without which less would clash."""
    seen: Counter[str] = Counter()
    for seed in range(100 * most):
        scenario, plain = clashing.pair(seed)
        drawn = plain.model_dump(exclude_unset=True)
        drawn["card"], drawn["chassis"] = [[dict(item) for item in drawn[kind]] for kind in ("card", "chassis")]
        document = scenario.model_dump(exclude_unset=True)
        document["offer"] = list(document.get("offer", ()))
        generate.add_supply_cables(generate.Seeded(seed), document, drawn)
        scenario, hardware = Scenario.model_validate(document), Hardware.model_validate(drawn)
        if len(ways_out.Bench(scenario, hardware).wishes) > clashing.MOST_WISHES:
            continue
        expected = ways_out.ways_out(scenario, hardware)
        if frozenset() in expected:
            continue
        assert test_ways_out.found(scenario, hardware) == expected, seed
        found = clash(survey_room(scenario, hardware), extent=test_ways_out.EVERYTHING)
        kept = {(wish.sort, *astuple(wish)) for wish in found.because}
        told = [in_words(survey_room(scenario, hardware), own.said) for own in found.hardware]
        for asked in (told, *(set(told) - {said} for said in told)):
            ways = ways_out.ways_out(scenario, _with_sockets(hardware, asked))
            assert all(kept & {wish for wish, _ in way} for way in ways) == (asked is told), (seed, asked)
        seen["scenarios"] += 1
        seen["with sockets"] += bool(told)
        if seen["scenarios"] == most:
            break
    assert seen["scenarios"] == most
    assert seen["with sockets"] >= most // 10, seen


@some_or_all("seeds", range(20), range(400))
def test_campuses_have_the_same_best_plan(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        same_plan(seed, *generate.cabled_campus(seed), seen)
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 10, seen
