"""Needs, air and heat that may come to be more against the best of every build at values all along."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal

import brute_force
import generate
from amounts import some_or_all

from solver.room.graded import Grade, grades
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario
from solver.search.ask.grading import Grading
from solver.search.solve.clock import Clock


def _at(scenario: Scenario, hardware: Hardware, grade: Grade, value: int) -> tuple[Scenario, Hardware]:
    """The scenario with one figure changed as a file would have it."""
    document = scenario.model_dump(by_alias=True, exclude={"tolerance"})
    if grade.of == "need":
        next(need for need in document["need"] if need["name"] == grade.name)["channels"] = value
    elif grade.of == "inlet":
        document["air"]["inlet_c"] = Decimal(value).scaleb(-3)
    parts = hardware.model_dump(by_alias=True)
    for part in (*parts["card"], *parts["board"]) if grade.of == "heat" else ():
        if part["heat_w"] is not None:
            part["heat_w"] = part["heat_w"] * value / Decimal(100)
    return Scenario.model_validate(document), Hardware.model_validate(parts)


def _compare(seed: int, seen: Counter[str]) -> None:
    scenario, hardware = generate.random_graded(seed)
    scenario = scenario.model_copy(update={"budget": None})
    grading = Grading(scenario, hardware, 1, Clock())
    for grade in grades(scenario):
        along = grading.along(grade)
        assert along.proven
        spans = [n for held in along.held for n in (held.low, held.high)]
        assert (spans[0], spans[-1]) == (grade.low, grade.high), seed
        assert all(after == before + 1 for before, after in zip(spans[1:-1:2], spans[2::2], strict=True)), seed
        middles = {(held.low + held.high) // 2 for held in along.held}
        for value in sorted({*spans, *middles}):
            held = next(one for one in along.held if one.low <= value <= one.high)
            every = brute_force.every(*_at(scenario, hardware, grade, value))
            assert (held.build is None) == (not every), (seed, grade, value)
            if held.build is None:
                continue
            assert held.build.figures.cost == min(candidate.cost for candidate in every), (seed, grade, value)
            stands = {f.name: (f.board, f.straps, f.cards) for f in held.build.build.frame}
            assert any(
                {n: (b, s, {str(k): c for k, c in cards.items()}) for n, (b, s, cards) in each.used().items()} == stands
                for each in every
            ), (seed, grade, value)
        seen[f"{grade.of} turns"] += len({one.build.figures.cost for one in along.held if one.build is not None}) > 1
        seen[f"{grade.of} ends"] += along.held[-1].build is None and along.held[0].build is not None


@some_or_all("seeds", 30, 1500)
def test_what_becomes_more_is_what_trying_every_build_says(seeds: int) -> None:
    """The least cost and a build that has it, at every end of every step and in its middle."""
    seen = Counter[str]()
    for seed in range(seeds):
        _compare(seed, seen)
    assert seen["need turns"] >= seeds // 10, seen
    assert seen["need ends"] >= seeds // 10, seen
    assert sum(seen[f"{sort} {what}"] for sort in ("inlet", "heat") for what in ("turns", "ends")) >= seeds // 15, seen
