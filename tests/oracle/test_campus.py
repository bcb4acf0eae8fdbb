"""Rooms that share stock, offers and budget: against trying everything, against plan, and what they share recounted."""

from __future__ import annotations

import dataclasses
import random
from collections import Counter

import campus_brute_force
import generate
import pytest
from amounts import some_or_all
from campus_against import same_plan

from solver.judge import criteria
from solver.judge.campus import Campus, CampusFigures, CampusStanding, faults, figures, stand_campus, survey_campus
from solver.room.build import Build, BuiltFrame
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Room, Scenario
from solver.rules.limit import Limit, Rule
from solver.search.ask.ranking import rank
from solver.search.campus import planning as search
from solver.search.campus.group import Group
from solver.search.campus.planning import CampusRanking, plan_campus
from solver.search.campus.purse import Relaxation
from solver.search.model.statement import RoomStatement
from solver.search.solve.clock import Clock, SearchError

SEEDS = range(240)
"""Campuses of the seeded generator that are compared."""


def _plan(pair: tuple[Scenario, Hardware], workers: int = 1) -> CampusRanking:
    return plan_campus(survey_campus(*pair), workers)


def _possible(seeds: range) -> list[tuple[Scenario, Hardware]]:
    pairs = [generate.random_campus(seed) for seed in seeds]
    return [pair for pair in pairs if campus_brute_force.plan(*pair) is not None]


def _recounted(scenario: Scenario, build: Build) -> Counter[str]:
    """Items over all rooms, counted from the build file alone."""
    frames = {(room.name, frame.name): frame for room in scenario.room for frame in room.frame}
    found: Counter[str] = Counter()
    for built in build.frame:
        frame = frames[built.room or "", built.name]
        found.update(built.cards.values())
        found.update([] if frame.owned else [frame.chassis])
        found.update([] if frame.owned and frame.board else [built.board])
    return found


@some_or_all("seeds", SEEDS[:100], SEEDS)
def test_seeded_campuses_are_as_good_as_when_everything_is_tried(monkeypatch: pytest.MonkeyPatch, seeds: range) -> None:
    seen: Counter[str] = Counter()
    dealt = search._with_pools

    def counted(search_of_one: search._Search) -> search.Reached | None:
        found = dealt(search_of_one)
        seen["dealt"] += found is not None and found.taken is not None
        return found

    monkeypatch.setattr(search, "_with_pools", counted)
    for seed in seeds:
        scenario, hardware = generate.random_campus(seed)
        plans = same_plan(seed, scenario, hardware, seen)
        if plans is None:
            continue
        campus, _, best = plans
        assert figures(campus, stand_campus(campus, best.build)) == best.figures
        for item, count in _recounted(scenario, best.build).items():
            most = campus.purse.most_of(item)
            assert most is None or count <= most, seed
        alone = [rank(room, 1).builds for room in campus.rooms]
        seen["shared"] += sum(b[0].figures.cost for b in alone if b) != best.figures.cost
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 4
    assert seen["shared"] >= 5, "rooms hardly ever compete for what they share"
    assert seen["dealt"] >= 5, "alike kinds hardly ever occur"


@some_or_all("seeds", range(30), range(400))
def test_rows_that_models_over_runs_lack_change_no_plan(monkeypatch: pytest.MonkeyPatch, seeds: range) -> None:
    seen: Counter[str] = Counter()
    struck, say = Group.strike, RoomStatement._say

    def counted_strike(group: Group, margin_mk: int) -> None:
        seen["struck"] += 1
        struck(group, margin_mk)

    def left_out(room: RoomStatement, rule: Rule, limit: Limit) -> None:
        if room.slot_by_slot or rule.code not in ("companions", "exclusions", "rails"):
            say(room, rule, limit)

    monkeypatch.setattr(Group, "strike", counted_strike)
    monkeypatch.setattr(RoomStatement, "_say", left_out)
    for seed in seeds:
        same_plan(seed, *generate.companioned_campus(seed), seen)
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 10, seen
    assert seen["struck"] >= len(seeds) // 5, seen


def test_a_campus_of_one_room_is_what_plan_finds() -> None:
    found = 0
    for seed in range(600, 720):
        scenario, hardware = generate.random_pair(seed)
        survey = survey_room(scenario, hardware)
        alone, together = rank(survey, 1), _plan((scenario, hardware))
        assert alone.outcome == together.outcome, seed
        if together.best is not None:
            one = alone.builds[0].figures
            assert [criteria.value(survey, one, c) for c in survey.rank] == [
                together.best.figures.value(c) for c in survey.rank
            ], seed
            found += 1
    assert found >= 30


def _unserved(frame: BuiltFrame) -> BuiltFrame:
    return frame.model_copy(update={"serves": None})


def test_workers_and_the_order_in_the_files_change_nothing() -> None:
    for place, (scenario, hardware) in enumerate(_possible(range(300, 380))):
        order = random.Random(place)
        first = _plan((scenario, hardware)).best
        rooms = [
            room.model_copy(update={"need": tuple(order.sample(room.need, len(room.need)))})
            for room in order.sample(scenario.room, len(scenario.room))
        ]
        mixed = scenario.model_copy(
            update={"room": tuple(rooms), "offer": tuple(order.sample(scenario.offer, len(scenario.offer)))}
        )
        cards = hardware.model_copy(update={"card": tuple(order.sample(hardware.card, len(hardware.card)))})
        assert first is not None
        with_three, ordered = _plan((scenario, hardware), workers=3).best, _plan((mixed, cards)).best
        assert with_three is not None
        assert with_three.build.frame == first.build.frame
        assert ordered is not None
        # Which of equal lines serves which need follows the order of needs.
        assert [_unserved(frame) for frame in ordered.build.frame] == [_unserved(frame) for frame in first.build.frame]


def _with_one_more_room(scenario: Scenario, room: Room) -> Scenario:
    return scenario.model_copy(update={"room": (*scenario.room, room.model_copy(update={"name": "room z"}))})


def test_one_more_room_never_makes_the_campus_cheaper() -> None:
    compared = 0
    for scenario, hardware in _possible(range(400, 460)):
        asked = scenario.model_copy(update={"rank": ("cost",), "slack": {}})
        before = _plan((asked, hardware)).best
        after = _plan((_with_one_more_room(asked, asked.room[0]), hardware)).best
        assert before is not None
        if after is not None:
            assert after.figures.cost >= before.figures.cost
            compared += 1
    assert compared >= 5


def test_what_rooms_share_is_counted_over_all_of_them() -> None:
    """Each room alone stays within stock; together they take one more than there is, and only that is a fault."""
    checked = 0
    for scenario, hardware in _possible(range(500, 600)):
        best = _plan((scenario, hardware)).best
        assert best is not None
        shared = [
            item
            for item, n in best.standing.joint.items.items()
            if sum(room.items[item] > 0 for room in best.standing.rooms) > 1 and item in {c.id for c in hardware.card}
        ]
        if not shared:
            continue
        item, n = shared[0], best.standing.joint.items[shared[0]]
        stock = {**scenario.stock, item: n - 1}
        offers = tuple(offer for offer in scenario.offer if offer.item != item)
        tight = survey_campus(scenario.model_copy(update={"stock": stock, "offer": offers, "budget": None}), hardware)
        broken = faults(tight, stand_campus(tight, best.build))
        assert [(f.room, f.reading.limit.rule, f.reading.limit.place.subject) for f in broken] == [
            (None, "stock", item)
        ]
        assert (broken[0].reading.used, broken[0].reading.limit.bound) == (n, n - 1)
        checked += 1
    assert checked >= 5


def test_orders_of_all_rooms_together_stay_within_the_budget() -> None:
    checked = 0
    for scenario, hardware in _possible(range(600, 700)):
        best = _plan((scenario, hardware)).best
        assert best is not None
        if best.figures.cost == 0:
            continue
        campus = survey_campus(scenario, hardware)
        poorer = dataclasses.replace(
            campus, rooms=tuple(dataclasses.replace(r, budget=best.figures.cost - 1) for r in campus.rooms)
        )
        broken = faults(poorer, stand_campus(poorer, best.build))
        assert [(f.room, f.reading.limit.rule) for f in broken] == [(None, "budget")]
        checked += 1
    assert checked >= 5


def test_a_search_out_of_time_claims_nothing() -> None:
    pair = _possible(range(20))[0]
    found = plan_campus(survey_campus(*pair), clock=Clock(0.0))
    assert (found.outcome, found.best) == ("unknown", None)


@pytest.mark.parametrize("figure", ["cost", "idle"])
def test_a_search_whose_figures_differ_from_the_audit_is_a_defect(monkeypatch: pytest.MonkeyPatch, figure: str) -> None:
    pair = next(p for p in _possible(range(60)) if {"cost", "unused"} <= set(p[0].rank) and not p[0].slack)

    def wrong(campus: Campus, standing: CampusStanding) -> CampusFigures:
        found = figures(campus, standing)
        if figure == "cost":
            return dataclasses.replace(found, cost=found.cost + 1)
        rooms = (dataclasses.replace(found.rooms[0], idle=found.rooms[0].idle + 1), *found.rooms[1:])
        return dataclasses.replace(found, rooms=rooms)

    monkeypatch.setattr(search, "figures", wrong)
    with pytest.raises(SearchError):
        _plan(pair)


def test_a_solver_that_finds_no_prices_is_not_asked_again_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    campus = survey_campus(*generate.random_campus(1))
    monkeypatch.setattr(Relaxation, "prices", lambda self: None)
    found = plan_campus(campus)
    assert found.outcome != "impossible"
    assert found.best is None or not found.best.proven
