"""What needs ask of their numbers in a scenario file: what can never be is a fault of the file, with its key."""

from __future__ import annotations

from typing import Any

import pytest

from solver.files.reading import faults_of_scenario
from solver.room.hardware import Hardware

CARDS = {"mic": 8, "line": 4, "solo": 1}
HARDWARE: dict[str, Any] = {
    "format": 1,
    "card": [
        {"id": name, "ports": [{"direction": "in", "signals": [name], "channels": {"48": count}}]}
        for name, count in CARDS.items()
    ],
    "board": [
        {
            "id": "board",
            "limits": {"48": {"in": 64, "out": 8}},
            "inputs": {"first_slot": 1, "widths": 8},
            "outputs": {"first_slot": 1, "widths": 0},
        }
    ],
    "chassis": [{"id": "chassis", "slot_count": 8, "boards": ["board"]}],
}


def _told(*needs: dict[str, Any], frames: str = "A", **more: Any) -> list[str]:
    frame = [{"name": name, "chassis": "chassis", "board": "board"} for name in frames]
    raw = {
        "format": 1,
        "title": "Gannet Quay",
        "hardware": ["x.toml"],
        "currency": "GBP",
        "stock": {"mic": 8, "line": 8, "solo": 8},
        "frame": frame,
        "need": [{"name": f"need {n}", "direction": "in", "signal": "mic", **need} for n, need in enumerate(needs, 1)],
        **more,
    }
    found = faults_of_scenario("room.toml", raw, Hardware.model_validate(HARDWARE), "x.toml")
    return [("warning: " if fault.severity == "warning" else "") + fault.text() for fault in found]


@pytest.mark.parametrize(
    "need",
    [
        {"channels": 5, "numbers": "1-4, 9"},
        {"channels": 2, "numbers": "9, 1"},
        {"channels": 4, "numbers": {"from": 61}},
        {"channels": 4, "numbers": {"frame": "A", "list": "9-12"}, "consecutive": True, "bank_of": 8},
        {"channels": 3, "numbers": {"from": 5}, "pairs": True},
        {"channels": 8, "consecutive": True, "bank_of": 8, "one_card": True, "pairs": True},
    ],
)
def test_what_may_be_has_no_fault(need: dict[str, Any]) -> None:
    assert _told(need) == []


@pytest.mark.parametrize(
    ("need", "text"),
    [
        (
            {"channels": 1, "numbers": "200"},
            "numbers: asks for number 200, and there are 64 inputs in the 48 kHz family",
        ),
        (
            {"channels": 4, "numbers": {"from": 62}},
            "numbers: asks for number 65, and there are 64 inputs in the 48 kHz family",
        ),
        ({"channels": 3, "numbers": "1-2"}, "numbers: lists 2 numbers for 3 channels"),
        ({"channels": 3, "numbers": "1, 2, 1"}, 'numbers: names 1 twice, found "1, 2, 1"'),
        ({"channels": 2, "numbers": {"frame": "A"}}, 'numbers: must have one of "from" and "list", found none'),
        (
            {"channels": 2, "numbers": {"list": "1-2", "from": 1}},
            'numbers: must have one of "from" and "list", found both',
        ),
        (
            {"channels": 2, "numbers": {"frame": "B", "from": 1}},
            'numbers > frame: "B" is no frame of this room (A)',
        ),
        ({"channels": 2, "bank_of": 8}, "bank_of: goes with consecutive = true alone"),
        ({"channels": 2, "one_card": True}, "one_card: goes with consecutive = true alone"),
        (
            {"channels": 2, "numbers": "2, 1", "consecutive": True},
            "numbers: is no run of numbers in order, and consecutive = true asks for one",
        ),
        (
            {"channels": 2, "numbers": {"from": 3}, "consecutive": True, "bank_of": 8},
            "numbers: begins on 3, and banks of 8 begin on 1, 9 and so on",
        ),
        (
            {"channels": 4, "numbers": "1-2, 4-5", "pairs": True},
            "numbers: 4 and 5: a pair is an odd number and the next one",
        ),
        (
            {"channels": 3, "numbers": "1-2, 4", "pairs": True},
            "numbers: 4: a pair is an odd number and the next one",
        ),
        (
            {"channels": 2, "signal": "solo", "pairs": True},
            'pairs: no card takes two channels of "solo" next to each other',
        ),
        (
            {"channels": 5, "signal": "line", "consecutive": True, "one_card": True},
            'one_card: no card takes 5 channels of "line" next to each other, only 4',
        ),
        (
            {"channels": 65, "consecutive": True},
            "consecutive: asks for a run of 65 numbers, and a frame has at most 64 inputs in the 48 kHz family",
        ),
    ],
)
def test_what_can_never_be_is_a_fault_of_its_key(need: dict[str, Any], text: str) -> None:
    assert _told(need) == [f'need "need 1" > {text}']


def test_a_list_that_is_too_long_is_told_and_used_from_its_begin() -> None:
    told = 'warning: need "need 1" > numbers: lists 3 numbers for 2 channels; the last of them are not used'
    assert _told({"channels": 2, "numbers": "1-3"}, {"channels": 1, "numbers": "3"}) == [told]


def test_two_needs_on_one_number_are_told_with_both_names() -> None:
    needs = [{"channels": 2, "numbers": "1-2"}, {"channels": 4, "numbers": {"from": 2}}]
    assert _told(*needs) == ['need "need 2" > numbers: "need 1" asks for input 2 of frame "A" already']


def test_numbers_of_several_frames_are_each_frames_own() -> None:
    needs = [{"channels": 2, "numbers": {"frame": frame, "from": 1}} for frame in "AB"]
    assert _told(*needs, frames="AB") == []
    told = ['need "need 1" > numbers > frame: numbers are those of one frame; say which one (A, B)']
    assert _told({"channels": 2, "numbers": "1-2"}, frames="AB") == told


def test_needs_of_several_rooms_are_checked_room_by_room() -> None:
    frame = [{"name": "A", "chassis": "chassis", "board": "board"}]
    plain = {"name": "n", "direction": "in", "signal": "mic", "channels": 2}
    rooms = [
        {"name": "one", "frame": frame, "need": [{**plain, "numbers": "1-2"}]},
        {"name": "two", "frame": frame, "need": [{**plain, "numbers": "1-2"}]},
    ]
    raw = {"format": 1, "title": "Gannet Quay", "hardware": ["x.toml"], "currency": "GBP", "room": rooms}
    more: dict[str, Any] = {"stock": {"mic": 8}}
    assert faults_of_scenario("room.toml", {**raw, **more}, Hardware.model_validate(HARDWARE), "x.toml") == ()
    rooms[1]["need"] = [{**plain, "numbers": "1, 1"}]
    found = faults_of_scenario("room.toml", {**raw, **more}, Hardware.model_validate(HARDWARE), "x.toml")
    assert [fault.text() for fault in found] == ['room "two" > need "n" > numbers: names 1 twice, found "1, 1"']


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("4-1", "the run 4-1 goes backwards"),
        ("kick", 'must be numbers and runs such as "1-4, 7"'),
        ({"frame": "A", "first": 1}, "first"),
        (7, "numbers"),
    ],
)
def test_numbers_that_cannot_be_read_are_told_in_words(value: Any, text: str) -> None:
    told = _told({"channels": 4, "numbers": value})
    assert told
    assert any(text in line for line in told), told


INSERTS: dict[str, Any] = {"name": "inserts", "direction": "out", "signal": "mic", "channels": 2}
BACK: dict[str, Any] = {"name": "back", "channels": 2}
HARDWARE["card"].append({"id": "out", "ports": [{"direction": "out", "signals": ["mic"], "channels": {"48": 8}}]})


@pytest.mark.parametrize(
    ("send", "back"),
    [
        ({}, {}),
        ({"numbers": "3-4"}, {"numbers": {"from": 3}}),
        ({"pairs": True}, {"numbers": "7-8"}),
        ({"channels": 1, "spare": 1, "numbers": "8, 7"}, {"consecutive": False}),
    ],
)
def test_sends_and_returns_that_may_be_have_no_fault(send: dict[str, Any], back: dict[str, Any]) -> None:
    assert _told({**INSERTS, "returns_on": "back", **send}, {**BACK, **back}) == []


def test_sends_have_to_be_met() -> None:
    told = _told({**INSERTS, "returns_on": "back", "importance": "nice"}, BACK)
    assert told == ['need "inserts" > importance: what comes back (returns_on) has to be met']


@pytest.mark.parametrize(
    ("send", "back", "text"),
    [
        ({"returns_on": "bakc"}, {}, '"bakc" is no need in of this room; did you mean "back"?'),
        ({"returns_on": "inserts"}, {}, '"inserts" is no need in of this room'),
        ({}, {"returns_on": "inserts"}, "goes with needs out alone; it names the need that they come back on"),
        ({"returns_on": "back"}, {"channels": 3}, 'has 2 channels, and "back" has 3; each has to come back'),
        ({"returns_on": "back"}, {"importance": "nice"}, '"back" has to be met then, and is nice to have'),
        (
            {"returns_on": "back", "numbers": "1-2"},
            {"numbers": "2, 1"},
            'asks for other numbers than "back", which it comes back on',
        ),
        (
            {"returns_on": "back", "numbers": {"frame": "A", "from": 3}},
            {"numbers": {"from": 4}},
            'asks for other numbers than "back", which it comes back on',
        ),
        (
            {"returns_on": "back", "pairs": True},
            {"numbers": "2-3"},
            '2 and 3: a pair is an odd number and the next one (the numbers of "back")',
        ),
        (
            {"returns_on": "back"},
            {"numbers": "8-9"},
            'asks for number 9, and there are 8 outputs in the 48 kHz family (the numbers of "back")',
        ),
        (
            {"returns_on": "back", "numbers": "2, 1"},
            {"consecutive": True},
            'is no run of numbers in order, and consecutive = true asks for one (the numbers of "inserts")',
        ),
    ],
)
def test_returns_that_can_never_be_are_faults_of_the_key(send: dict[str, Any], back: dict[str, Any], text: str) -> None:
    owner = "back" if "returns_on" in back else "inserts"
    (told,) = _told({**INSERTS, **send}, {**BACK, **back})
    assert told.startswith(f'need "{owner}" > returns_on: {text}')


def test_two_needs_cannot_come_back_on_one() -> None:
    told = _told({**INSERTS, "returns_on": "back"}, BACK, {**INSERTS, "name": "more", "returns_on": "back"})
    assert told == ['need "more" > returns_on: "inserts" comes back on "back" already']


def test_no_other_need_asks_for_the_number_of_a_return() -> None:
    kick = {"name": "kick", "channels": 1, "numbers": "2"}
    told = _told(kick, {**INSERTS, "returns_on": "back", "numbers": "1-2"}, BACK)
    text = '"kick" asks for input 2 of frame "A" already (the numbers of "inserts")'
    assert told == [f'need "inserts" > returns_on: {text}']


@pytest.mark.parametrize(
    "need",
    [
        {"channels": 4, "max_per_card": 2, "pairs": True},
        {"channels": 2, "max_per_card": 8, "consecutive": True, "one_card": True},
        {"channels": 1, "max_per_card": 1, "pairs": True, "apart_from": ["other"]},
    ],
)
def test_what_may_be_on_cards_has_no_fault(need: dict[str, Any]) -> None:
    assert _told(need, {"name": "other", "channels": 1}) == []


@pytest.mark.parametrize(
    ("need", "text"),
    [
        ({"channels": 2, "max_per_card": 0}, "max_per_card: must be at least 1, found 0"),
        ({"channels": 9, "max_per_card": 1}, "max_per_card: asks for 9 cards for 9 channels, and there are 8 slots"),
        (
            {"channels": 4, "max_per_card": 3, "consecutive": True, "one_card": True},
            "max_per_card: 4 channels are to lie on one card (one_card)",
        ),
        ({"channels": 2, "max_per_card": 1, "pairs": True}, "max_per_card: a pair lies on one card (pairs)"),
        ({"channels": 2, "apart_from": ["need 1"]}, "apart_from 1: is the need itself"),
        (
            {"channels": 2, "apart_from": ["other", "othr"]},
            'apart_from 2: "othr" is no need of this room; did you mean "other"?',
        ),
    ],
)
def test_what_can_never_be_on_cards_is_a_fault_of_its_key(need: dict[str, Any], text: str) -> None:
    extra = {"name": "extra", "channels": 1, "importance": "nice"}
    (told,) = _told(need, {"name": "other", "channels": 1}, extra)
    assert told.replace(" > ", ": ").replace('need "need 1": ', "").startswith(text)


@pytest.mark.parametrize("more", [{}, {"max_per_card": 2}, {"pairs": True, "consecutive": True}])
def test_what_means_nothing_without_pairs_is_warned_of(more: dict[str, Any]) -> None:
    text = "means nothing without pairs = true or returns_on, nor of a run (consecutive), which is in one frame"
    assert _told({"channels": 4, "may_split": True, **more}) == [f'warning: need "need 1" > may_split: {text}']
    assert _told({"channels": 4, "may_split": True, "pairs": True}, frames="AB") == []
