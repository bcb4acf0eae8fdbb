"""Long frames are settled over runs and seated where that does: the builds are those that asking every slot finds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import generate
import generated_rooms
import pytest

from solver import rules
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask.front import front
from solver.search.ask.ranking import rank
from solver.search.model.scale import Caps, Stage
from solver.search.solve import relaxation, stages
from solver.search.solve.bought import cost_within
from solver.search.solve.long import Long
from solver.search.solve.part import Answer
from solver.search.solve.relaxation import ANY, Numbers, PartRelaxation
from solver.search.solve.stages import RankedBuild

SEEDS = 60


@pytest.fixture
def settled(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """Frames of any length count as long and are held to what can be bought; what was settled over runs."""
    found: Counter[str] = Counter()
    over_runs = Long._over_runs

    def counted(self: Long, stage: Stage, caps: Caps, *asked: Any) -> Answer | None:
        answer = over_runs(self, stage, caps, *asked)
        found["held to lists"] += bool(self.shared.purchases._lists(cost_within(self.scale, caps)))
        found["over runs" if answer is not None else "slot by slot"] += 1
        return answer

    monkeypatch.setattr(stages, "LONG", 0)
    monkeypatch.setattr(stages, "MANY_SLOTS", 0)
    monkeypatch.setattr(Long, "_over_runs", counted)
    return found


def _rooms() -> Iterator[Survey]:
    for seed in range(SEEDS):
        survey = survey_room(*generate.random_pair(seed))
        if len(survey.frames) == 1:
            yield survey


def _told(builds: tuple[RankedBuild, ...]) -> list[object]:
    return [(b.build, b.figures, b.proven) for b in builds]


@pytest.fixture(scope="module")
def slot_by_slot() -> list[tuple[list[object], list[object]]]:
    """Plans and fronts where no frame is long."""
    return [(_told(rank(survey, 3).builds), _told(front(survey).points)) for survey in _rooms()]


def test_plans_and_fronts_are_those_of_asking_every_slot(
    slot_by_slot: list[tuple[list[object], list[object]]], settled: Counter[str]
) -> None:
    found = [(_told(rank(survey, 3).builds), _told(front(survey).points)) for survey in _rooms()]
    assert found == slot_by_slot
    assert settled["over runs"] > 100, settled
    assert settled["held to lists"] > 50, settled


def test_one_more_card_may_be_the_one_that_lacks_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two cards alike the one behind has four of its numbers left over, which of one card alone none has."""
    survey = survey_room(*generate.random_cabled(55088))
    slot_by_slot = _told(rank(survey, 4).builds)
    monkeypatch.setattr(stages, "LONG", 0)
    assert _told(rank(survey, 4).builds) == slot_by_slot


def test_plans_are_the_same_where_it_is_known_how_many_of_each_card_there_can_be(
    slot_by_slot: list[tuple[list[object], list[object]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    found: Counter[str] = Counter()
    numbers = PartRelaxation.numbers

    def counted(self: PartRelaxation, *asked: Any) -> Numbers | None:
        own = numbers(self, *asked)
        if own is None:
            found["not known"] += 1
        elif all(least == most for least, most in own.values()):
            found["one number of each"] += 1
        else:
            found["which there can be" if ANY in (most for _, most in own.values()) else "from and to"] += 1
        return own

    monkeypatch.setattr(relaxation, "MANY_SLOTS", 0)
    monkeypatch.setattr(PartRelaxation, "numbers", counted)
    assert [_told(rank(survey, 3).builds) for survey in _rooms()] == [plan for plan, _ in slot_by_slot]
    assert found["one number of each"] > 50, found
    assert found["from and to"] > 2, found


def test_a_frame_whose_hot_cards_stand_apart_has_the_builds_of_asking_every_slot(settled: Counter[str]) -> None:
    survey = survey_room(*generated_rooms.generated(3, frames=1, slots=9, settings=4, needs=5))
    found = _told(rank(survey, 3).builds)
    assert settled["over runs"] > 5, settled
    settled.clear()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(stages, "LONG", 30)
        assert found == _told(rank(survey, 3).builds)
    assert not settled


@pytest.mark.parametrize("code", ["channels", "needs", "stock", "rails", "cooling"])
def test_a_row_that_is_missing_over_runs_costs_no_answer(
    code: str, monkeypatch: pytest.MonkeyPatch, settled: Counter[str]
) -> None:
    survey = survey_room(*generated_rooms.generated(2, frames=1, slots=9, settings=4, needs=5))
    with_rows = _told(rank(survey, 2).builds)
    rule = next(rule for rule in rules.LIST if rule.code == code)
    assert any(own.code == code for own, _ in rules.limits(survey))
    settled.clear()
    monkeypatch.setattr(type(rule), "relax", lambda *_: None)
    assert _told(rank(survey, 2).builds) == with_rows
    if code in ("channels", "needs", "cooling"):
        assert settled["slot by slot"] > 2, settled
