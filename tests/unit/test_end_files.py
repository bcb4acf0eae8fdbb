"""Far ends, tie lines and cables in a scenario: faults with their keys. One driver, one receiver is common practice."""

from __future__ import annotations

from math import log10, sqrt
from pathlib import Path

import pytest
from samples import HARDWARE, SCENARIO, change, texts_of, write

from solver.files.reading import load_scenario
from solver.room.ends import parse_level

ENDS = """
[[bay]]
name = "P1"
signals = ["line"]
points = 24
gauge = "b-gauge"
rear = { connector = "db25", block = 8, gender = "female" }

[[tie_line]]
name = "T1"
far = { at = "booth box", numbers = "1-4", connector = "xlr", gender = "female" }
near = { at = "racks", numbers = "101-104" }

[[cable]]
number = "C1"
card_end = { connector = "db25", gender = "male" }
other_end = { connector = "db25", gender = "male" }
at = { bay = "P1", point = "B3" }
wiring = "straight"

[[cable]]
number = "C2"
card_end = { connector = "xlr", gender = "male" }
other_end = { connector = "jack-6.35" }

[[far_end]]
equipment = "plate"
need = "returns"
channels = "1-2"
sockets = "1-2"
connector = "jack-6.35"
nominal = "-10 dBV"
maximum = "+10 dBu"
balanced = false
cold = "joined"
cable = "C2"
via = [{ tie_line = "T1", numbers = "3-4" }]

[[far_end]]
equipment = "limiter"
need = "returns"
channels = "3"
"""

LIMITER = 'equipment = "limiter"\nneed = "returns"\nchannels = "3"\n'
VIA = 'via = [{ tie_line = "T1", numbers = "3-4" }]'

FAULTS = {
    "no such need": ('need = "returns"', 'need = "return"', 'far_end 1 > need: "return" is no need of this room; did'),
    "a channel that is not there": (
        'channels = "3"',
        'channels = "9"',
        'far_end 2 > channels: "returns" has channels 1 to 8, not 9',
    ),
    "a loudspeaker that comes in": (
        'channels = "3"',
        'channels = "3"\nfeeds = "loudspeaker"',
        'far_end 2 > feeds: "returns" comes in, so it feeds nothing',
    ),
    "a tone for nothing that is heard": (
        'channels = "3"',
        'channels = "3"\ntone = "-40 dBu"',
        "far_end 2 > tone: is for lines that say what they feed",
    ),
    "a tone that is not lowered": (
        'nominal = "-10 dBV"',
        'nominal = "-10 dBV"\nfeeds = "headphones"\ntone = "-7 dBu"',
        "far_end 1 > tone: is not below the nominal level, -10 dBV",
    ),
    "two drivers": (
        'channels = "3"',
        'channels = "2"',
        'far_end 2 > channels: "returns 2" comes from "plate 2" and "limiter": two drivers on one receiver',
    ),
    "two receivers": (
        LIMITER,
        'equipment = "plate"\nneed = "returns"\nchannels = "3"\nsockets = "2"\n',
        'far_end 2 > sockets: "plate 2" goes to "returns 2" and "returns 3": one driver on two receivers',
    ),
    "sockets and channels": (
        'sockets = "1-2"',
        'sockets = "1-3"',
        "far_end 1 > sockets: has 3 numbers for 2 channels",
    ),
    "a socket twice": (
        'sockets = "1-2"',
        'sockets = "1, 1"',
        'far_end 1 > sockets: names 1 twice, found "1, 1"',
    ),
    "no sockets": (
        'sockets = "1-2"\n',
        "",
        'far_end 1 > sockets: 2 channels of "returns" are here: say on which sockets',
    ),
    "no level": ('"-10 dBV"', '"-10 dB"', 'nominal: must be a level such as "+4 dBu" or "-10 dBV"'),
    "nominal over the maximum": (
        '"+10 dBu"',
        '"-8 dBu"',
        "far_end 1 > nominal: -10 dBV is more than the maximum, -8 dBu",
    ),
    "the cold leg of a balanced line": (
        "balanced = false\n",
        "",
        "far_end 1 > cold: is for lines with balanced = false",
    ),
    "turned and not inverted": (
        'channels = "3"',
        'channels = "3"\nturned_at = "card end"',
        "far_end 2 > turned_at: is for lines with inverted = true",
    ),
    "no such pinout": ('channels = "3"', 'channels = "3"\npinout = "aes95"', 'pinout: "aes95" is no pinout; did you'),
    "no such tie line": (VIA, change(VIA, "T1", "T2"), 'via 1 > tie_line: "T2" is no tie line of this room (T1)'),
    "numbers that a tie line has not": (
        VIA,
        change(VIA, "3-4", "4-5"),
        'via 1 > numbers: "T1" has 1-4 at "booth box", not 5',
    ),
    "too few lines": (VIA, change(VIA, "3-4", "3"), "via 1 > numbers: has 1 numbers for 2 channels"),
    "one line for two": (
        'channels = "3"',
        f'channels = "3"\n{change(VIA, "3-4", "3")}',
        'far_end 2 > via 1 > numbers: 3 carries "returns 1" already, and "returns 3" cannot be on the same line',
    ),
    "no such cable": ('cable = "C2"', 'cable = "C3"', 'far_end 1 > cable: "C3" is no cable of this room (C1, C2)'),
    "a cable in two places": (
        'channels = "3"',
        'channels = "3"\ncable = "C2"',
        'far_end 2 > cable: is between "plate" and something else already, and cannot be at "limiter"',
    ),
    "a loom that is elsewhere": (
        'cable = "C2"',
        'cable = "C1"',
        'far_end 1 > cable: is between the back of bay "P1" and something else already, and cannot be at "plate"',
    ),
    "a number used again": (
        'number = "C2"',
        'number = "C1"',
        'cable 2 > number: "C1" is the number of another cable; numbers are never used again',
    ),
    "no such bay": ('bay = "P1"', 'bay = "P2"', 'cable 1 > at > bay: "P2" is no bay of this room (P1)'),
    "no such point": ('point = "B3"', 'point = "C3"', 'cable 1 > at > point: "C3" is no point of "P1"'),
    "two cables on a block": (
        'number = "C2"',
        'number = "C2"\nat = { bay = "P1", point = "A1" }',
        'cable 2 > at: cable "C1" is fixed to this block already',
    ),
    "one end of a tie line": (
        '"101-104"',
        '"101-103"',
        'tie_line "T1" > near > numbers: has 3 numbers, and the far end has 4: each line has one at both ends',
    ),
    "a number at both ends": (
        'at = "racks", numbers = "101-104"',
        'at = "booth box", numbers = "4-7"',
        'tie_line "T1" > near > numbers: 4 at "booth box" is a number of the far end of "T1" already',
    ),
    "equipment that nothing names": (
        'need = "returns"\nchannels = "3"\n',
        "",
        'far_end 2 > need: names no need, and no line of an input list comes from "limiter" or goes there',
    ),
    "a wrong key": ('sockets = "1-2"', 'socket = "1-2"', 'socket: there is no such key; did you mean "sockets"?'),
}


@pytest.mark.parametrize(("old", "new", "told"), FAULTS.values(), ids=FAULTS)
def test_what_far_ends_say_is_there_and_joins_one_driver_to_one_receiver(
    tmp_path: Path, old: str, new: str, told: str
) -> None:
    texts = texts_of(write(tmp_path, SCENARIO + change(ENDS, old, new), HARDWARE))
    assert any(told in text for text in texts), texts
    assert len(texts) <= 2


WARNINGS = {
    "another connector": (
        'connector = "jack-6.35"\nnominal',
        'connector = "b-gauge"\nnominal',
        'far_end 1 > cable: a plug jack-6.35 does not fit the b-gauge of "plate"',
    ),
    "another gender": (
        'card_end = { connector = "xlr", gender = "male" }',
        'card_end = { connector = "xlr", gender = "female" }',
        'far_end 1 > cable: a female plug does not go into the female connector of "booth box"',
    ),
    "a loom at its bay": (
        'other_end = { connector = "db25", gender = "male" }',
        'other_end = { connector = "db25", gender = "female" }',
        'cable 1 > other_end: a female plug does not go into the female connector of the back of "P1"',
    ),
    "the cold leg": ('cold = "joined"\n', "", "far_end 1 > cold: says nothing of the cold leg of an unbalanced line"),
    "inverted": (
        'channels = "3"',
        'channels = "3"\ninverted = true',
        "far_end 2 > turned_at: says at neither end that the legs are exchanged: what comes here is inverted",
    ),
}


@pytest.mark.parametrize(("old", "new", "told"), WARNINGS.values(), ids=WARNINGS)
def test_plugs_that_do_not_fit_and_legs_are_warned_of(tmp_path: Path, old: str, new: str, told: str) -> None:
    (warning,) = load_scenario(write(tmp_path, SCENARIO + change(ENDS, old, new), HARDWARE)).warnings
    assert told in warning.text()


def test_a_cable_of_more_channels_than_its_plug_has_lines_is_warned_of(tmp_path: Path) -> None:
    """AES59 has eight analogue channels on a D-sub of 25 pins (its table); nine lines have no place there."""
    more = """
[[cable]]
number = "C9"
card_end = { connector = "db25", gender = "male" }
other_end = { connector = "db25", gender = "male" }
[[far_end]]
equipment = "desk"
need = "returns"
sockets = "1-COUNT"
cable = "C9"
"""
    for count, told in ((8, []), (9, ["serves 9 channels in, and no pinout of db25 has lines for over 8"])):
        scenario = change(SCENARIO, "channels = 8\n", f"channels = {count}\n") + change(more, "COUNT", str(count))
        found = [fault for fault in load_scenario(write(tmp_path, scenario)).warnings if "cable" in fault.path]
        assert [fault.message for fault in found] == told


def test_sound_far_ends_have_no_fault(tmp_path: Path) -> None:
    assert load_scenario(write(tmp_path, SCENARIO + ENDS, HARDWARE)).warnings == ()


def test_levels_are_voltages() -> None:
    """0 dBu is the square root of 0.6 V, 0 dBV 1 V: -10 dBV is -7.78 dBu (handbook figures, from memory)."""
    assert parse_level("+4 dBu") == 4000
    assert parse_level("-10 dBV") == pytest.approx(1000 * (20 * log10(1 / sqrt(0.6)) - 10), abs=1)
    assert round(parse_level("-10 dBV") / 10) == -778
    assert parse_level("-7.5 dBu") == -7500
    for wrong in ("4", "4 dB", "+4dbu", "++4 dBu", "400 dBu", "-", ""):
        with pytest.raises(ValueError, match="must be a level"):
            parse_level(wrong)


LIST = """\
name,signal,direction,group,from,to
kick,mic,,drums,booth box 1,
snare,mic,,drums,booth box 02,
bass,line,,,amp,
cue,line,out,,,cans 3
"""

LISTED = change(SCENARIO, "[stock]", 'needs_from = "list.csv"\n[stock]')


def _listed(folder: Path, text: str, more: str = "") -> Path:
    (folder / "list.csv").write_text(text, encoding="utf-8")
    hardware = HARDWARE.replace('signals = ["aes3"]', 'signals = ["aes3", "line"]')
    return write(folder, LISTED + more, hardware)


def test_lines_of_a_list_come_from_sockets_or_go_there(tmp_path: Path) -> None:
    (room,) = load_scenario(_listed(tmp_path, LIST)).scenario.rooms()
    found = [(end.equipment, end.sockets, end.need, end.channels) for end in room.far_end]
    assert found == [
        ("booth box", "1", "drums", "1"),
        ("booth box", "2", "drums", "2"),
        ("amp", None, "line in", "1"),
        ("cans", "3", "line out", "1"),
    ]


def test_what_the_scenario_says_of_equipment_holds_for_the_lines_that_name_it(tmp_path: Path) -> None:
    more = '[[far_end]]\nequipment = "cans"\nmaximum = "+12 dBu"\nplace = "booth"\n'
    more += '[[far_end]]\nequipment = "booth box 1"\nplace = "floor"\n'
    (room,) = load_scenario(_listed(tmp_path, LIST, more)).scenario.rooms()
    found = {(end.equipment, end.sockets): (end.maximum, end.place) for end in room.far_end if end.need}
    assert found["cans", "3"] == ("+12 dBu", "booth")
    assert found["booth box 1", None] == (None, "floor")
    assert found["booth box", "2"] == (None, None)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "cans 3",
            "cans 3\ncue two,line,out,,,cans 3",
            'to (line 6, column 20): "cans 3" is fed by "line out 1" and "line out 2": two drivers on one receiver',
        ),
        ("out,,,cans", "out,,cans,cans", "from (line 5, column 15): is for inputs, and this is an output"),
        (
            "booth box 02",
            "booth box 1",
            'from (line 3, column 18): "booth box 1" goes to "drums 1" and "drums 2": one driver on two receivers',
        ),
    ],
)
def test_faults_of_far_ends_of_a_list_are_told_at_their_line(tmp_path: Path, old: str, new: str, told: str) -> None:
    (text,) = texts_of(_listed(tmp_path, change(LIST, old, new)))
    assert text == told
