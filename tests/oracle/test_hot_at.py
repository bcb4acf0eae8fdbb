"""Plans of cards that say where along them their heat is, against every build."""

from __future__ import annotations

from collections import Counter

import brute_force
import generate
from amounts import some_or_all
from test_against_brute_force import _compare

from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank


def _even(hardware: Hardware) -> Hardware:
    cards = tuple(card.model_copy(update={"hot_at": None}) for card in hardware.card)
    return hardware.model_copy(update={"card": cards})


@some_or_all("seeds", range(50), range(2000))
def test_plans_have_the_same_best_builds_and_places_of_heat_matter(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_hot_at(seed)
        seen[_compare(survey_room(scenario, hardware), scenario, hardware)] += 1
        before = brute_force.best(scenario, _even(hardware))
        after = brute_force.best(scenario, hardware)
        if after is not None:
            own = rank(survey_room(scenario, hardware), 1).builds[0].figures.margin_mk
            assert after.margin == (brute_force.UNCHECKED if own is None else own), seed
        seen["only one is possible"] += (before is None) != (after is None)
        seen["judged otherwise"] += before is not None and after is not None and before.margin != after.margin
    assert seen["found"] >= len(seeds) // 4, seen
    assert seen["only one is possible"] >= len(seeds) // 100, seen
    assert seen["judged otherwise"] >= len(seeds) // 10, seen
