"""Connectors and pinouts in a hardware file: faults with their keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from samples import HARDWARE, change, texts_of, write

from solver.files.reading import load_scenario
from solver.room.connectors import Pinout
from solver.room.hardware import Hardware


def _connector(id_: str, carries: str, *more: str, kind: str = "db25") -> str:
    return "\n".join(["[[card.connector]]", f'id = "{id_}"', f'type = "{kind}"', f"carries = [{carries}]", *more, ""])


IN = _connector("in", "{ port = 1 }", 'pinout = "aes59"')

TWO = """
[[pinout]]
id = "two"
type = "db25"
pins = ["1-6"]
lines = [
  { line = 1, hot = "1", cold = "2", shield = "3" },
  { line = 2, hot = "4", cold = "5", shield = "6" },
]
"""


def _hardware(connectors: str = "", pinouts: str = "", card: str = "mic-4") -> str:
    """The sample with connectors for one of its cards, which follow its ports, and pinouts at the end."""
    own = next(line for line in HARDWARE.split(f'id = "{card}"')[1].splitlines() if line.startswith("ports"))
    return change(HARDWARE, own, f"{own}\n{connectors}") + pinouts


CONNECTORS = {
    "a port that is not there": (
        _connector("in", "{ port = 2 }"),
        'connector "in" > carries 1 > port: mic-4 has one port',
    ),
    "a channel that is not there": (
        _connector("in", '{ port = 1, channels = "1-5" }'),
        'connector "in" > carries 1 > channels: port 1 has channels 1 to 4, not 5',
    ),
    "a channel on two connectors": (
        _connector("one", '{ port = 1, channels = "1-3" }') + _connector("two", '{ port = 1, channels = "3-4" }'),
        'connector "two" > carries 1 > channels: channel 3 of port 1 is on "one" already',
    ),
    "a channel twice on one": (
        _connector("in", "{ port = 1 }, { port = 1 }"),
        'connector "in" > carries 2 > channels: channels 1-4 of port 1 are on "in" already',
    ),
    "an id twice": (
        _connector("in", '{ port = 1, channels = "1-2" }') + _connector("in", '{ port = 1, channels = "3-4" }'),
        'connector "in" > id: "in" is already the id of another connector of this card',
    ),
    "a pinout that is not there": (
        _connector("in", "{ port = 1 }", 'pinout = "aes95"'),
        'connector "in" > pinout: "aes95" is no pinout of these hardware files; did you mean "aes59"?',
    ),
    "another type": (
        _connector("in", "{ port = 1 }", 'pinout = "aes59"', kind="xlr"),
        'connector "in" > pinout: aes59 is a pinout of "db25", and this connector is "xlr"',
    ),
    "too many channels for its pins": (
        _connector("in", "{ port = 1 }", 'pinout = "two"'),
        'connector "in" > pinout: carries 4 channels in, and two has pins for 2',
    ),
    "half a line": (
        _connector("in", "{ port = 1 }", 'pinout = "aes59-digital"'),
        'connector "in" > carries 1 > port: port 1 has a grain of 1, and a line of aes59-digital carries 2 channels',
    ),
    "a gender that is none": (_connector("in", "{ port = 1 }", 'gender = "mail"'), 'did you mean "male"?'),
    "nothing to carry": (_connector("in", ""), 'connector "in" > carries: must not be empty'),
    "a wrong key": (
        _connector("in", "{ port = 1 }", 'pin_out = "aes59"'),
        'pin_out: there is no such key; did you mean "pinout"?',
    ),
}


@pytest.mark.parametrize(("connectors", "told"), CONNECTORS.values(), ids=CONNECTORS)
def test_a_connector_carries_what_is_there_on_pins_that_are_there(tmp_path: Path, connectors: str, told: str) -> None:
    texts = texts_of(write(tmp_path, hardware=_hardware(connectors, TWO)))
    assert len(texts) == 1
    assert texts[0].startswith('card "mic-4" > connector "')
    assert told in texts[0]


def test_a_connector_is_told_in_one_place(tmp_path: Path) -> None:
    hardware = change(_hardware(IN), 'channels = { "48" = 4 }', 'channels = { "48" = 4 }, connector = "db25"')
    assert texts_of(write(tmp_path, hardware=hardware)) == [
        'card "mic-4" > ports 1 > connector: is told by [[card.connector]] already; take it out here'
    ]


def test_in_and_out_do_not_share_lines_of_one_direction(tmp_path: Path) -> None:
    both = '{ direction = "in", signals = ["mic"], channels = { "48" = 2 } }, '
    both += '{ direction = "out", signals = ["line"], channels = { "48" = 2 } }'
    hardware = _hardware(_connector("both", "{ port = 1 }, { port = 2 }", 'pinout = "aes59"'))
    hardware = change(hardware, '{ direction = "in", signals = ["mic", "line"], channels = { "48" = 4 } }', both)
    (text,) = texts_of(write(tmp_path, hardware=hardware))
    assert text == (
        'card "mic-4" > connector "both" > pinout: carries channels in and out, and aes59 has lines of one direction'
    )


def test_channels_that_no_connector_carries_are_warned_of(tmp_path: Path) -> None:
    path = write(tmp_path, hardware=_hardware(_connector("in", '{ port = 1, channels = "1-2" }')))
    (warning,) = load_scenario(path).warnings
    assert warning.text() == 'card "mic-4" > ports 1: channels 3-4: no connector carries them'


PINOUTS = {
    "a pin without a line": (
        ('pins = ["1-6"]', 'pins = ["1-7"]'),
        'lines: pin has no line: "7"; name what is not used under unused',
    ),
    "a pin that is not there": (('shield = "6"', 'shield = "9"'), 'lines 2 > shield: "9" is no pin of two'),
    "a pin on two lines": (('hot = "4"', 'hot = "1"'), 'lines 2 > hot: pin "1" is hot of line 1 already'),
    "used and unused": (('pins = ["1-6"]', 'pins = ["1-6"]\nunused = ["5"]'), 'unused: pin "5" is cold of line 2'),
    "unused twice": (('pins = ["1-6"]', 'pins = ["1-7"]\nunused = ["7", "7"]'), 'unused: pin "7" stands there twice'),
    "unused and not there": (('pins = ["1-6"]', 'pins = ["1-6"]\nunused = ["8"]'), 'unused: "8" is no pin of two'),
    "a pin twice": (('pins = ["1-6"]', 'pins = ["1-6", "2"]'), 'pins: pin "2" stands there twice'),
    "no cold": ((', cold = "5"', ""), "lines 2 > cold: is missing; write balanced = false if no line has one"),
    "a cold of unbalanced lines": (
        ('pins = ["1-6"]', 'pins = ["1-6"]\nbalanced = false'),
        "lines 1 > cold: a line that is not balanced has no cold; leave balanced out if it is",
    ),
    "no shield": ((', shield = "6"', ""), "lines 2 > shield: is missing"),
    "no hot": (('hot = "4", ', ""), "lines 2 > hot: is missing"),
    "a line left out": (("line = 2", "line = 3"), "lines: lines are counted from 1 on, and 2 is missing"),
    "a line twice": (("line = 2", "line = 1"), "lines: line 1 stands there twice"),
    "one line with a direction": (
        ("line = 2", 'direction = "in", line = 1'),
        "lines 1 > direction: is missing, and other lines have one",
    ),
    "pins backwards": (('"1-6"', '"6-1"'), "pins 1: the run 6-1 goes backwards"),
    "the shell as a pin": (('pins = ["1-6"]', 'pins = ["1-6", "shell"]'), 'pins: "shell" is no pin'),
    "the shell as a hot pin": (('hot = "4"', 'hot = "shell"'), 'lines 2 > hot: "shell" is no pin of two'),
    "a published id": (('id = "two"', 'id = "aes59"'), 'id: "aes59" is a published pinout that every scenario knows'),
    "a mate that is not there": (
        ('pins = ["1-6"]', 'pins = ["1-6"]\nmates = "tow"'),
        'mates: "tow" is no pinout of these',
    ),
    "a mate with other pins": (
        ('pins = ["1-6"]', 'pins = ["1-6"]\nmates = "aes59"'),
        "mates: the pins of aes59 are not those of two with inputs and outputs exchanged",
    ),
}


@pytest.mark.parametrize(("changed", "told"), PINOUTS.values(), ids=PINOUTS)
def test_every_pin_has_one_line_or_is_named_as_unused(tmp_path: Path, changed: tuple[str, str], told: str) -> None:
    texts = texts_of(write(tmp_path, hardware=HARDWARE + change(TWO, *changed)))
    own = [text for text in texts if told in text]
    assert len(own) == 1, texts
    assert own[0].startswith('pinout "')


def test_a_pinout_has_one_table(tmp_path: Path) -> None:
    (text,) = texts_of(write(tmp_path, hardware=HARDWARE + TWO + TWO))
    assert text == 'pinout "two" > id: "two" is already the id of a pinout in this file'


def test_a_sound_pinout_has_no_fault_and_may_share_the_shell(tmp_path: Path) -> None:
    shared = change(TWO, 'shield = "6"', 'shield = "shell"').replace('"1-6"', '"1-5"').replace('"3"', '"shell"')
    shared = shared.replace('"1-5"', '"1-2", "4-5"')
    hardware = _hardware(_connector("in", '{ port = 1, channels = "1-2" }', 'pinout = "two"'), shared)
    hardware = change(hardware, 'channels = { "48" = 4 } }', 'channels = { "48" = 2 } }')
    assert load_scenario(write(tmp_path, hardware=hardware)).warnings == ()


def test_a_channel_has_the_line_of_its_place_and_two_channels_of_aes3_share_one() -> None:
    table = Pinout.model_validate(
        {
            "id": "pair",
            "type": "xlr",
            "pins": ["1-3"],
            "channels_per_line": 2,
            "lines": [{"line": 1, "hot": "2", "cold": "3", "shield": "1"}],
        }
    )
    assert [None if (w := table.wires("in", n)) is None else w.hot for n in (1, 2, 3)] == ["2", "2", None]
    assert Hardware.model_validate({"format": 1, "pinout": [table]}).pinout == (table,)


def test_a_pin_may_be_called_by_a_digit_and_a_letter() -> None:
    """As rows of multipin connectors are (common practice, no source)."""
    lines = ({"line": 1, "hot": "1a", "cold": "1b", "shield": "2"},)
    pinout = Pinout.model_validate({"id": "rows", "type": "multi", "pins": ["1a", "1b", "2-3"], "lines": lines})
    assert pinout.every_pin() == ("1a", "1b", "2", "3")
    with pytest.raises(ValueError, match="backwards"):
        Pinout.model_validate({"id": "rows", "type": "multi", "pins": ["3-2"], "lines": lines})
