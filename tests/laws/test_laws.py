"""Laws that hold for any scenario: more means never worse, and the order of things in the files means nothing."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import generate
import pytest

from solver.fitted.standing import Standing
from solver.judge import criteria
from solver.judge.criteria import Figures
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Offer, Scenario
from solver.room.survey import Survey
from solver.search.ask.ranking import Ranking, SearchError, rank

SEEDS = range(400, 520)


def _ranking(scenario: Scenario, hardware: Hardware, top: int = 1, workers: int = 1) -> tuple[Survey, Ranking]:
    survey = survey_room(scenario, hardware)
    return survey, rank(survey, top=top, workers=workers)


def _best(scenario: Scenario, hardware: Hardware) -> tuple[float, ...]:
    """The best build's criteria, lower is better; worse than anything when there is none."""
    survey, ranking = _ranking(scenario, hardware)
    if not ranking.builds:
        return (float("inf"),)
    return tuple(criteria.value(survey, ranking.builds[0].figures, c) for c in survey.rank)


def _with(scenario: Scenario, **changes: object) -> Scenario:
    return scenario.model_copy(update=changes)


def _more_budget(scenario: Scenario, hardware: Hardware) -> Scenario:
    return _with(scenario, budget=None if scenario.budget is None else scenario.budget * 3 + 100)


def _more_stock(scenario: Scenario, hardware: Hardware) -> Scenario:
    return _with(scenario, stock={item: count + 1 for item, count in scenario.stock.items()})


def _more_offers(scenario: Scenario, hardware: Hardware) -> Scenario:
    extra = tuple(Offer(card=card.id, price=Decimal(1)) for card in hardware.card)
    return _with(scenario, offer=scenario.offer + extra)


@pytest.mark.parametrize("more", [_more_budget, _more_stock, _more_offers])
def test_more_never_makes_the_best_build_worse(more: Callable[..., Any]) -> None:
    compared = changed = 0
    for seed in SEEDS:
        scenario, hardware = generate.random_pair(seed)
        scenario = _with(scenario, slack={})
        before, after = _best(scenario, hardware), _best(more(scenario, hardware), hardware)
        assert after <= before, seed
        compared += before != (float("inf"),)
        changed += after != before
    assert compared >= 20
    assert changed >= 1


def _shuffled(noun: object, order: random.Random, *fields: str) -> dict[str, object]:
    return {name: tuple(order.sample(getattr(noun, name), len(getattr(noun, name)))) for name in fields}


def test_the_order_in_the_files_changes_nothing() -> None:
    found = 0
    for seed in SEEDS:
        order = random.Random(seed)
        scenario, hardware = generate.random_pair(seed)
        stock = dict(order.sample(sorted(scenario.stock.items()), len(scenario.stock)))
        other = _with(scenario, stock=stock, **_shuffled(scenario, order, "offer", "need", "frame", "must_seat"))
        mixed = hardware.model_copy(update=_shuffled(hardware, order, "card", "board", "chassis"))
        first, second = _ranking(scenario, hardware, 3)[1], _ranking(other, mixed, 3)[1]
        assert first.outcome == second.outcome
        # which of its equal lines serve a need is the one thing that the order of needs decides
        assert [_unserved(b.build) for b in first.builds] == [_unserved(b.build) for b in second.builds], seed
        same = _with(other, need=scenario.need)
        assert [b.build for b in first.builds] == [b.build for b in _ranking(same, mixed, 3)[1].builds], seed
        found += bool(first.builds)
    assert found >= 20


def _unserved(build: Build) -> Build:
    """A build that does not say what serves what, nor what is set for that."""
    frames = [frame.model_copy(update={"serves": None, "settings": ()}) for frame in build.frame]
    return build.model_copy(update={"frame": tuple(frames)})


@pytest.mark.parametrize("workers", [2, 8])
def test_workers_change_nothing(workers: int) -> None:
    for seed in list(SEEDS)[:40]:
        pair = generate.random_pair(seed)
        alone, many = _ranking(*pair, 3)[1], _ranking(*pair, 3, workers)[1]
        assert [b.build for b in alone.builds] == [b.build for b in many.builds], seed


def test_a_search_that_is_out_of_time_claims_nothing() -> None:
    scenario, hardware = next(
        pair for pair in map(generate.random_pair, SEEDS) if _ranking(*pair)[1].outcome == "found"
    )
    ranking = rank(survey_room(scenario, hardware), limit_s=0.0)
    assert ranking.outcome == "unknown"
    assert not ranking.builds
    assert not ranking.complete


@pytest.mark.parametrize("figure", ["cost", "idle", "level"])
def test_a_search_whose_figures_differ_from_the_audit_is_a_defect(monkeypatch: pytest.MonkeyPatch, figure: str) -> None:
    scenario, hardware = next(
        pair
        for pair in map(generate.random_pair, SEEDS)
        if {"cost", "unused", "cooling"} <= set(pair[0].rank) and _ranking(*pair)[1].outcome == "found"
    )
    honest = criteria.figures

    def wrong(survey: Survey, standing: Standing) -> Figures:
        found = honest(survey, standing)
        return dataclasses.replace(found, **{figure: getattr(found, figure) - 1})

    monkeypatch.setattr(criteria, "figures", wrong)
    with pytest.raises(SearchError):
        _ranking(scenario, hardware)
