"""Points of the README's rules that are easy to read two ways, each settled by hand: the plan and the check agree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

import pytest

from solver.fitted.standing import Standing, stand
from solver.judge import audit, criteria
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.search.ask.ranking import rank

PAIRS: dict[str, Any] = {
    "id": "pairs-6",
    "ports": [{"direction": "in", "signals": ["aes3"], "channels": {"48": 6}, "grain": 2}],
}
BROAD: dict[str, Any] = {
    "id": "broad-8",
    "span": 2,
    "ports": [
        {"direction": "in", "signals": ["line"], "channels": {"48": 4}, "on_slot": 1},
        {"direction": "in", "signals": ["line"], "channels": {"48": 4}, "on_slot": 2},
    ],
}
BOARD: dict[str, Any] = {
    "id": "holm-16",
    "limits": {"48": {"in": 16, "out": 16}},
    "inputs": {"first_slot": 1, "widths": 6},
    "outputs": {"first_slot": 1, "widths": 6},
}
CHASSIS: dict[str, Any] = {"id": "ness-3", "slot_count": 3, "boards": ["holm-16"]}


def _room(
    card: Mapping[str, Any],
    need: Mapping[str, Any],
    board: Mapping[str, Any] | None = None,
    chassis: Mapping[str, Any] | None = None,
    more: Sequence[Mapping[str, Any]] = (),
    **frame: Any,
) -> Survey:
    """A room with one frame or more, two of a card in stock, and one need."""
    hardware = {
        "format": 1,
        "card": [card],
        "board": [{**BOARD, **(board or {})}],
        "chassis": [{**CHASSIS, **(chassis or {})}],
    }
    scenario = {
        "format": 1,
        "title": "Gannet Quay, slipway",
        "hardware": ["holm.toml"],
        "currency": "GBP",
        "limits": {"rail_reserve": "0 %"},
        "stock": {card["id"]: 2, "holm-16": 2},
        "rank": ["unused"],
        "frame": [{"name": "A", "chassis": "ness-3", "board": "holm-16", **frame}, *more],
        "need": [{"name": "inputs", "direction": "in", **need}],
    }
    return survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))


def _built(survey: Survey, *slots: int, card: str) -> Standing:
    frame = {"name": "A", "board": "holm-16", "cards": {str(slot): card for slot in slots}}
    return stand(survey, Build.model_validate({"format": 1, "frame": [frame]}))


def _planned(survey: Survey) -> list[list[int]]:
    """The slots in which the builds of a plan seat cards."""
    return [[slot for frame in b.build.frame for slot, _ in frame.seats()] for b in rank(survey, top=5).builds]


def test_of_a_line_that_is_used_in_part_the_lower_channels_are_used() -> None:
    survey = _room(PAIRS, {"signal": "aes3", "channels": 3})
    standing = _built(survey, 1, card="pairs-6")
    assert [use.number for use in standing.frames[0].uses] == [1, 2, 3]
    assert criteria.figures(survey, standing).idle == 3
    assert rank(survey, top=1).builds[0].figures.idle == 3


def test_channels_beyond_what_a_need_asks_for_are_idle() -> None:
    survey = _room(PAIRS, {"signal": "aes3", "channels": 3})
    services = [{"need": "inputs", "slot": slot, "channels": "1-6"} for slot in (1, 2)]
    frame = {"name": "A", "board": "holm-16", "cards": {"1": "pairs-6", "2": "pairs-6"}, "serves": services}
    standing = stand(survey, Build.model_validate({"format": 1, "frame": [frame]}))
    assert audit.faults(survey, standing) == []
    assert [use.number for use in standing.frames[0].uses] == [1, 2, 3]
    own = criteria.figures(survey, standing)
    assert (own.idle, own.holes) == (9, 0)
    assert standing.surplus(survey.needs[0]) == 9


@pytest.mark.parametrize(
    ("channels", "rules", "other"),
    [("1-2", [], [1, 2, 3]), ("5-6", [], [1, 2, 3]), ("7-8", ["serves"], [1, 2, 3, 4, 5])],
    ids=["the lowest channels", "others", "channels that are not there"],
)
def test_what_one_frame_says_of_services_stands_and_the_other_serves_what_is_left(
    channels: str, rules: list[Any], other: list[int]
) -> None:
    survey = _room(PAIRS, {"signal": "aes3", "channels": 5}, more=[{"name": "B", "chassis": "ness-3"}])
    own: dict[str, Any] = {"name": "A", "board": "holm-16", "cards": {"1": "pairs-6"}}
    silent = {**own, "name": "B"}
    own["serves"] = [{"need": "inputs", "slot": 1, "channels": channels}]
    standing = stand(survey, Build.model_validate({"format": 1, "frame": [own, silent]}))
    assert [reading.limit.rule for reading in audit.faults(survey, standing)] == rules
    assert [use.index for use in standing.frames[1].uses] == other
    assert [use.index for use in standing.frames[0].uses] == ([] if rules else [int(n) for n in channels.split("-")])


@pytest.mark.parametrize(
    "cut",
    [{"limits": {"48": {"in": 5, "out": 16}}}, {"inputs": {"first_slot": 1, "widths": 5}}],
    ids=["limit", "block"],
)
def test_a_pair_that_is_cut_serves_nothing_its_numbered_half_is_idle_and_the_other_has_no_number(
    cut: dict[str, Any],
) -> None:
    fits = _room(PAIRS, {"signal": "aes3", "channels": 4}, board=cut)
    standing = _built(fits, 1, card="pairs-6")
    own = criteria.figures(fits, standing)
    assert (audit.faults(fits, standing), own.stranded, own.idle, own.holes) == ([], 1, 1, 0)
    best = rank(fits, top=1).builds[0].figures
    assert (best.stranded, best.idle, best.holes) == (1, 1, 0)
    five = _room(PAIRS, {"signal": "aes3", "channels": 5}, board={**cut, "limits": {"48": {"in": 5, "out": 16}}})
    assert [r.limit.rule for r in audit.faults(five, _built(five, 1, card="pairs-6"))] == ["needs"]
    assert _planned(five) == []


CLOSED: dict[str, dict[str, Any]] = {
    "refused": {"chassis": {"refuses": [{"slots": "2", "cards": ["broad-8"]}], "slot_count": 4}},
    "reserved": {"board": {"reserved": [2]}, "chassis": {"slot_count": 4}},
    "kept-empty": {"keep_empty": [2], "chassis": {"slot_count": 4}},
}


@pytest.mark.parametrize("how", CLOSED)
def test_a_closed_slot_is_closed_to_every_slot_of_a_card_that_takes_several(how: str) -> None:
    survey = _room(BROAD, {"signal": "line", "channels": 4}, **CLOSED[how])
    rule = "kept-empty" if how == "kept-empty" else "refused"
    for first in (1, 2):
        assert [r.limit.rule for r in audit.faults(survey, _built(survey, first, card="broad-8"))] == [rule]
    assert audit.faults(survey, _built(survey, 3, card="broad-8")) == []
    assert _planned(survey) == [[3]]


@pytest.mark.parametrize(
    ("supply", "draw", "holds"),
    [("0.0030", "0.0030", True), ("0.0030", "0.0021", True), ("0.0029", "0.0021", False), ("0.0029", "0.0020", True)],
)
def test_draws_finer_than_a_milliampere_are_rounded_up_and_supplies_down(supply: str, draw: str, holds: bool) -> None:
    card = {**BROAD, "rails": {"+12": Decimal(draw)}}
    survey = _room(card, {"signal": "line", "channels": 4}, chassis={"rails": {"+12": Decimal(supply)}})
    broken = [r.limit.rule for r in audit.faults(survey, _built(survey, 1, card="broad-8"))]
    assert broken == ([] if holds else ["rails"])
    assert bool(_planned(survey)) == holds


def test_heat_finer_than_a_milliwatt_is_rounded_up_and_the_air_that_a_card_permits_down() -> None:
    card = {**BROAD, "heat_w": Decimal("4.0001"), "air_limit_c": Decimal("55.0009")}
    kind = _room(card, {"signal": "line", "channels": 4}).kinds["broad-8"]
    assert (kind.heat_mw, kind.air_limit_mk) == (4001, 55000)


def test_a_board_without_limits_for_the_rate_is_used_in_no_plan_and_a_fault_in_a_build() -> None:
    other = {"limits": {"96": {"in": 16, "out": 16}}}
    survey = _room(BROAD, {"signal": "line", "channels": 4}, board=other)
    assert _planned(survey) == []
    broken = [r.limit.rule for r in audit.faults(survey, _built(survey, 1, card="broad-8"))]
    assert broken == ["straps", "needs"]


def test_what_is_asked_of_a_group_that_changes_no_number_never_moves() -> None:
    groups = [
        {"name": "clock", "kind": "switch", "setting": [{"position": "house"}, {"position": "own"}], "wanted": "own"},
        {"name": "lamp", "kind": "links", "straps": ["L1"], "setting": [{"closed": ["L1"]}]},
    ]
    board = {"strap_group": groups, "never_together": [{"clock": "house", "lamp": "open"}]}
    asked = _room(BROAD, {"signal": "line", "channels": 4}, board=board, straps={"clock": "house"})
    assert [dict(b.build.frame[0].straps) for b in rank(asked, top=1).builds] == [{"clock": "house", "lamp": "L1"}]
    both = _room(BROAD, {"signal": "line", "channels": 4}, board=board, straps={"clock": "house", "lamp": "open"})
    assert _planned(both) == []
