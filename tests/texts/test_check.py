"""A build file that can be read is judged: each fault with its place, and what is no fault is a note.

The screens stand in `checked/`, one for each case; `python tests/texts/test_check.py` writes them anew, to be read
then.
"""

from __future__ import annotations

import json
import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from inside import strapwork

ROOT = Path(__file__).parents[2]
CHECKED = Path(__file__).parent / "checked"

HARDWARE = """\
format = 1
[[card]]
id = "line-in-4"
heat_w = 6
rails = { "+12" = 0.5 }
air_limit_c = 60
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[card]]
id = "combo-4"
heat_w = 6
rails = { "+12" = 0.5 }
air_limit_c = 60
ports = [{ direction = "in", signals = ["line", "mic"], channels = { "48" = 4 } }]
[[card]]
id = "pair-out-4"
heat_w = 6
rails = { "+12" = 0.5 }
air_limit_c = 60
ports = [{ direction = "out", signals = ["aes3"], channels = { "48" = 4 }, grain = 2 }]
[[card]]
id = "broad-in-8"
heat_w = 10
rails = { "+12" = 0.8 }
air_limit_c = 60
span = 2
ports = [
  { direction = "in", signals = ["line"], channels = { "48" = 4 }, on_slot = 1 },
  { direction = "in", signals = ["line"], channels = { "48" = 4 }, on_slot = 2 },
]
[[board]]
id = "skerry-16"
heat_w = 4
rails = { "+12" = 0.3 }
limits = { "48" = { in = 16, out = 16 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
never_together = [{ "width" = "V1", "output start" = "2" }]
[[board.strap_group]]
name = "width"
kind = "links"
straps = ["V1"]
[[board.strap_group.setting]]
closed = ["V1"]
inputs = { widths = 2 }
[[board.strap_group]]
name = "output start"
kind = "switch"
[[board.strap_group.setting]]
position = "1"
[[board.strap_group.setting]]
position = "2"
outputs = { first_slot = 2 }
[[board.strap_group]]
name = "lamp"
kind = "links"
straps = ["L1"]
[[board.strap_group.setting]]
closed = ["L1"]
[[board]]
id = "skerry-0"
heat_w = 4
rails = { "+12" = 0.3 }
limits = { "96" = { in = 8, out = 8 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
[[chassis]]
id = "knoll-4"
slot_count = 4
height_u = 2
boards = ["skerry-16"]
rails = { "+12" = 5 }
air = { path = "fan", flow_m3_h = 60 }
"""

SCENARIO = """\
format = 1
title = "Gannet Quay, tide room"
hardware = ["knoll.toml"]
currency = "GBP"
rank = ["cost", "unused"]
air = { inlet_c = 24 }
[stock]
line-in-4 = 4
combo-4 = 4
pair-out-4 = 2
broad-in-8 = 2
[[frame]]
name = "K"
chassis = "knoll-4"
board = "skerry-16"
[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = 4
[[need]]
name = "monitors"
direction = "out"
signal = "aes3"
channels = 2
"""

BUILD = """\
format = 1
[[frame]]
name = "K"
board = "skerry-16"
straps = { "width" = "open", "output start" = "1", "lamp" = "open" }
cards = { "1" = "line-in-4", "2" = "combo-4", "3" = "pair-out-4" }
serves = [
  { need = "returns", slot = 1, channels = "1-4" },
  { need = "monitors", slot = 3, channels = "1-2" },
]
"""
CARDS = 'cards = { "1" = "line-in-4", "2" = "combo-4", "3" = "pair-out-4" }'
SERVES = BUILD[BUILD.index("serves") :]
RETURNS = '{ need = "returns", slot = 1, channels = "1-4" }'
MONITORS = '{ need = "monitors", slot = 3, channels = "1-2" }'
STRAPS = 'straps = { "width" = "open", "output start" = "1", "lamp" = "open" }'

Changes = list[tuple[str, str]]
CASES: dict[str, tuple[int, Changes]] = {
    "clean": (0, []),
    "a-plainer-port-is-free": (0, [(RETURNS, '{ need = "returns", slot = 2, channels = "1-4" }')]),
    "fewer-gaps-are-possible": (
        0,
        [
            (CARDS, 'cards = { "1" = "line-in-4", "3" = "pair-out-4", "4" = "line-in-4" }'),
            (RETURNS, '{ need = "returns", slot = 4, channels = "1-4" }'),
        ],
    ),
    "more-than-asked-for": (
        0,
        [
            (CARDS, 'cards = { "1" = "line-in-4", "2" = "combo-4", "4" = "pair-out-4" }'),
            (RETURNS, RETURNS + ', { need = "returns", slot = 2, channels = "3-4" }'),
            (MONITORS, '{ need = "monitors", slot = 4, channels = "1-4" }'),
        ],
    ),
    "more-channels-are-possible": (1, [(RETURNS, '{ need = "returns", slot = 2, channels = "1-3" }')]),
    "two-cards-in-a-slot": (
        1,
        [(CARDS, 'cards = { "1" = "broad-in-8", "2" = "broad-in-8", "4" = "pair-out-4" }'), (SERVES, "")],
    ),
    "past-the-last-slot": (
        1,
        [(CARDS, 'cards = { "1" = "line-in-4", "3" = "pair-out-4", "4" = "broad-in-8", "6" = "combo-4" }')],
    ),
    "no-such-need": (1, [(RETURNS, '{ need = "return", slot = 1, channels = "1-4" }')]),
    "no-such-channel": (1, [(RETURNS, '{ need = "returns", slot = 1, channels = "1-3, 9" }')]),
    "no-card-there": (1, [(RETURNS, '{ need = "returns", slot = 4, channels = "1-4" }')]),
    "a-slot-that-no-chassis-has": (1, [(RETURNS, '{ need = "returns", slot = 650, channels = "1-4" }')]),
    "a-channel-twice": (1, [(RETURNS, '{ need = "returns", slot = 1, channels = "1-4, 2" }')]),
    "a-pair-shared": (
        1,
        [
            (
                MONITORS,
                '{ need = "monitors", slot = 3, channels = "1" }, { need = "foldback", slot = 3, channels = "2" }',
            )
        ],
    ),
    "no-number": (1, [(STRAPS, STRAPS.replace('"open", "output', '"V1", "output'))]),
    "the-wrong-signal": (
        1,
        [
            (MONITORS, MONITORS + ', { need = "vocals", slot = 1, channels = "3-4" }'),
            (RETURNS, '{ need = "returns", slot = 2, channels = "1-4" }'),
        ],
    ),
    "a-silent-group-left-out": (0 + 1, [(', "lamp" = "open"', ""), (MONITORS, MONITORS.replace("1-2", "1"))]),
    "a-group-left-out": (1, [('"width" = "open", ', "")]),
    "short-under-every-setting": (
        1,
        [('"width" = "open", ', ""), (RETURNS, RETURNS.replace("1-4", "1-3"))],
    ),
    "two-groups-left-out": (1, [('"width" = "open", "output start" = "1", ', "")]),
    "no-such-setting": (1, [('"lamp" = "open"', '"lamp" = "L2"')]),
    "no-such-group": (1, [('"lamp" = "open"', '"lmap" = "open"')]),
    "never-together": (1, [(STRAPS, 'straps = { "width" = "V1", "output start" = "2", "lamp" = "open" }')]),
    "not-the-board-asked-for": (
        1,
        [('board = "skerry-16"\nstraps', 'board = "skerry-0"\nstraps'), (STRAPS, "straps = {}")],
    ),
    "not-the-setting-asked-for": (1, [(STRAPS, STRAPS.replace('"lamp" = "open"', '"lamp" = "L1"'))]),
    "cards-that-cannot-be-had": (
        1,
        [(CARDS, 'cards = { "1" = "line-in-4", "2" = "line-in-4", "3" = "pair-out-4", "4" = "line-in-4" }')],
    ),
    "no-straps-at-all": (
        0,
        [('board = "skerry-16"\nstraps', 'board = "skerry-0"\nstraps'), (STRAPS, "straps = {}")],
    ),
    "nice-and-short": (0, [(RETURNS, '{ need = "returns", slot = 1, channels = "1-3" }')]),
    "figures-unknown": (
        0,
        [(CARDS, 'cards = { "1" = "line-in-4", "2" = "combo-4", "3" = "pair-out-4", "4" = "line-in-4" }')],
    ),
}
MORE_NEEDS = {
    "a-pair-shared": '[[need]]\nname = "foldback"\ndirection = "out"\nsignal = "aes3"\nchannels = 1\n',
    "the-wrong-signal": '[[need]]\nname = "vocals"\ndirection = "in"\nsignal = "mic"\nchannels = 2\n',
}
NICE = {"nice-and-short": ('signal = "line"\nchannels = 4', 'signal = "line"\nchannels = 4\nimportance = "nice"')}
OTHER_HARDWARE = {
    "figures-unknown": [
        ('id = "line-in-4"\nheat_w = 6\nrails = { "+12" = 0.5 }\nair_limit_c = 60\n', 'id = "line-in-4"\n'),
        ('id = "combo-4"\nheat_w = 6\n', 'id = "combo-4"\n'),
    ],
    "no-straps-at-all": [
        (
            'limits = { "96" = { in = 8, out = 8 } }',
            'limits = { "48" = { in = 16, out = 16 } }\nclock_input = { termination = "fixed" }',
        ),
        ('boards = ["skerry-16"]', 'boards = ["skerry-0"]'),
    ],
}
ASKED = {
    "cards-that-cannot-be-had": ("line-in-4 = 4\n", "line-in-4 = 1\n"),
    "no-straps-at-all": ('board = "skerry-16"', 'board = "skerry-0"'),
    "not-the-setting-asked-for": ('board = "skerry-16"', 'board = "skerry-16"\nstraps = { "lamp" = "open" }'),
}


def _changed(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


def _check(folder: Path, case: str, *options: str) -> subprocess.CompletedProcess[str]:
    scenario, build = SCENARIO + MORE_NEEDS.get(case, ""), BUILD
    for old, new in [pair for pairs in (NICE, ASKED) for name, pair in pairs.items() if name == case]:
        scenario = _changed(scenario, old, new)
    hardware = HARDWARE
    for old, new in OTHER_HARDWARE.get(case, ()):
        hardware = _changed(hardware, old, new)
    for old, new in CASES[case][1]:
        build = _changed(build, old, new)
    for name, text in (("knoll.toml", hardware), ("room.toml", scenario), ("build.toml", build)):
        (folder / name).write_text(text, encoding="utf-8")
    return strapwork("check", "room.toml", "build.toml", *options, cwd=folder)


@pytest.mark.parametrize("case", CASES)
def test_a_build_is_judged(case: str, tmp_path: Path) -> None:
    ran = _check(tmp_path, case)
    assert ran.stdout == (CHECKED / f"{case}.txt").read_text(encoding="utf-8")
    assert ran.returncode == CASES[case][0]


@pytest.mark.parametrize("case", CASES)
def test_the_document_says_what_the_screen_says(case: str, tmp_path: Path) -> None:
    document = json.loads(_check(tmp_path, case, "--format", "json").stdout)
    words = " ".join((CHECKED / f"{case}.txt").read_text(encoding="utf-8").split())
    assert document["outcome"] == ("faulty" if CASES[case][0] else "clean")
    assert len(document["faults"]) == int(words.split()[0]) if CASES[case][0] else not document["faults"]
    for note in document["notes"]:
        assert f"NOTE: {note}" in words


@pytest.mark.parametrize("case", [case for case, (code, _) in CASES.items() if code])
def test_nobody_is_told_to_do_what_a_faulty_build_has(case: str) -> None:
    words = " ".join((CHECKED / f"{case}.txt").read_text(encoding="utf-8").split())
    assert "straps as drawn so that" in words or "straps = {}" in str(CASES[case][1])
    assert not re.search(r"\b(close|leave|set to) [A-Z0-9]", words)


@pytest.mark.parametrize("case", CASES)
def test_what_is_assumed_is_what_the_build_leaves_out(case: str, tmp_path: Path) -> None:
    document = json.loads(_check(tmp_path, case, "--format", "json").stdout)
    drawn = tomllib.loads((tmp_path / "build.toml").read_text(encoding="utf-8"))["frame"][0]["straps"]
    assumed = {work["group"] for work in document["builds"][0]["frames"][0]["strap_work"] if work["assumed"]}
    numbering = set() if case in ("no-straps-at-all", "not-the-board-asked-for") else {"width", "output start"}
    assert assumed == numbering - set(drawn)


def _frames(text: str, room: str) -> str:
    """A build's frames in a room."""
    return text.replace("[[frame]]", f'[[frame]]\nroom = "{room}"')


@pytest.mark.parametrize("case", [c for c in CASES if c not in MORE_NEEDS and c not in NICE and c not in ASKED])
def test_a_campus_is_judged_room_by_room(case: str, tmp_path: Path) -> None:
    _check(tmp_path, case)
    head, _, rest = SCENARIO.partition("[[frame]]")
    room = rest.replace("[[need]]", "[[room.need]]")
    rooms = "".join(f'[[room]]\nname = "{name}"\n[[room.frame]]{room}' for name in ("East", "West"))
    (tmp_path / "rooms.toml").write_text(head + rooms, encoding="utf-8")
    own, clean = (tmp_path / "build.toml").read_text(encoding="utf-8"), BUILD.replace("format = 1\n", "")
    (tmp_path / "build.toml").write_text(_frames(own, "East") + _frames(clean, "West"), encoding="utf-8")
    ran = strapwork("check", "rooms.toml", "build.toml", "--format", "json", cwd=tmp_path)
    document = json.loads(ran.stdout)
    alone = json.loads(_check(tmp_path, case, "--format", "json").stdout)
    shared = [fault for fault in document["faults"] if fault["room"] is None]
    assert ran.returncode == CASES[case][0] or shared
    assert [f["text"] for f in document["faults"] if f["room"]] == [f"room East, {f['text']}" for f in alone["faults"]]
    assert document["notes"] == [f"room East: {note}" for note in alone["notes"]]
    assert {fault["rule"] for fault in shared} <= {"stock"}


@pytest.mark.parametrize("case", CASES)
def test_a_faulty_build_is_explained_all_the_same(case: str, tmp_path: Path) -> None:
    _check(tmp_path, case)
    ran = strapwork("explain", "room.toml", "--build", "build.toml", "--format", "json", cwd=tmp_path)
    assert ran.returncode == CASES[case][0]
    document = json.loads(ran.stdout)
    assert document["build"] == json.loads(_check(tmp_path, case, "--format", "json").stdout)["builds"][0]


def test_an_explanation_says_which_settings_it_assumes(tmp_path: Path) -> None:
    _check(tmp_path, "a-group-left-out")
    ran = strapwork("explain", "room.toml", "--build", "build.toml", cwd=tmp_path)
    assert ran.stdout.splitlines()[:7] == [
        "The build of the file, with faults: Gannet Quay, tide room, 48 kHz",
        "ranked by cost, unused",
        "It breaks limits; strapwork check names every fault.",
        'NOTE: with "width" open: no further fault',
        'NOTE: with "width" V1: frame K, slot 1: input channels 3-4 have no number and',
        'carry "returns"; need "returns": 2 of 4 channels',
        'NOTE: numbers and figures are shown with "width" open',
    ]


def test_what_differs_by_setting_is_told_in_a_few_notes(tmp_path: Path) -> None:
    drawn = (ROOT / "scenarios" / "quay-filled-drawn.toml").read_text(encoding="utf-8")
    straps = 'straps = { "input width" = "W1", "output start" = "open", "clock end" = "T1" }'
    (tmp_path / "build.toml").write_text(_changed(drawn, straps, ""), encoding="utf-8")
    scenario = ROOT / "scenarios" / "quay-filled.toml"
    ran = strapwork("check", str(scenario), "build.toml", "--format", "json", cwd=tmp_path)
    document = json.loads(ran.stdout)
    assert 'need "guitars and bass": 4 of 6 channels' in [fault["text"] for fault in document["faults"]]
    assert document["notes"] == [
        'with "input width" W1, "output start" open: no further fault',
        'with "input width" W1, "output start" S1: frame A: "output start" is at S1; open is asked for',
        'with "input width" W1, "output start" S2: frame A: "output start" is at S2; open is asked for',
        'with "input width" open, "output start" open: frame A, slot 1: input channels 9-16 have no number and carry '
        '"choir mics"; frame A, slot 2: input channels 9-16 have no number and carry "choir mics"; '
        'need "choir mics": 16 of 32 channels',
        "with any other settings: at least as many further faults",
        'numbers and figures are shown with "input width" W1, "output start" open',
    ]


def test_every_screen_has_a_case() -> None:
    assert sorted(file.stem for file in CHECKED.glob("*.txt")) == sorted(CASES)


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as where:
        for each in CASES:
            (CHECKED / f"{each}.txt").write_text(_check(Path(where), each).stdout, encoding="utf-8")
