"""What needs ask of card settings, in what the search finds and in what an audit says of drawn builds.

Full-scale levels of EBU R68 (digital full scale at +18 dBu) and SMPTE RP 155 (+24 dBu), both from memory.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest

from solver.fitted.standing import stand
from solver.judge import audit
from solver.reports.broken import broken_limits
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.rules.phantom import NoPhantomNeeded
from solver.search.ask.clash import clash
from solver.search.ask.ranking import rank

R68, RP155 = "+18 dBu", "+24 dBu"
POWER = {"name": "phantom", "direction": "in"}
LEVEL = {"name": "full_scale_level", "direction": "in", "choices": [R68, RP155]}


def _card(name: str, price: int, signals: list[str], settings: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    port = {"direction": "in", "signals": signals, "channels": {"48": 8}, **more.pop("port", {})}
    return {"id": name, "price": price, "ports": [port], "setting": settings, **more}


FED = {"phantom_ma_per_channel": 10}
BANKED = _card("banked", 80, ["mic", "line"], [{**POWER, "per": "bank", "bank": 4}, {**LEVEL, "per": "card"}], port=FED)
ONE_BY_ONE = _card("one-by-one", 300, ["mic", "line"], [{**LEVEL, "per": "bank", "bank": 4}], port=FED)
PLAIN = _card("plain", 40, ["line"], [{**LEVEL, "per": "card", "default": RP155}])


def _need(name: str, signal: str, channels: int, **more: Any) -> dict[str, Any]:
    return {"name": name, "direction": "in", "signal": signal, "channels": channels, **more}


def _survey(*needs: dict[str, Any], cards: list[Any] | None = None, slots: int = 3, **more: Any) -> Survey:
    own = [BANKED, ONE_BY_ONE, PLAIN] if cards is None else cards
    board = {
        "id": "reef",
        "limits": {"48": {"in": 64, "out": 64}},
        "inputs": {"first_slot": 1, "widths": 8},
        "outputs": {"first_slot": 1, "widths": 0},
    }
    hardware = {
        "format": 1,
        "card": own,
        "board": [board],
        "chassis": [{"id": "crate", "slot_count": slots, "boards": ["reef"]}],
    }
    scenario = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["reef.toml"],
        "currency": "GBP",
        "frame": [{"name": "A", "chassis": "crate", "board": "reef"}],
        "offer": [{"card": card["id"]} for card in own],
        "need": list(needs),
        **more,
    }
    return survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))


def _best(survey: Survey) -> tuple[int, list[str], list[tuple[int, str, str, str | None]]]:
    """What the best build costs, its cards, and what is set on them."""
    build = rank(survey, 1).builds[0]
    (frame,) = build.build.frame
    sets = [(each.slot, each.setting, each.to, each.channels) for each in frame.settings]
    return build.figures.cost // 100, [card for _, card in frame.seats()], sets


# The audit

VOCALS = _need("vocals", "mic", 3, phantom="wanted")
RIBBONS = _need("ribbons", "ribbon", 2)
TAPE = _need("tape", "line", 4, settings={"full_scale_level": R68})
ON = {"slot": 1, "setting": "phantom", "direction": "in", "to": "on", "channels": "1-4"}
RIBBON_CARD = {**BANKED, "ports": [{**BANKED["ports"][0], "signals": ["mic", "line", "ribbon"]}]}
BUILD: dict[str, Any] = {
    "format": 1,
    "frame": [
        {
            "name": "A",
            "board": "reef",
            "cards": {"1": "banked", "2": "plain"},
            "settings": [ON, {"slot": 2, "setting": "full_scale_level", "direction": "in", "to": R68}],
            "serves": [
                {"need": "vocals", "slot": 1, "channels": "1-3"},
                {"need": "ribbons", "slot": 1, "channels": "5-6"},
                {"need": "tape", "slot": 2, "channels": "1-4"},
            ],
        }
    ],
}
MUTATIONS: dict[str, Callable[[dict[str, Any]], Any]] = {
    "phantom": lambda f: f["settings"][0].update(channels="1-8"),
    "card-settings": lambda f: f["settings"].pop(1),
    "cards-set": lambda f: f["settings"].append({**ON, "slot": 3}),
}


def _faults(build: dict[str, Any]) -> list[tuple[str, str]]:
    survey = _survey(VOCALS, RIBBONS, TAPE, cards=[RIBBON_CARD, PLAIN])
    standing = stand(survey, Build.model_validate(build))
    told = [broken_limits(survey, reading, standing) for reading in audit.faults(survey, standing)]
    return [(fault.rule, fault.text) for own in told for fault in own]


def test_the_build_is_clean() -> None:
    assert _faults(BUILD) == []


@pytest.mark.parametrize("rule", sorted(MUTATIONS))
def test_a_mutation_yields_its_own_fault(rule: str) -> None:
    build = copy.deepcopy(BUILD)
    MUTATIONS[rule](build["frame"][0])
    assert [code for code, _ in _faults(build)] == [rule]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            {"settings": [{**ON, "channels": "1-8"}, BUILD["frame"][0]["settings"][1]]},
            'frame A, slot 1: input channels 5-6 of banked are set to phantom on, and "ribbons" may get none',
        ),
        (
            {"settings": BUILD["frame"][0]["settings"][1:]},
            "frame A, slot 1: input channels 1-3 of banked are set to phantom off, "
            'and "vocals" is to get phantom power',
        ),
        (
            {"settings": [ON]},
            'frame A, slot 2: input channels 1-4 of plain are set to full_scale_level +24 dBu, and "tape" asks for '
            "full_scale_level +18 dBu",
        ),
    ],
)
def test_what_is_set_otherwise_is_told_with_its_place(change: dict[str, Any], told: str) -> None:
    build = copy.deepcopy(BUILD)
    build["frame"][0].update(change)
    assert [text for _, text in _faults(build)] == [told]


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"slot": 3}, 'frame A, slot 3: no card stands there to set "phantom" on'),
        ({"slot": 2}, 'frame A, slot 2: "phantom" cannot be set on inputs of plain there'),
        (
            {"setting": "phantm"},
            'frame A, slot 1: "phantm" cannot be set on inputs of banked there; did you mean "phantom"?',
        ),
        ({"to": "onn"}, 'frame A, slot 1: "onn" is no choice of "phantom" on banked; did you mean "on"?'),
        ({"channels": "5-9"}, 'frame A, slot 1: banked has no "phantom" on input channel 9 there'),
        ({"channels": "5-7"}, 'frame A, slot 1: "phantom" of banked sets input channels 5-8 together'),
        ({"to": "off"}, 'frame A, slot 1: "phantom" is set to on and to off'),
    ],
)
def test_what_cannot_be_set_so_is_a_fault_of_the_build(entry: dict[str, Any], told: str) -> None:
    build = copy.deepcopy(BUILD)
    build["frame"][0]["settings"].append({**ON, **entry})
    faults = _faults(build)
    assert [code for code, _ in faults] == ["cards-set"]
    assert faults[0][1].startswith(told)


def test_a_build_without_services_is_judged_by_what_its_cards_are_set_to() -> None:
    build = copy.deepcopy(BUILD)
    del build["frame"][0]["serves"]
    assert _faults(build) == []
    del build["frame"][0]["settings"][0]
    assert [code for code, _ in _faults(build)] == ["phantom"]


# The search

POWERED = _need("vocals", "mic", 4, phantom="wanted")
BARRED = _need("passive", "mic", 4, phantom="forbidden")


@pytest.mark.parametrize(
    ("needs", "cost", "cards", "sets"),
    [
        ((POWERED, BARRED), 80, ["banked"], [(1, "phantom", "on", "5-8")]),
        (
            ({**POWERED, "channels": 3}, {**BARRED, "channels": 5}),
            160,
            ["banked", "banked"],
            [(2, "phantom", "on", "5-8")],
        ),
        ((POWERED, _need("others", "mic", 4)), 80, ["banked"], [(1, "phantom", "on", "1-4")]),
        ((POWERED, _need("tape", "line", 5)), 120, ["banked", "plain"], [(1, "phantom", "on", "5-8")]),
        ((POWERED, _need("tape", "line", 4)), 80, ["banked"], [(1, "phantom", "on", "5-8")]),
        ((_need("others", "mic", 4), _need("tape", "line", 4)), 80, ["banked"], []),
        ((_need("di", "line", 2, phantom="wanted"),), 80, ["banked"], [(1, "phantom", "on", "1-4")]),
        (
            (_need("a", "line", 1, settings={"full_scale_level": R68}), _need("b", "line", 1)),
            40,
            ["plain"],
            [(1, "full_scale_level", R68, None)],
        ),
        (
            (
                _need("a", "line", 1, settings={"full_scale_level": R68}),
                _need("b", "line", 1, settings={"full_scale_level": RP155}),
            ),
            80,
            ["plain", "plain"],
            [(2, "full_scale_level", R68, None)],
        ),
        (
            (
                _need("a", "mic", 3, settings={"full_scale_level": R68}, phantom="wanted"),
                _need("b", "mic", 4, settings={"full_scale_level": R68}, phantom="forbidden"),
                _need("c", "mic", 1, settings={"full_scale_level": RP155}),
            ),
            160,
            ["banked", "banked"],
            [(1, "phantom", "on", "5-8"), (2, "full_scale_level", RP155, None)],
        ),
    ],
)
def test_needs_that_want_different_settings_share_no_bank_or_card_with_one(
    needs: tuple[dict[str, Any], ...], cost: int, cards: list[str], sets: list[tuple[int, str, str, str | None]]
) -> None:
    assert _best(_survey(*needs)) == (cost, cards, sets)


def test_switches_of_single_channels_keep_nobody_apart() -> None:
    needs = ({**POWERED, "channels": 3}, {**BARRED, "channels": 5})
    assert _best(_survey(*needs, cards=[ONE_BY_ONE])) == (300, ["one-by-one"], [(1, "phantom", "on", "1-3")])


def test_a_card_of_two_slots_has_one_setting_where_it_is_set_as_a_whole() -> None:
    ports = [{"direction": "in", "signals": ["line"], "channels": {"48": 2}, "on_slot": slot} for slot in (1, 2)]
    needs = [_need(name, "line", 2, settings={"full_scale_level": level}) for name, level in (("a", R68), ("b", RP155))]
    for per, count in (("card", 2), ("bank", 1)):
        setting = {**LEVEL, "per": per, **({"bank": 2} if per == "bank" else {})}
        wide = {"id": "wide", "price": 70, "span": 2, "ports": ports, "setting": [setting]}
        assert _best(_survey(*needs, cards=[wide], slots=4))[:2] == (70 * count, ["wide"] * count)


def test_a_need_that_asks_for_numbers_gets_them_where_its_setting_can_be() -> None:
    """The first bank has phantom power, so that the need without starts on the second."""
    kick = {**POWERED, "channels": 1, "numbers": "2"}
    run = {**BARRED, "channels": 3, "consecutive": True}
    build = rank(_survey(kick, run), 1).builds[0]
    used = {use.need.name: use.number for frame in build.standing.frames for use in frame.uses}
    assert used["vocals"] == 2
    assert used["passive"] == 7
    assert [(each.to, each.channels) for each in build.build.frame[0].settings] == [("on", "1-4")]


def test_frames_are_told_apart_by_nothing_but_what_is_set_in_them() -> None:
    frames = [{"name": name, "chassis": "crate", "board": "reef"} for name in "AB"]
    survey = _survey({**POWERED, "channels": 8}, {**BARRED, "channels": 8}, slots=1, frame=frames)
    build = rank(survey, 1).builds[0].build
    assert [(f.name, [(e.to, e.channels) for e in f.settings]) for f in build.frame] == [
        ("A", []),
        ("B", [("on", "1-8")]),
    ]


# Why not


def _ways(survey: Survey) -> list[set[str]]:
    found = clash(survey)
    assert found is not None
    return [{change.wish.sort for change in way.changes} for way in found.ways]


def test_settings_that_clash_are_given_up_in_a_way_out() -> None:
    needs = [_need(name, "line", 3, settings={"full_scale_level": level}) for name, level in (("a", R68), ("b", RP155))]
    survey = _survey(*needs, cards=[PLAIN], slots=1)
    assert rank(survey, 1).outcome == "impossible"
    assert {"card settings"} in _ways(survey)


def test_phantom_power_may_be_given_up_where_it_is_wanted_and_is_never_let_on_where_it_is_forbidden() -> None:
    survey = _survey({**POWERED, "channels": 3}, {**BARRED, "channels": 5}, cards=[BANKED], slots=1)
    assert rank(survey, 1).outcome == "impossible"
    ways = _ways(survey)
    assert {"phantom"} in ways
    found = clash(survey)
    assert found is not None
    wishes = {change.wish for way in found.ways for change in way.changes if change.wish.sort == "phantom"}
    assert wishes == {NoPhantomNeeded(0)}
