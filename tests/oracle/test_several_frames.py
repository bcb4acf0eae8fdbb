"""Rooms of two and three frames, settled over runs and seated frame by frame, against trying everything."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from itertools import takewhile
from math import prod
from typing import Any

import brute_force
import generate
import generated_rooms
import pytest
from amounts import some_or_all
from counted import Counted
from test_against_brute_force import _compare, _figures

from solver.judge import criteria
from solver.room.hardware import Hardware
from solver.room.kind import Kind
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.rules.needs import Needs
from solver.rules.rails import Rails
from solver.search.ask import ranking
from solver.search.ask.front import front
from solver.search.model.alike import AlikeStatement
from solver.search.model.basis import Option
from solver.search.model.options import all_options, useful_kinds
from solver.search.model.statement import RoomStatement
from solver.search.solve import bought, contents, priced, several, together
from solver.search.solve.asking import Key
from solver.search.solve.clock import Clock
from solver.search.solve.part import Answer, Part, Shared

Pair = tuple[Scenario, Hardware]

MOST_BUILDS = 60_000
"""Rooms of three frames are tried while there are no more."""


def _of_two_frames(draw: str, seeds: range) -> list[Pair]:
    drawn = [getattr(generate, draw)(seed) for seed in seeds]
    return [pair for pair in drawn if len(pair[0].frame) == 2]


@pytest.fixture
def over_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every room of several frames is settled over runs first."""
    monkeypatch.setattr(together, "FEW_MODELS", 0)


@pytest.fixture
def all_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same with all settings in one model."""

    def one(survey: Survey, kinds: list[Kind], shared: Shared) -> Part | None:
        every = all_options(survey)
        return several.Several(survey, every, kinds, shared) if len(every) > 1 and all(every) else None

    monkeypatch.setattr(together, "together", one)


@pytest.fixture
def chosen(over_runs: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings are never few enough to be asked one by one."""
    monkeypatch.setattr(together, "MOST_ASKED", 0)


@pytest.fixture
def told_apart(over_runs: None, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Prices tell of any number of settings which cannot keep sums: how many did not, each time."""
    seen: list[int] = []
    hopeless = priced.Priced.hopeless

    def counted(self: priced.Priced, choices: Iterable[tuple[Option, ...]]) -> set[Key]:
        found = hopeless(self, choices)
        seen.append(len(found))
        return found

    monkeypatch.setattr(together, "FEW_PRICED", 0)
    monkeypatch.setattr(priced.Priced, "hopeless", counted)
    return seen


@pytest.fixture
def in_slots(over_runs: None, monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Margins are asked of slots at once wherever they may be: whether something was found, each time."""
    seen: list[bool] = []
    minimise = Part.minimise

    def noted(self: Part, *asked: Any, **more: Any) -> Answer:
        found = minimise(self, *asked, **more)
        seen.append(found.seating is not None)
        return found

    monkeypatch.setattr(several, "SOON_CUT", 0)
    monkeypatch.setattr(Part, "minimise", noted)
    return seen


@pytest.fixture
def in_turn(over_runs: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first of equals is always asked one frame after the other, never of lists of cards."""
    monkeypatch.setattr(several, "ROUNDS", 0)


@pytest.fixture
def by_lists(over_runs: None, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many lists of cards there are where the first of equals is asked of them, each time."""
    seen: list[int] = []
    first = contents.Contents.first

    def noted(self: contents.Contents, *asked: Any) -> Answer:
        seen.append(len(self.seatings))
        return first(self, *asked)

    monkeypatch.setattr(contents.Contents, "first", noted)
    return seen


def _same_builds(pairs: list[Pair]) -> Counter[str]:
    return Counter(_compare(survey_room(*pair), *pair) for pair in pairs)


@some_or_all("seeds", 600, 6000)
def test_two_frames_have_the_same_builds(seeds: int, over_runs: None) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(3000, 3000 + seeds)))
    assert min(outcomes["found"], outcomes["impossible"]) >= seeds // 30, outcomes


@some_or_all("seeds", 300, 3000)
def test_settings_that_a_model_chooses_give_the_same_builds(seeds: int, chosen: None) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(6000, 6000 + seeds)))
    assert outcomes["found"] >= seeds // 30, outcomes


@some_or_all("seeds", 200, 2000)
def test_settings_without_hope_have_no_builds(seeds: int, told_apart: list[int]) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(12000, 12000 + seeds)))
    assert (outcomes["found"] >= seeds // 30, sum(told_apart) >= seeds // 20) == (True, True), (outcomes, told_apart)


@some_or_all("seeds", 100, 2000)
def test_margins_asked_of_slots_give_the_same_builds(seeds: int, in_slots: list[bool]) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(15000, 15000 + seeds)))
    asked = Counter(in_slots)
    assert (outcomes["found"] >= seeds // 30, min(asked[True], asked[False]) >= seeds // 30) == (True, True), asked


@some_or_all("seeds", 100, 2000)
def test_first_of_equals_frame_by_frame_gives_the_same_builds(seeds: int, in_turn: None) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(18000, 18000 + seeds)))
    assert outcomes["found"] >= seeds // 30, outcomes


@some_or_all("seeds", 200, 2000)
def test_first_of_lists_of_cards_gives_the_same_builds(seeds: int, by_lists: list[int]) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(18000, 18000 + seeds)))
    assert outcomes["found"] >= seeds // 30, outcomes
    assert sum(number > 1 for number in by_lists) >= seeds // 80, Counter(by_lists)


@some_or_all("seeds", 2, 30)
def test_lists_of_cards_have_the_builds_in_the_order_of_slots(
    seeds: int, by_lists: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Rooms with more such lists than brute force tries: asked frame by frame they have the same builds."""
    rooms = [survey_room(*generated_rooms.generated(seed, frames=2, slots=8, settings=4)) for seed in range(seeds)]
    ranked = [[build.build for build in ranking.rank(room, 5).builds] for room in rooms]
    assert max(by_lists) > 2, by_lists
    monkeypatch.setattr(several, "ROUNDS", 0)
    assert ranked == [[build.build for build in ranking.rank(room, 5).builds] for room in rooms]


@some_or_all("seeds", 200, 2000)
def test_what_a_build_buys_is_on_the_lists_of_its_cost(seeds: int, over_runs: None) -> None:
    seen = 0
    for scenario, hardware in _of_two_frames("random_pair", range(3000, 3000 + seeds)):
        survey = survey_room(scenario, hardware)
        room = together.together(survey, useful_kinds(survey), Shared.of(survey, rough=True))
        if room is None or "cost" not in survey.rank:
            continue
        for build in brute_force.ranked(scenario, hardware, 3):
            found = room.purchases_within(build.cost, Clock(None))
            used = Counter(card for seats in build.seats for _, card in seats)
            spent_on = {
                card: max(0, used[card] - survey.stock.get(card, 0)) for card in survey.kinds if card in survey.offers
            }
            assert found is None or any(all(own[card] == n for card, n in spent_on.items()) for own in found)
            kinds = room.purchases.kinds_within([survey.kinds[card] for card in used], build.cost)
            assert {kind.id for kind in kinds} == set(used)
            seen += found is not None and any(spent_on.values())
    assert seen >= seeds // 20


@some_or_all("seeds", 60, 600)
def test_three_frames_have_the_same_builds(seeds: int, over_runs: None) -> None:
    """The last frame twice, where that leaves few enough builds to try."""
    pairs = []
    for scenario, hardware in _of_two_frames("random_pair", range(20000, 20000 + seeds)):
        document = scenario.model_dump(exclude_unset=True)
        document["frame"] = [*document["frame"], {**document["frame"][-1], "name": "C"}]
        wider = Scenario.model_validate(document)
        trial = brute_force._Trial(wider, hardware)
        if prod(sum(len(c.layouts) for c in trial.choices(f)) for f in trial.frames) <= MOST_BUILDS:
            pairs.append((wider, hardware))
    assert _same_builds(pairs)["found"] >= seeds // 20


@some_or_all("seeds", 300, 3000)
def test_all_settings_in_one_model_give_the_same_builds(seeds: int, all_at_once: None) -> None:
    outcomes = _same_builds(_of_two_frames("random_pair", range(9000, 9000 + seeds)))
    assert outcomes["found"] >= seeds // 30, outcomes


@some_or_all("seeds", 200, 2000)
def test_needs_that_are_nice_to_have_give_way_as_far(seeds: int, over_runs: None) -> None:
    outcomes = _same_builds(_of_two_frames("random_nice", range(seeds)))
    assert outcomes["found"] >= seeds // 20, outcomes


@some_or_all("seeds", 200, 2000)
def test_cards_find_the_company_that_they_ask_for(seeds: int, over_runs: None) -> None:
    outcomes = _same_builds(_of_two_frames("random_companioned", range(seeds)))
    assert outcomes["found"] >= seeds // 30, outcomes


@some_or_all("seeds", 200, 2000)
def test_fronts_are_the_same(seeds: int, over_runs: None) -> None:
    seen = 0
    for scenario, hardware in _of_two_frames("random_pair", range(seeds)):
        survey = survey_room(scenario, hardware)
        found = front(survey)
        assert found.complete
        got = [_figures(survey, point.figures) for point in found.points]
        expected = brute_force.front(scenario, hardware)
        assert sorted(got) == sorted(expected)
        seen += bool(expected)
    assert seen >= seeds // 20


@some_or_all("seeds", 40, 400)
def test_a_plan_that_is_stopped_claims_no_more_than_it_knows(
    seeds: int, over_runs: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After every number of solves: criteria that are proven are those of the best build, and no bound is above it."""
    monkeypatch.setattr(ranking, "worth_while", lambda survey: True)
    proven = bounded = 0
    for pair in _of_two_frames("random_pair", range(3000, 3000 + seeds)):
        survey = survey_room(*pair)
        whole = ranking.rank(survey, top=1).builds
        for solves in range(200):
            clock = Counted(solves)
            found = ranking.rank(survey, top=1, clock=clock).builds
            if not clock.over:
                break
            for build in found:
                best = {c: criteria.value(survey, whole[0].figures, c) for c in survey.rank}
                own = {c: criteria.value(survey, build.figures, c) for c in survey.rank}
                met = [*takewhile(build.stages.__getitem__, survey.rank)]
                assert [own[c] for c in met] == [best[c] for c in met]
                assert all(best[c] >= bound for c, bound in build.bounds.items())
                proven += 0 < len(met) < len(survey.rank)
                bounded += bool(build.bounds)
        else:
            raise AssertionError("more than 200 solves")
    assert (proven >= seeds // 2, bounded > 0) == (True, True), (proven, bounded)


def test_a_row_that_is_left_out_costs_time_and_no_answer(over_runs: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """What each frame gets is settled without heat, ends that cards share, rails or needs, or what can be bought."""
    pairs = _of_two_frames("random_pair", range(100))
    for owner, row in (
        (RoomStatement, "keep"),
        (RoomStatement, "_share_ends"),
        (Rails, "relax"),
        (Needs, "relax"),
        (AlikeStatement, "_share_end"),
        (bought.Purchases, "hold"),
    ):
        with monkeypatch.context() as without:
            without.setattr(owner, row, lambda *_: None)
            assert _same_builds(pairs)["found"] >= 5
