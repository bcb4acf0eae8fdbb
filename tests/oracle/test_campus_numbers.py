"""Rooms whose needs ask for certain numbers and share stock, offers and budget, against trying everything.

One room of `generate` stands twice; in every second campus every second need of the other room asks for no numbers, so
that rooms are alike but for that.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

import generate
import pytest
from amounts import some_or_all
from campus_against import same_plan

from solver.judge.campus import survey_campus
from solver.room.hardware import Hardware
from solver.room.scenario import Need, Scenario
from solver.search.campus.group import nature
from solver.search.campus.planning import plan_campus

Draw = Callable[[int], tuple[Scenario, Hardware]]
DRAWS = [generate.random_numbered, generate.random_returning, generate.random_on_cards]


def _open(need: Need) -> Need:
    """A need that asks for no numbers; what it comes back on stays."""
    return need.model_copy(update={"numbers": None, "pairs": False, "consecutive": False, "max_per_card": None})


def _campus(scenario: Scenario, rooms: list[tuple[Need, ...]]) -> Scenario:
    (room,) = scenario.rooms()
    names = ("one", "two")
    own = [room.model_copy(update={"name": n, "need": needs}) for n, needs in zip(names, rooms, strict=True)]
    budget = None if scenario.budget is None else 2 * scenario.budget
    stock = {item: 2 * count for item, count in scenario.stock.items()}
    top: dict[str, Any] = dict.fromkeys(("frame", "need", "must_seat", "clock_line"), ())
    return scenario.model_copy(update={**top, "room": tuple(own), "budget": budget, "stock": stock})


@pytest.mark.parametrize("draw", DRAWS)
@some_or_all("seeds", range(20), range(400))
def test_plans_are_those_of_trying_everything(draw: Draw, seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = draw(seed)
        needs = scenario.need
        opened = tuple(need if place % 2 else _open(need) for place, need in enumerate(needs))
        campus = _campus(scenario, [needs, opened if seed % 2 else needs])
        plans = same_plan(seed, campus, hardware, seen)
        if plans is not None:
            plain = tuple(need.model_copy(update={"returns_on": None, "apart_from": ()}) for need in map(_open, needs))
            free = plan_campus(survey_campus(_campus(scenario, [plain, plain]), hardware))
            seen["matters"] += free.best is not None and free.best.figures != plans[2].figures
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 5, seen
    assert seen["matters"], seen


def test_rooms_are_not_alike_that_ask_otherwise() -> None:
    scenario, hardware = generate.random_numbered(1)
    opened = tuple(map(_open, scenario.need))
    one, other = survey_campus(_campus(scenario, [scenario.need, opened]), hardware).rooms
    assert nature(one) != nature(other)
    one, other = survey_campus(_campus(scenario, [opened, opened]), hardware).rooms
    assert nature(one) == nature(other)
