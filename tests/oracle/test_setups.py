"""Several kinds of day on one seating against every seating with every setting on each day."""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import Any

import brute_force
import generate
from amounts import some_or_all

from solver.room.hardware import Hardware
from solver.room.scenario import Scenario
from solver.room.setups import setups_of
from solver.search.ask.ranking import rank
from solver.search.days.planning import DaysPlan, plan_days
from solver.search.solve.clock import Clock


def _days(scenario: Scenario, hardware: Hardware) -> list[list[brute_force.Candidate]]:
    """The builds of each kind of day by itself."""
    found = []
    for setup in scenario.setup:
        document = scenario.model_dump(by_alias=True, exclude={"setup"})
        document["need"] = [need for need in document["need"] if need["name"] in setup.needs]
        document["sample_rate"] = setup.sample_rate or scenario.sample_rate
        found.append(brute_force.every(Scenario.model_validate(document), hardware))
    return found


def _seating(candidate: brute_force.Candidate) -> Any:
    return tuple(None if w is None else w.board for w in candidate.layouts), candidate.seats


def _straps(candidate: brute_force.Candidate) -> Any:
    return tuple(None if w is None else tuple(sorted(dict(w.straps).items())) for w in candidate.layouts)


def _value(scenario: Scenario, days: tuple[brute_force.Candidate, ...]) -> tuple[int, ...]:
    """The criteria over all days, lower is better."""
    value = []
    for criterion in scenario.rank:
        each = [day.bad(criterion) for day in days]
        if criterion in ("cost", "cooling"):
            value.append(each[0])
        elif scenario.over_setups == "worst":
            value.append(max(each))
        else:
            value.append(sum(setup.share * own for setup, own in zip(scenario.setup, each, strict=True)))
    return tuple(value)


def _best(scenario: Scenario, hardware: Hardware, places: list[int]) -> tuple[int, ...] | None:
    """The best value that kinds of day at some places can have together."""
    own = scenario.model_copy(update={"setup": tuple(scenario.setup[n] for n in places)})
    by_seating: list[dict[Any, list[brute_force.Candidate]]] = []
    for candidates in _days(own, hardware):
        grouped: dict[Any, list[brute_force.Candidate]] = {}
        for candidate in candidates:
            grouped.setdefault(_seating(candidate), []).append(candidate)
        by_seating.append(grouped)
    common = set(by_seating[0]).intersection(*by_seating[1:])
    values = [
        _value(own, days)
        for seating in common
        for days in product(*(grouped[seating] for grouped in by_seating))
        if own.straps != "same" or len({_straps(day) for day in days}) == 1
    ]
    return min(values, default=None)


def _compare(seed: int, seen: Counter[str]) -> None:
    scenario, hardware = generate.random_setups(seed)
    setups = setups_of(scenario, hardware)
    found = plan_days(setups, Clock())
    expected = _best(scenario, hardware, list(range(len(scenario.setup))))
    assert found.outcome == ("impossible" if expected is None else "found"), seed
    seen[found.outcome] += 1
    if expected is None:
        _compare_clash(seed, scenario, hardware, found, seen)
        return
    assert found.best is not None
    assert all(found.best.proven.values()), seed
    survey = setups.first
    levels = [survey.top_level if c == "cooling" else 0 for c in scenario.rank]
    ours = [found.best.values[c] - top for c, top in zip(scenario.rank, levels, strict=True)]
    assert tuple(ours) == expected, seed
    first, *others = [{f.site.name: f.built for f in standing.frames} for standing in found.best.standings]
    for other in others:
        assert {n: (f.board, f.cards) for n, f in first.items()} == {n: (f.board, f.cards) for n, f in other.items()}
        changed = {n: f.straps for n, f in first.items()} != {n: f.straps for n, f in other.items()}
        assert not (changed and scenario.straps == "same"), seed
        seen["other straps"] += changed
    seen["other rates"] += len({day.survey.family for day in setups.days}) > 1
    alone = rank(setups.days[0].survey, 1).builds[0].figures
    seen["dearer together"] += alone.cost < found.best.figures[0].cost


def _compare_clash(seed: int, scenario: Scenario, hardware: Hardware, found: DaysPlan, seen: Counter[str]) -> None:
    clash = list(found.clash)
    assert clash, seed
    assert _best(scenario, hardware, clash) is None, seed
    for place in clash if len(clash) > 1 else ():
        assert _best(scenario, hardware, [n for n in clash if n != place]) is not None, seed
    seen["clash together"] += len(clash) > 1


@some_or_all("seeds", 60, 2000)
def test_one_seating_for_several_days_is_the_best_of_all(seeds: int) -> None:
    """Values over all days, seatings that are one, and a smallest set of days where there is none."""
    seen = Counter[str]()
    for seed in range(seeds):
        _compare(seed, seen)
    assert seen["found"] >= seeds // 3, seen
    for what in ("other straps", "other rates", "dearer together", "clash together"):
        assert seen[what] >= seeds // 60, (what, seen)
