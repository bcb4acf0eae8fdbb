"""Laws of what needs ask of numbers and lines: a wish less makes no build worse, and names of needs mean nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

import generate
import pytest
import test_alike
import test_set_cards
from amounts import some_or_all

from solver.judge import criteria
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.search.ask.ranking import RankedBuild, rank

Draw = Callable[[int], tuple[Scenario, Hardware]]

WISHES = ("numbers", "consecutive", "bank_of", "one_card", "pairs", "returns_on", "max_per_card", "apart_from")
GOES_WITH = {"consecutive": ("bank_of", "one_card")}
"""Keys that mean nothing without another one."""
DRAWS = [generate.random_numbered, generate.random_returning, generate.random_on_cards]


LINES = ("settings", "asynchronous", "same_latency", "returns_on")
"""Keys that ask something of the lines; phantom power is not among them, since needs that do not say forbid it."""


def _of_settings(seed: int) -> tuple[Scenario, Hardware]:
    scenario, hardware = test_set_cards._documents(seed)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _alike(seed: int) -> tuple[Scenario, Hardware]:
    scenario, hardware = test_alike._documents(seed)
    for port in (port for card in hardware["card"][seed % 2 :] for port in card["ports"]):
        port.pop("rate_conversion", None)  # so that few inputs convert
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _best(scenario: Scenario, hardware: Hardware) -> tuple[RankedBuild | None, tuple[float, ...]]:
    """The best build and its criteria, lower is better; worse than anything where there is none."""
    survey = survey_room(scenario, hardware)
    builds = rank(survey, top=1).builds
    if not builds:
        return None, (float("inf"),)
    figures = builds[0].figures
    short = sum(builds[0].standing.short().values()), len(builds[0].standing.short())
    return builds[0], (*short, *(criteria.value(survey, figures, c) for c in survey.rank))


def _served(build: Build, names: Mapping[str, str]) -> list[tuple[str, int, str, tuple[int, ...]]]:
    """What serves what, with needs by other names."""
    return sorted(
        (frame.name, service.slot, names.get(service.need, service.need), service.indices())
        for frame in build.frame
        for service in frame.serves or ()
    )


def _changed(scenario: Scenario, needs: list[dict[str, Any]]) -> Scenario:
    return Scenario.model_validate(
        {**scenario.model_dump(exclude_unset=True, by_alias=True), "need": needs, "slack": {}}
    )


def _needs(scenario: Scenario) -> list[dict[str, Any]]:
    return [need.model_dump(exclude_unset=True, by_alias=True) for need in scenario.need]


@pytest.mark.parametrize("draw", DRAWS)
@some_or_all("seeds", range(20000, 20050), range(20000, 20400))
def test_a_wish_less_is_never_worse(draw: Draw, seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = draw(seed)
        needs = _needs(scenario)
        _, asked = _best(_changed(scenario, needs), hardware)
        for place, need in enumerate(needs):
            for key in (key for key in WISHES if key in need):
                gone = {key, *GOES_WITH.get(key, ())}
                left = {name: value for name, value in need.items() if name not in gone}
                _, found = _best(_changed(scenario, [*needs[:place], left, *needs[place + 1 :]]), hardware)
                assert found <= asked, (seed, need["name"], key)
                seen["better"] += found < asked
                seen["possible"] += found < asked == (float("inf"),)
    assert min(seen.values(), default=0) > len(seeds) // 10, seen


@pytest.mark.parametrize(("draw", "keys"), [(_of_settings, LINES[:1]), (_alike, LINES[1:])])
@some_or_all("seeds", range(22000, 22040), range(22000, 22400))
def test_a_wish_about_lines_less_is_never_worse(draw: Draw, keys: tuple[str, ...], seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = draw(seed)
        needs = _needs(scenario)
        _, asked = _best(_changed(scenario, needs), hardware)
        for place, need in enumerate(needs):
            for key in (key for key in keys if need.get(key)):
                left = {name: value for name, value in need.items() if name != key}
                _, found = _best(_changed(scenario, [*needs[:place], left, *needs[place + 1 :]]), hardware)
                assert found <= asked, (seed, need["name"], key)
                seen[key] += found < asked
                seen["possible"] += found < asked == (float("inf"),)
    assert all(seen[key] for key in (*keys, "possible")), seen


@pytest.mark.parametrize("draw", [*DRAWS, _of_settings, _alike])
@some_or_all("seeds", range(21000, 21030), range(21000, 21400))
def test_names_of_needs_mean_nothing(draw: Draw, seeds: range) -> None:
    found = 0
    for seed in seeds:
        scenario, hardware = draw(seed)
        needs = _needs(scenario)
        names = {need["name"]: f"x{len(needs) - n}" for n, need in enumerate(needs)}
        other = [
            {**need, "name": names[need["name"]]}
            | ({"returns_on": names[need["returns_on"]]} if "returns_on" in need else {})
            | ({"apart_from": [names[name] for name in need["apart_from"]]} if "apart_from" in need else {})
            for need in needs
        ]
        before, figures = _best(_changed(scenario, needs), hardware)
        after, others = _best(_changed(scenario, other), hardware)
        assert figures == others, seed
        if before is not None and after is not None:
            cards = [[(f.name, f.straps, f.cards, f.settings) for f in each.build.frame] for each in (before, after)]
            assert cards[0] == cards[1], seed
            serves = [_served(each.build, own) for each, own in ((before, names), (after, {}))]
            assert serves[0] == serves[1], seed
            found += 1
    assert found > len(seeds) // 4
