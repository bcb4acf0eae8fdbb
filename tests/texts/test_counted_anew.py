"""Who compares two builds is told where lists and labels of the earlier one count a need's channels otherwise."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from inside import strapwork

HARDWARE = """\
format = 1
[[card]]
id = "line-out-8"
ports = [{ direction = "out", signals = ["line"], channels = { "48" = 8 } }]
[[board]]
id = "skerry-32"
limits = { "48" = { in = 0, out = 32 } }
inputs = { first_slot = 1, widths = 0 }
outputs = { first_slot = 1, widths = 8 }
[[chassis]]
id = "cairn-4"
slot_count = 4
boards = ["skerry-32"]
"""
SCENARIO = """\
format = 1
title = "Gannet Quay, sends"
hardware = ["hardware.toml"]
currency = "GBP"
[stock]
line-out-8 = 3
skerry-32 = 1
[[frame]]
name = "A"
chassis = "cairn-4"
[[need]]
name = "boxes"
direction = "out"
signal = "line"
channels = 8
NAMES
"""
NAMES = 'channel_names = ["one", "two", "three", "four", "five", "six", "seven", "eight"]'
WHOLE = '[{ need = "boxes", slot = 1, channels = "1-8" }]'
HALVES = '[{ need = "boxes", slot = 1, channels = "5-8" }, { need = "boxes", slot = 2, channels = "1-4" }]'
TOLD = (
    'channels of "boxes" are counted as in the later build: 1-4 here are 5-8 on lists and labels of the earlier build, '
    "5-8 here are 1-4; channel_names of the need would tell them apart"
)


def _build(serves: str) -> str:
    cards = '1 = "line-out-8", 2 = "line-out-8"'
    return f'format = 1\n[[frame]]\nname = "A"\nboard = "skerry-32"\ncards = {{ {cards} }}\nserves = {serves}\n'


def _write(folder: Path, names: str = "", old: str = WHOLE, new: str = HALVES) -> None:
    files = {
        "hardware.toml": HARDWARE,
        "scenario.toml": SCENARIO.replace("NAMES", names),
        "old.toml": _build(old),
        "new.toml": _build(new),
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")


def _notes(folder: Path, *command: str) -> list[str]:
    notes = json.loads(strapwork(*command, "--format", "json", cwd=folder).stdout)["notes"]
    return [note for note in notes if "counted as" in note]


def _diff(folder: Path) -> list[str]:
    return _notes(folder, "diff", "scenario.toml", "old.toml", "new.toml")


def test_lists_of_both_builds_count_as_the_note_says(tmp_path: Path) -> None:
    """The number that is channel 5 on the earlier list, A out 5, is channel 1 on the later one."""
    _write(tmp_path)
    assert _diff(tmp_path) == [TOLD]
    listed = []
    for build in ("old.toml", "new.toml"):
        rows = json.loads(strapwork("channels", "scenario.toml", build, "--format", "json", cwd=tmp_path).stdout)[
            "rows"
        ]
        listed.append({row["number"]: row["channel"] for row in rows if row["need"]})
    assert [listed[0][number] for number in range(5, 9)] == [5, 6, 7, 8]
    assert [listed[1][number] for number in range(5, 9)] == [1, 2, 3, 4]


def test_the_work_order_says_the_same_of_what_stands(tmp_path: Path) -> None:
    _write(tmp_path)
    found = _notes(tmp_path, "work-order", "scenario.toml", "new.toml", "--from", "old.toml")
    assert found == [TOLD.replace("the later build", "the build").replace("the earlier build", "what stands")]
    assert not _notes(tmp_path, "work-order", "scenario.toml", "new.toml")


@pytest.mark.parametrize(
    ("names", "old", "new"),
    [(NAMES, WHOLE, HALVES), ("", WHOLE, WHOLE), ("", HALVES, HALVES.replace("slot = 2", "slot = 3"))],
    ids=["named channels", "nothing moves", "all of them move in order"],
)
def test_nothing_is_said_where_both_count_alike(names: str, old: str, new: str, tmp_path: Path) -> None:
    _write(tmp_path, names, old, new)
    if "slot = 3" in new:
        text = (tmp_path / "new.toml").read_text(encoding="utf-8").replace('2 = "line', '3 = "line')
        (tmp_path / "new.toml").write_text(text, encoding="utf-8")
    assert _diff(tmp_path) == []


def test_a_mix_of_many_is_told_in_short(tmp_path: Path) -> None:
    """The channels that stay are counted 2, 4, 6 and 8 on the earlier list and first on the later one."""
    old = '[{ need = "boxes", slot = 1, channels = "1-8" }]'
    new = '[{ need = "boxes", slot = 1, channels = "2, 4, 6, 8" }, { need = "boxes", slot = 2, channels = "1-4" }]'
    _write(tmp_path, "", old, new)
    (told,) = _diff(tmp_path)
    assert "1 here is 2 on lists and labels of the earlier build, 2 here is 4, 3 here is 6 and so on;" in told
