"""The audit: a clean build is clean, and each rule's own mutation yields exactly that rule's fault."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from test_alike_lines import MUTATIONS as ALIKE
from test_card_settings import MUTATIONS as SETTINGS
from test_numbers_of_needs import MUTATIONS as NUMBERS

from solver import rules
from solver.files.reading import load_build, load_scenario
from solver.fitted.standing import stand
from solver.judge import audit
from solver.reports.broken import broken_limits
from solver.reports.wording import in_words
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def _card(name: str, signals: list[str], channels: int = 8, direction: str = "in", **more: object) -> dict[str, object]:
    port = {"direction": direction, "signals": signals, "channels": {"48": channels}}
    figures = {"price": "100.00", "heat_w": 2, "rails": {"+5": 0.5}, "air_limit_c": 55}
    return {"id": name, "ports": [port], **figures, **more}


HARDWARE: dict[str, Any] = {
    "format": 1,
    "card": [
        _card("mic", ["mic", "line"]),
        _card("line", ["line"]),
        _card("wide", ["line"], 16),
        _card("out", ["line"], direction="out"),
        _card("double", ["aux"], span=2),
        _card("hot", ["line"], heat_w=60),
        _card("thirsty", ["line"], rails={"+5": 4.5}),
        _card("dear", ["line"], price="900.00"),
        _card("fed", ["line"], needs=[{"card": "out", "per": 2, "within": "next"}]),
        _card("shy", ["line"], excludes=[{"card": "out", "within": "next"}]),
        _card("early", ["line"], supply_cables=["aux", "ring"]),
    ],
    "board": [
        {
            "id": "board",
            "limits": {"48": {"in": 64, "out": 64}},
            "inputs": {"first_slot": 1, "widths": 8},
            "outputs": {"first_slot": 1, "widths": 8},
            "heat_w": 1,
            "rails": {"+5": 0.1},
            "strap_group": [
                {"name": "clock", "kind": "links", "straps": ["C1"], "setting": [{"closed": ["C1"]}], "wanted": "open"}
            ],
        }
    ],
    "chassis": [
        {
            "id": "chassis",
            "slot_count": 8,
            "boards": ["board"],
            "rails": {"+5": 8},
            "supply_sockets": {"aux": 1, "ring": 2},
            "air": {"path": "fan", "flow_m3_h": 24},
            "refuses": [{"slots": "8", "cards": ["out"]}],
        }
    ],
}
SCENARIO: dict[str, Any] = {
    "format": 1,
    "title": "A frame",
    "hardware": ["x.toml"],
    "currency": "GBP",
    "budget": "500.00",
    "air": {"inlet_c": 25},
    "stock": {
        "mic": 1,
        "line": 2,
        "wide": 1,
        "out": 1,
        "double": 1,
        "hot": 1,
        "thirsty": 1,
        "fed": 2,
        "shy": 1,
        "early": 3,
    },
    "offer": [{"card": "dear"}, {"card": "line", "at_most": 1}],
    "frame": [
        {
            "name": "A",
            "chassis": "chassis",
            "board": "board",
            "straps": {"clock": "open"},
            "pins": {"1": "mic"},
            "keep_empty": [7],
        }
    ],
    "must_seat": [{"card": "out", "count": 1}],
    "need": [
        {"name": "mics", "direction": "in", "signal": "mic", "channels": 4},
        {"name": "returns", "direction": "in", "signal": "line", "channels": 6},
        {"name": "sends", "direction": "out", "signal": "line", "channels": 8},
    ],
}
BUILD: dict[str, Any] = {
    "format": 1,
    "frame": [
        {
            "name": "A",
            "board": "board",
            "straps": {"clock": "open"},
            "cards": {"1": "mic", "2": "line", "3": "wide", "4": "out"},
            "serves": [
                {"need": "mics", "slot": 1, "channels": "1-4"},
                {"need": "returns", "slot": 2, "channels": "1-6"},
                {"need": "sends", "slot": 4, "channels": "1-8"},
            ],
        }
    ],
}


def _broken(build: dict[str, object]) -> list[str]:
    survey = survey_room(Scenario.model_validate(_exact(SCENARIO)), Hardware.model_validate(_exact(HARDWARE)))
    standing = stand(survey, Build.model_validate(build))
    return sorted({reading.limit.rule for reading in audit.faults(survey, standing)})


def _exact(value: object) -> object:
    """Floats as the decimals that a file would give."""
    from decimal import Decimal

    if isinstance(value, float):
        return Decimal(str(value))
    if isinstance(value, dict):
        return {k: _exact(v) for k, v in value.items()}
    return [_exact(v) for v in value] if isinstance(value, list) else value


def _move(frame: dict[str, Any], source: str, target: str) -> None:
    frame["cards"][target] = frame["cards"].pop(source)


def _serve(frame: dict[str, Any], index: int, **changes: Any) -> None:
    frame["serves"][index].update(changes)


def _share(frame: dict[str, Any]) -> None:
    frame["serves"].append({"need": "returns", "slot": 2, "channels": "1"})


def _where_it_is_refused(frame: dict[str, Any]) -> None:
    _move(frame, "4", "8")
    _serve(frame, 2, slot=8)


def _pin_elsewhere(frame: dict[str, Any]) -> None:
    _move(frame, "1", "5")
    _serve(frame, 0, slot=5)


MUTATIONS: dict[str, Callable[[dict[str, Any]], Any]] = {
    "seats": lambda f: f["cards"].update({"3": "double"}),
    "refused": _where_it_is_refused,
    "kept-empty": lambda f: f["cards"].update({"7": "line"}),
    "pins": _pin_elsewhere,
    "straps": lambda f: f["straps"].update({"clock": "C1"}),
    "signals": lambda f: f["serves"].append({"need": "mics", "slot": 3, "channels": "1-4"}),
    "channels": _share,
    "numbers": lambda f: f["serves"].append({"need": "returns", "slot": 3, "channels": "9-12"}),
    "needs": lambda f: _serve(f, 0, channels="1-3"),
    "serves": lambda f: f["serves"].append({"need": "returns", "slot": 4, "channels": "1"}),
    "stock": lambda f: f["cards"].update({"5": "line", "6": "line", "8": "line"}),
    "budget": lambda f: f["cards"].update({"5": "dear"}),
    "rails": lambda f: f["cards"].update({"5": "thirsty"}),
    "cooling": lambda f: f["cards"].update({"6": "hot"}),
    "companions": lambda f: f["cards"].update({"5": "fed", "6": "fed"}),
    "exclusions": lambda f: f["cards"].update({"5": "shy"}),
    "supply-sockets": lambda f: f["cards"].update({"5": "early", "6": "early"}),
}


def test_the_build_is_clean() -> None:
    assert _broken(BUILD) == []


@pytest.mark.parametrize("rule", sorted(MUTATIONS))
def test_a_mutation_yields_its_own_fault(rule: str) -> None:
    build = copy.deepcopy(BUILD)
    MUTATIONS[rule](build["frame"][0])
    assert _broken(build) == [rule]


@pytest.mark.parametrize(
    ("rule", "changes"),
    [
        ("signals", (0, {"slot": 3})),
        ("numbers", (1, {"slot": 3, "channels": "7-12"})),
        ("serves", (1, {"channels": "1-5, 9"})),
    ],
)
def test_a_need_that_only_channels_that_cannot_serve_would_fill_is_short_as_well(
    rule: str, changes: tuple[Any, ...]
) -> None:
    build = copy.deepcopy(BUILD)
    index, changed = changes
    _serve(build["frame"][0], index, **changed)
    assert _broken(build) == sorted([rule, "needs"])


@pytest.mark.parametrize("cards", [{"5": "fed"}, {"6": "shy"}, {"5": "fed", "6": "shy"}])
def test_cards_in_the_company_that_they_ask_for_have_no_fault(cards: dict[str, str]) -> None:
    build = copy.deepcopy(BUILD)
    build["frame"][0]["cards"].update(cards)
    assert _broken(build) == []


def test_a_card_that_must_be_seated_and_is_not() -> None:
    scenario = {**SCENARIO, "must_seat": [{"card": "out", "count": 2}]}
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    found = audit.faults(survey, stand(survey, Build.model_validate(BUILD)))
    assert [(r.limit.rule, r.used, r.limit.bound) for r in found] == [("must-seat", 1, 2)]


@pytest.mark.parametrize(("points", "found"), [(24, []), (16, [("bay-points", 3, 2)]), (7, [("bay-points", 4, 1)])])
def test_a_bay_that_has_no_room_for_all_looms(points: int, found: list[tuple[str, int, int]]) -> None:
    """It takes the looms of the cards for line alone, eight lines each; seven points are no block for eight lines."""
    rear = {"connector": "db25", "block": 8}
    scenario = {
        **SCENARIO,
        "bay": [{"name": "P", "signals": ["line"], "points": points, "gauge": "bantam", "rear": rear}],
    }
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    told = audit.faults(survey, stand(survey, Build.model_validate(BUILD)))
    assert [(r.limit.rule, r.used, r.limit.bound) for r in told] == found


def test_a_frame_that_has_to_be_used_and_holds_no_card() -> None:
    scenario = copy.deepcopy(SCENARIO)
    scenario["frame"].append({"name": "B", "chassis": "chassis", "board": "board", "must_use": True})
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    used = {"name": "B", "board": "board", "straps": {"clock": "open"}, "cards": {"1": "line"}}
    kept = {**BUILD, "frame": [*BUILD["frame"], used]}
    assert not audit.faults(survey, stand(survey, Build.model_validate(kept)))
    empty = {**BUILD, "frame": [*BUILD["frame"], {**used, "cards": {}}]}
    for build in (BUILD, empty):
        found = audit.faults(survey, stand(survey, Build.model_validate(build)))
        assert [(r.limit.rule, r.limit.place.frame, r.used) for r in found] == [("must-use", "B", 0)]


@pytest.mark.parametrize(
    ("fixed", "change", "broken"),
    [
        (["A"], lambda f: f["cards"].update({"6": "line"}), ["frame A, slot 6: this slot is to stay empty"]),
        (["A"], lambda f: f["straps"].update({"clock": "C1"}), ["frame A: board and straps are to stay as they stand"]),
        (["A:3"], lambda f: f["cards"].pop("3"), ["frame A, slot 3: wide is to stay here"]),
        (["A:3"], lambda f: f["cards"].update({"3": "line"}), ["frame A, slot 3: wide is to stay here"]),
        (["A:3", "A:8"], lambda f: f["cards"].update({"6": "line"}), []),
        (["A:6"], lambda f: f["cards"].update({"6": "line"}), ["frame A, slot 6: this slot is to stay empty"]),
    ],
)
def test_what_is_fixed_and_does_not_stay_as_it_stands(
    fixed: list[str], change: Callable[[dict[str, Any]], Any], broken: list[str]
) -> None:
    scenario = {**SCENARIO, "installed": BUILD, "fixed": fixed}
    scenario["frame"] = [{**SCENARIO["frame"][0], "straps": {}}]
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    assert not audit.faults(survey, stand(survey, Build.model_validate(BUILD)))
    build = copy.deepcopy(BUILD)
    change(build["frame"][0])
    found = audit.faults(survey, stand(survey, Build.model_validate(build)))
    told = [in_words(survey, rules.ALL["fixed"].fault(survey, r)) for r in found if r.limit.rule == "fixed"]
    assert told == broken


@pytest.mark.parametrize(
    ("third", "broken"),
    [
        ("wide", []),
        ("line", []),
        ("out", ["survive"]),
    ],
)
def test_a_critical_need_that_is_lost_with_a_card(third: str, broken: list[str]) -> None:
    """Ten of line, which mics give way to: the cards of slots 1 to 3 have eight numbers each."""
    scenario = copy.deepcopy(SCENARIO)
    scenario["need"][1] |= {"channels": 10, "spare": 2, "critical": True}
    scenario |= {"survive": {"cards": 1}, "stock": {**SCENARIO["stock"], "out": 2}}
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    build = copy.deepcopy(BUILD)
    build["frame"][0]["cards"]["3"] = third
    del build["frame"][0]["serves"]
    standing = stand(survey, Build.model_validate(build))
    found = audit.faults(survey, standing)
    assert [r.limit.rule for r in found] == broken
    told = [in_words(survey, rules.ALL["survive"].fault(survey, r, standing)) for r in found]
    first = "mic in slot 1 of frame A"
    assert told == [f'need "returns" is critical: 8 of 10 channels are left when {first} fails'] * len(broken)


@pytest.mark.parametrize(("second", "third", "used"), [("1-6", "1-6", 0), ("1-8", "1-4", 2)])
def test_a_critical_need_of_which_a_card_has_more_than_it_may_lose(second: str, third: str, used: int) -> None:
    """Six of line and six to spare, over two cards."""
    scenario = copy.deepcopy(SCENARIO)
    scenario["need"][1] |= {"spare": 6, "critical": True}
    scenario["survive"] = {"cards": 1, "with": "nothing"}
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    build = copy.deepcopy(BUILD)
    serves = build["frame"][0]["serves"]
    serves[1]["channels"] = second
    serves.append({"need": "returns", "slot": 3, "channels": third})
    standing = stand(survey, Build.model_validate(build))
    found = audit.faults(survey, standing)
    assert [(r.limit.rule, r.used) for r in found] == [("spread", used)] * bool(used)
    told = [in_words(survey, rules.ALL["spread"].fault(survey, r, standing)) for r in found]
    asks = "is critical, and 6 of its channels may be lost with a card"
    assert told == [f'need "returns" {asks}: its channel 7 is on input 15, and 1 more is not so'] * bool(used)


@pytest.mark.parametrize(
    ("count", "each", "one"),
    [
        (2, 2.1, None),
        (2, 2, "one of two supplies"),
        (3, 1.05, None),
        (3, 1, "one of 3 supplies"),
        (1, 8, "its one supply"),
    ],
)
def test_a_rail_that_supplies_do_not_carry_with_one_less(count: int, each: float, one: str | None) -> None:
    """Four cards of 0.5 A and a board of 0.1 A."""
    supply = {"count": count, "rails": {"+5": each}}
    hardware: dict[str, Any] = copy.deepcopy(HARDWARE)
    hardware["chassis"][0]["supply"] = supply
    scenario = {**SCENARIO, "survive": {"supplies": 1}}
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(hardware)))
    standing = stand(survey, Build.model_validate(BUILD))
    told = [in_words(survey, rules.ALL[r.limit.rule].fault(survey, r)) for r in audit.faults(survey, standing)]
    left = f"{(count - 1) * each:.2f}"
    assert told == ([f"frame A: rail +5 carries 2.10 A; at most {left} A when {one} fails"] if one else [])


@pytest.mark.parametrize(
    ("cards", "sockets", "told"),
    [
        ({"5": "early"}, {"aux": 1, "ring": 1}, []),
        ({"5": "early", "6": "early"}, {"aux": 1, "ring": 2}, ['take 2 sockets "aux" (2 x early); chassis has 1']),
        ({"5": "early"}, {"aux": 1}, ['take 1 socket "ring" (1 x early); chassis has none']),
        ({"5": "early", "6": "early"}, None, []),
        ({}, {}, []),
    ],
)
def test_supply_cables_of_cards_and_the_sockets_of_the_frame(
    cards: dict[str, str], sockets: dict[str, int] | None, told: list[str]
) -> None:
    """A sort that a chassis does not list has no socket; one that lists nothing is not judged, and that is told."""
    hardware: dict[str, Any] = copy.deepcopy(HARDWARE)
    hardware["chassis"][0]["supply_sockets"] = sockets
    survey = survey_room(Scenario.model_validate(_exact(SCENARIO)), Hardware.model_validate(_exact(hardware)))
    build = copy.deepcopy(BUILD)
    build["frame"][0]["cards"].update(cards)
    standing = stand(survey, Build.model_validate(build))
    rule = rules.ALL["supply-sockets"]
    found = [reading for reading in audit.faults(survey, standing) if reading.limit.rule == rule.code]
    assert [in_words(survey, rule.fault(survey, reading, standing)) for reading in found] == [
        f"frame A: supply cables {text}" for text in told
    ]
    unknown = [each.figure for each, _ in rule.unknowns(survey, standing)]
    assert unknown == (["sockets for supply cables"] if sockets is None else [])


FOUND = {"date": "2026-11-20", "symptom": "hum", "found_by": "house technician"}
OUT_OF_SERVICE: list[tuple[dict[str, str], str | None]] = [
    ({"channel": "A:2.3"}, 'frame A, slot 2: input channel 3 carries "returns", and channel A:2.3 is out of service'),
    ({"channel": "A:in:2.3"}, 'frame A, slot 2: input channel 3 carries "returns", and channel A:in:2.3 is out of'),
    ({"channel": "A:2.7"}, None),
    ({"channel": "A:out:2.3"}, None),
    ({"number": "A:in:4"}, 'frame A, slot 1: input channel 4 carries "mics", and number A:in:4 is out of service'),
    ({"number": "A:in:5"}, None),
    ({"number": "A:out:32"}, 'frame A, slot 4: output channel 8 carries "sends", and number A:out:32 is out of'),
    ({"slot": "A:4"}, "out: the build counts on the card in slot A:4, which is out of service"),
    ({"slot": "A:2"}, None),
    ({"stock": "mic"}, "mic: the build counts on one in stock: mic, which is out of service"),
    ({"stock": "line"}, None),
]
"""What is out of service in what stands, where two of line are in stock and one more is on offer, and what is told."""


@pytest.mark.parametrize(("out", "broken"), OUT_OF_SERVICE)
def test_what_is_out_of_service_and_serves(out: dict[str, str], broken: str | None) -> None:
    scenario = {**SCENARIO, "installed": BUILD, "out_of_service": [{**out, **FOUND}]}
    survey = survey_room(Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(HARDWARE)))
    standing = stand(survey, Build.model_validate(BUILD))
    readings = [reading for reading in audit.faults(survey, standing) if reading.limit.rule == "out-of-service"]
    found = [fault for reading in readings for fault in broken_limits(survey, reading, standing)]
    assert [fault.text.startswith(broken or "?") for fault in found] == [True] * (broken is not None), found
    assert all(fault.text.endswith('out of service: "hum", found by house technician on 2026-11-20') for fault in found)
    follow = {"needs"} if out.keys() & {"channel", "number"} else {"stock"}
    rest = {reading.limit.rule for reading in audit.faults(survey, standing)} - {"out-of-service"}
    assert rest == (follow if broken else set())


def test_every_rule_has_a_mutation() -> None:
    # test_clock_lines.py has two frames, the others their own needs
    elsewhere = {
        "clock-line",
        "fixed",
        "one-frame",
        "out-of-service",
        "spread",
        "supplies",
        "survive",
        *NUMBERS,
        *SETTINGS,
        *ALIKE,
    }
    assert {*MUTATIONS, *elsewhere, "must-seat", "must-use", "bay-points", "host-link"} == set(rules.ALL)


def test_the_drawn_frame_has_its_four_faults() -> None:
    loaded = load_scenario(SCENARIOS / "quay-filled.toml")
    survey = survey_room(loaded.scenario, loaded.hardware)
    standing = stand(survey, load_build(SCENARIOS / "quay-filled-drawn.toml"))
    assert [r.limit.rule for r in audit.faults(survey, standing)] == ["kept-empty", "needs", "stock", "rails"]
