"""What needs ask of their numbers, read from builds: one that keeps all of it, and each wish broken by itself."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest

from solver.fitted.moves import serving
from solver.fitted.standing import stand
from solver.judge import audit
from solver.reports.wording import in_words
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.rules import ALL


def _card(name: str, signal: str, channels: int, direction: str = "in") -> dict[str, Any]:
    return {"id": name, "ports": [{"direction": direction, "signals": [signal], "channels": {"48": channels}}]}


HARDWARE: dict[str, Any] = {
    "format": 1,
    "card": [_card("mic", "mic", 8), _card("line", "line", 8), _card("few", "line", 7), _card("out", "line", 8, "out")],
    "board": [
        {
            "id": "board",
            "limits": {"48": {"in": 64, "out": 64}},
            "inputs": {"first_slot": 1, "widths": 8},
            "outputs": {"first_slot": 3, "widths": 8},
        }
    ],
    "chassis": [{"id": "chassis", "slot_count": 8, "boards": ["board"]}],
}
SCENARIO: dict[str, Any] = {
    "format": 1,
    "title": "Gannet Quay",
    "hardware": ["x.toml"],
    "currency": "GBP",
    "stock": {"mic": 2, "line": 3, "few": 1, "out": 2},
    "frame": [{"name": "A", "chassis": "chassis", "board": "board"}],
    "need": [
        {"name": "kick", "direction": "in", "signal": "mic", "channels": 2, "numbers": "2, 1"},
        {"name": "drums", "direction": "in", "signal": "mic", "channels": 8, "consecutive": True},
        {
            "name": "tape",
            "direction": "in",
            "signal": "line",
            "channels": 4,
            "consecutive": True,
            "bank_of": 8,
        },
        {"name": "keys", "direction": "in", "signal": "line", "channels": 3, "consecutive": True, "one_card": True},
        {"name": "returns", "direction": "in", "signal": "line", "channels": 5, "pairs": True},
        {"name": "inserts", "direction": "out", "signal": "line", "channels": 3, "returns_on": "back"},
        {"name": "back", "direction": "in", "signal": "line", "channels": 3},
        {"name": "desk", "direction": "in", "signal": "line", "channels": 2, "max_per_card": 1},
        {"name": "spare mix", "direction": "out", "signal": "line", "channels": 1, "apart_from": ["mix", "keys"]},
        {"name": "mix", "direction": "out", "signal": "line", "channels": 2},
    ],
}
BUILD: dict[str, Any] = {
    "format": 1,
    "frame": [
        {
            "name": "A",
            "board": "board",
            "straps": {},
            "cards": {
                "1": "mic",
                "2": "mic",
                "3": "line",
                "4": "line",
                "5": "line",
                "6": "few",
                "7": "out",
                "8": "out",
            },
            "serves": [
                {"need": "kick", "slot": 1, "channels": "1-2"},
                {"need": "drums", "slot": 1, "channels": "5-8"},
                {"need": "drums", "slot": 2, "channels": "1-4"},
                {"need": "tape", "slot": 3, "channels": "1-4"},
                {"need": "keys", "slot": 4, "channels": "2-4"},
                {"need": "returns", "slot": 4, "channels": "7-8"},
                {"need": "returns", "slot": 5, "channels": "1-3"},
                {"need": "inserts", "slot": 7, "channels": "6, 8"},
                {"need": "inserts", "slot": 8, "channels": "3"},
                {"need": "back", "slot": 5, "channels": "6, 8"},
                {"need": "back", "slot": 6, "channels": "3"},
                {"need": "desk", "slot": 3, "channels": "8"},
                {"need": "desk", "slot": 4, "channels": "5"},
                {"need": "spare mix", "slot": 7, "channels": "1"},
                {"need": "mix", "slot": 8, "channels": "1-2"},
            ],
        }
    ],
}


def _serves(place: int, **changes: Any) -> Callable[[dict[str, Any]], None]:
    return lambda frame: frame["serves"][place].update(changes)


MUTATIONS: dict[str, list[tuple[Callable[[dict[str, Any]], None], str]]] = {
    "asked-numbers": [
        (_serves(0, channels="2-3"), 'need "kick" asks for inputs 2, 1: its channel 2 is on input 3'),
        (
            _serves(0, slot=2, channels="5-6"),
            'need "kick" asks for inputs 2, 1: its channel 1 is on input 13, and 1 more is not so',
        ),
    ],
    "consecutive": [
        (
            _serves(2, channels="1-3, 5"),
            'need "drums" asks for one unbroken run of numbers: its channel 8 is on input 13',
        ),
        (
            _serves(1, channels="4, 6-8"),
            'need "drums" asks for one unbroken run of numbers: its channel 2 is on input 6',
        ),
    ],
    "banks": [
        (
            _serves(3, channels="2-5"),
            'need "tape" is to begin a bank of 8: on 1, 9, 17 and so on: its channel 1 is on input 18',
        )
    ],
    "one-card": [
        (
            lambda frame: frame["serves"].__setitem__(
                slice(4, 7),
                [
                    {"need": "keys", "slot": 4, "channels": "7-8"},
                    {"need": "keys", "slot": 5, "channels": "1"},
                    {"need": "returns", "slot": 4, "channels": "1-2"},
                    {"need": "returns", "slot": 5, "channels": "3-5"},
                ],
            ),
            'need "keys" is to lie on one card: its channel 3 is on input 33',
        )
    ],
    "pairs": [
        (_serves(6, channels="2-4"), "its channel 3 is on input 34, and 2 more are not so"),
        (_serves(5, channels="6-7"), "its channel 1 is on input 30, and 1 more is not so"),
    ],
    "per-card": [
        (
            _serves(12, slot=3, channels="7"),
            'need "desk" asks for at most 1 of its channels on one card: its channel 2 is on input 24',
        ),
        (_serves(11, slot=4, channels="6"), "its channel 2 is on input 30"),
    ],
    "apart-from": [
        (
            _serves(13, slot=8, channels="8"),
            'need "spare mix" asks for other cards than "mix" and "keys": its channel 1 is on output 48',
        ),
        (_serves(14, slot=7, channels="2-3"), "its channel 1 is on output 33"),
    ],
    "returns-on": [
        (
            _serves(8, channels="4"),
            'need "inserts" asks for the numbers of its returns, "back": '
            "its channel 3 is on output 44 and comes back on input 43",
        ),
        (_serves(9, channels="5-6"), "its channel 1 is on output 38 and comes back on input 37, and 1 more is not so"),
    ],
}


def _faults(build: dict[str, Any]) -> list[tuple[str, str]]:
    survey = survey_room(Scenario.model_validate(SCENARIO), Hardware.model_validate(HARDWARE))
    standing = stand(survey, Build.model_validate(build))
    return [
        (reading.limit.rule, in_words(survey, ALL[reading.limit.rule].fault(survey, reading, standing)))
        for reading in audit.faults(survey, standing)
    ]


def test_the_build_is_clean() -> None:
    assert _faults(BUILD) == []


@pytest.mark.parametrize(("rule", "place"), [(rule, n) for rule, own in MUTATIONS.items() for n in range(len(own))])
def test_a_wish_that_is_broken_is_a_fault_of_its_own_rule(rule: str, place: int) -> None:
    mutate, told = MUTATIONS[rule][place]
    build = copy.deepcopy(BUILD)
    mutate(build["frame"][0])
    ((broken, text),) = _faults(build)
    assert broken == rule
    assert told in text


def test_a_build_that_does_not_say_what_it_serves_keeps_what_can_be_kept() -> None:
    build = copy.deepcopy(BUILD)
    del build["frame"][0]["serves"]
    assert _faults(build) == []
    build["frame"][0]["cards"] |= {"1": "few", "6": "mic"}  # no microphone card has the first numbers
    assert _faults(build) == [
        ("asked-numbers", 'need "kick" asks for inputs 2, 1: its channel 1 is on input 41, and 1 more is not so')
    ]


def test_the_channels_of_a_need_are_counted_as_it_lists_its_numbers() -> None:
    survey = survey_room(Scenario.model_validate(SCENARIO), Hardware.model_validate(HARDWARE))
    spots = serving([stand(survey, Build.model_validate(BUILD))])
    numbers = {need.name: [spot.number for spot in own] for (_, need), own in spots.items()}
    assert numbers["kick"] == [2, 1]
    assert numbers["drums"] == [5, 6, 7, 8, 9, 10, 11, 12]


def test_pairs_are_in_one_frame_unless_they_may_be_split() -> None:
    """Four channels in two frames, each pair whole; the frame of channel 3 is told."""
    need = {"name": "stems", "direction": "in", "signal": "line", "channels": 4, "pairs": True}
    frames = [{**SCENARIO["frame"][0], "name": name} for name in "AB"]
    built = [
        {
            "name": name,
            "board": "board",
            "straps": {},
            "cards": {"1": "line"},
            "serves": [{"need": "stems", "slot": 1, "channels": "1-2"}],
        }
        for name in "AB"
    ]
    told = 'need "stems" is to be in one frame: its channel 3 is on input 1 of frame B, and 1 more is not so'
    for split, faults in ((False, [("one-frame", told)]), (True, [])):
        scenario = {**SCENARIO, "frame": frames, "need": [{**need, "may_split": split}]}
        survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(HARDWARE))
        standing = stand(survey, Build.model_validate({**BUILD, "frame": built}))
        found = [
            (reading.limit.rule, in_words(survey, ALL[reading.limit.rule].fault(survey, reading, standing)))
            for reading in audit.faults(survey, standing)
        ]
        assert found == faults


def _packed(cards: int, runs: int) -> tuple[Scenario, Hardware, Build]:
    """Runs of three numbers, each on one card of eight, in a build that does not say what serves what."""
    need = {"direction": "in", "signal": "mic", "channels": 3, "consecutive": True, "one_card": True}
    scenario = {**SCENARIO, "stock": {"mic": cards}, "need": [{"name": f"run {n:02}", **need} for n in range(runs)]}
    frame = {"name": "A", "board": "board", "straps": {}, "cards": {str(n + 1): "mic" for n in range(cards)}}
    build = Build.model_validate({"format": 1, "frame": [frame]})
    return Scenario.model_validate(scenario), Hardware.model_validate(HARDWARE), build


@pytest.mark.parametrize(
    ("cards", "runs", "broken", "untried"),
    [
        pytest.param(2, 4, 0, (), id="two on each card"),
        pytest.param(2, 5, 1, (), id="one too many"),
        pytest.param(8, 16, 0, (), id="many cards, two on each"),
        pytest.param(8, 17, 0, ("A",), id="too many to try every way"),
    ],
)
def test_runs_are_packed_if_they_can_be_and_not_judged_where_not_all_ways_are_tried(
    cards: int, runs: int, broken: int, untried: tuple[str, ...]
) -> None:
    scenario, hardware, build = _packed(cards, runs)
    survey = survey_room(scenario, hardware)
    standing = stand(survey, build)
    faults = audit.faults(survey, standing)
    assert len({fault.limit.place.subject for fault in faults}) == broken, faults
    assert standing.untried == untried
    assert sum(map(standing.served, survey.needs)) == 3 * runs
    assert [unknown.unchecked for unknown in audit.unknowns(survey, standing) if unknown.unchecked == "numbers"] == [
        "numbers"
    ] * len(untried)
