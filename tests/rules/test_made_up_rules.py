"""What searches ask of a rule is enough for rules that nobody has written yet: some made up here."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import product
from typing import Any

import pytest

from solver import rules
from solver.fitted.standing import Standing
from solver.judge.campus import survey_campus
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.rules.limit import Draft, Limit, Load, Place, Rule, Term
from solver.search.ask.ranking import rank
from solver.search.campus.planning import plan_campus
from solver.search.campus.pooling import pool
from solver.search.model.cpsat import cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.options import useful_kinds


def _card(name: str, price: str, channels: int, signal: str = "mic") -> dict[str, Any]:
    return {
        "id": name,
        "price": price,
        "ports": [{"direction": "in", "signals": [signal], "channels": {"48": channels} if channels else {}}],
    }


def _pair(cards: list[dict[str, Any]], channels: int, **more: Any) -> tuple[Scenario, Hardware]:
    """A frame of three slots, each with four numbers."""
    board = {
        "id": "reef-12",
        "limits": {"48": {"in": 12, "out": 12}},
        "inputs": {"first_slot": 1, "widths": 4},
        "outputs": {"first_slot": 1, "widths": 0},
    }
    chassis = {"id": "gully-3", "slot_count": 3, "boards": ["reef-12"]}
    scenario = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "rank": ["unused", "cost"],
        "frame": [{"name": "A", "chassis": "gully-3", "board": "reef-12", "owned": True}],
        "offer": [{"card": card["id"]} for card in cards],
        "need": [{"name": "stage", "direction": "in", "signal": "mic", "channels": channels}],
        **more,
    }
    hardware = {"format": 1, "card": cards, "board": [board], "chassis": [chassis]}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _add(patch: pytest.MonkeyPatch, rule: Rule) -> None:
    patch.setattr(rules, "LIST", (*rules.LIST, rule))
    patch.setattr(rules, "ALL", {**rules.ALL, rule.code: rule})


class Fed(Rule):
    """A clock feed stands in the room as soon as any microphone card does."""

    code = "fed"
    speaks_of = "cards"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """One."""
        yield Limit(self.code, Place(), 0, "cards")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Whether one lacks its feed."""
        return int(bool(standing.cards["mic-4"]) and not standing.cards["feed"])

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same for seats."""
        lacks = draft.any_of(_seats(draft, "mic-4"))
        draft.hold_if(limit, [lacks], [(1, 1), *((-1, term) for _, term in _seats(draft, "feed"))])

    def wants(self, survey: Survey) -> Collection[str]:
        """The feed."""
        return {"feed"}


class NeverOne(Rule):
    """Duos stand by two at least, if any does."""

    code = "never-one"
    speaks_of = "cards"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """One."""
        yield Limit(self.code, Place(), 0, "cards")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Whether one stands alone."""
        return int(standing.cards["duo-2"] == 1)

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same for seats."""
        duos = _seats(draft, "duo-2")
        draft.hold(limit, [(2, draft.any_of(duos)), *((-1, term) for _, term in duos)])

    def losing_a_card_hurts(self, survey: Survey) -> bool:
        """One of two that is taken out leaves the other alone."""
        return True


def _campus(cards: list[dict[str, Any]], channels: int) -> tuple[Scenario, Hardware]:
    """Two rooms like the one."""
    scenario, hardware = _pair(cards, channels)
    alone = scenario.model_dump(exclude_unset=True)
    need, frame = alone.pop("need"), alone.pop("frame")
    rooms = [{"name": name, "need": need, "frame": [frame[0] | {"name": name}]} for name in ("north", "south")]
    return Scenario.model_validate({**alone, "room": rooms}), hardware


def _seats(draft: Draft, card: str) -> Load:
    return [(1, seat.term) for seat in draft.seats(card=card)]


def test_a_card_that_serves_nothing_is_thought_of_where_a_rule_wants_it(monkeypatch: pytest.MonkeyPatch) -> None:
    pair = _pair([_card("mic-4", "100", 4), _card("feed", "10", 0)], 4)
    assert [kind.id for kind in useful_kinds(survey_room(*pair))] == ["mic-4"]
    _add(monkeypatch, Fed())
    survey = survey_room(*pair)
    assert [kind.id for kind in useful_kinds(survey)] == ["feed", "mic-4"]
    (best,) = rank(survey, 1).builds
    assert sorted(best.build.frame[0].cards.values()) == ["feed", "mic-4"]
    assert best.proven


def test_a_kind_that_a_rule_wants_is_not_pooled_with_its_like(monkeypatch: pytest.MonkeyPatch) -> None:
    campus = survey_campus(*_campus([_card("mic-4", "100", 4), _card("feed", "10", 0), _card("fill", "10", 0)], 4))
    pools = pool(campus)
    assert pools is not None
    assert pools.kinds == {"feed": ("feed", "fill")}
    _add(monkeypatch, Fed())
    assert pool(campus) is None


def test_several_rooms_keep_a_rule_of_their_own_each(monkeypatch: pytest.MonkeyPatch) -> None:
    campus = survey_campus(*_campus([_card("mic-4", "100", 4), _card("feed", "10", 0)], 8))
    _add(monkeypatch, Fed())
    best = plan_campus(campus, 1).best
    assert best is not None
    assert best.figures.cost == 2 * (2 * 10000 + 1000)
    rooms = [room.cards for room in best.standing.rooms]
    assert rooms == [{"mic-4": 2, "feed": 1}] * 2


def test_a_card_that_only_a_rule_keeps_there_fills_no_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    _add(monkeypatch, NeverOne())
    # Two duos at 20: the second serves nothing and is past the last slot in use, so its two channels are idle and
    # the two numbers that it leaves free are no holes. One mic-4 at 100 leaves two channels idle as well.
    survey = survey_room(*_pair([_card("mic-4", "100", 4), _card("duo-2", "10", 2)], 2))
    (best,) = rank(survey, 1).builds
    assert list(best.build.frame[0].cards.values()) == ["duo-2", "duo-2"]
    assert (best.figures.idle, best.figures.holes, best.figures.cost) == (2, 0, 2000)
    assert best.proven


class _All(cp_model.CpSolverSolutionCallback):
    def __init__(self, terms: list[Term]) -> None:
        super().__init__()
        self.terms = terms
        self.found: list[tuple[int, ...]] = []

    def on_solution_callback(self) -> None:
        self.found.append(tuple(self.value(term) for term in self.terms))


def _solutions(draft: CpDraft, terms: list[Term]) -> list[tuple[int, ...]]:
    solver, every = cp_model.CpSolver(), _All(terms)
    solver.parameters.enumerate_all_solutions = True
    solver.parameters.num_workers = 1
    assert solver.solve(draft.model, every) in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return sorted(every.found)


@pytest.mark.parametrize("at_least", [False, True])
@pytest.mark.parametrize("amounts", [(1, 1), (2, -1), (-2, -1), (3, 2)])
def test_a_limit_under_conditions_holds_where_all_of_them_do(amounts: tuple[int, int], at_least: bool) -> None:
    survey = survey_room(*_pair([_card("mic-4", "100", 4)], 4))
    for bound in range(-3, 5):
        draft = CpDraft(survey, [[None]], [], [])
        x, y = (draft.model.new_int_var(0, 2, "") for _ in range(2))
        one, other = (draft.model.new_bool_var("") for _ in range(2))
        limit = Limit("made-up", Place(), bound, "cards", at_least=at_least)
        draft.hold_if(limit, [one, other], list(zip(amounts, (x, y), strict=True)))
        allowed = [
            (a, b, c, d)
            for a, b, c, d in product(range(3), range(3), range(2), range(2))
            if not (c and d) or limit.kept_by(amounts[0] * a + amounts[1] * b)
        ]
        assert _solutions(draft, [x, y, one, other]) == allowed


def test_any_of_a_load_is_one_where_the_load_is_at_least_one() -> None:
    survey = survey_room(*_pair([_card("mic-4", "100", 4)], 4))
    draft = CpDraft(survey, [[None]], [], [])
    x, y = (draft.model.new_int_var(0, 2, "") for _ in range(2))
    some = draft.any_of([(1, x), (3, y)])
    assert _solutions(draft, [x, y, some]) == [(a, b, int(a + 3 * b > 0)) for a in range(3) for b in range(3)]
    assert draft.any_of([(1, 1), (1, 0)]) == 1
    assert draft.any_of([(0, x)]) == draft.any_of([]) == 0
