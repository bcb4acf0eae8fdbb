"""Channels of a need may have names, which lists of numbers and work orders show in place of "drums 1"."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest
from inside import strapwork

from solver.fitted.moves import Spot, channels, definite_channels

ROOT = Path(__file__).parents[2]
FIRST, NEXT = "quay-mix-rig-first-drawn.toml", "quay-mix-rig-next-drawn.toml"


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    """The mix rig's scenario with three of its sends named."""
    folder = tmp_path / "scenarios"
    shutil.copytree(ROOT / "scenarios", folder)
    file = folder / "quay-mix-rig.toml"
    named = 'name = "outboard sends"\nchannel_names = ["plate left", "plate right", "=chamber"]'
    file.write_text(file.read_text(encoding="utf-8").replace('name = "outboard sends"', named), encoding="utf-8")
    return file


def test_the_list_of_numbers_shows_names_and_counts_channels_without_one(rig: Path) -> None:
    told = strapwork("channels", rig, rig.parent / NEXT, "--by", "need").stdout
    carried = [line.split(None, 9)[9] for line in told.splitlines() if line.startswith("M out ")]
    assert carried[:5] == ["plate left", "plate right", "=chamber", "outboard sends 4", "outboard sends 5"]


def test_a_table_has_a_column_of_names_only_where_there_are_some(rig: Path) -> None:
    text = strapwork("channels", rig, rig.parent / NEXT, "--by", "need", "--format", "csv").stdout
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    own = [row for row in rows if row["need"] == "outboard sends"]
    assert [row["name"] for row in own[:4]] == ["plate left", "plate right", "'=chamber", ""]
    plain = strapwork("channels", ROOT / "scenarios/quay-mix-rig.toml", rig.parent / NEXT, "--format", "csv").stdout
    assert "channel,spare,connector," in plain.splitlines()[0]


def test_what_is_retyped_and_tested_is_told_by_name(rig: Path) -> None:
    order = ("work-order", rig, rig.parent / NEXT, "--from", rig.parent / FIRST)
    document = json.loads(strapwork(*order, "--format", "json").stdout)
    moved = [(row["name"], row["old_number"], row["new_number"]) for row in document["retype"] if row["name"]]
    assert moved == [("plate left", 9, 1), ("plate right", 10, 2), ("=chamber", 11, 3)]
    tested = {row["name"]: row["number"] for row in document["test_sheet"]["rows"] if row["name"]}
    assert tested == {"plate left": 1, "plate right": 2, "=chamber": 3}
    rows = [" ".join(line.split()) for line in strapwork(*order).stdout.splitlines()]
    assert "[ ] outboard sends plate left M out 9 M out 1" in rows
    assert any(row.startswith("M out 2 plate right ") for row in rows)


def test_a_work_order_moves_each_named_channel_though_its_old_number_stays_with_the_need(tmp_path: Path) -> None:
    drawn = ROOT / "scenarios/quay-drum-list-drawn.toml"
    text = drawn.read_text(encoding="utf-8")
    for old, new in (
        ('"drums", slot = 1, channels = "1-8"', '"drums", slot = 1, channels = "4-8"'),
        ('"drums", slot = 2, channels = "1-3"', '"drums", slot = 2, channels = "1-6"'),
        ('"amps", slot = 2, channels = "4-6"', '"amps", slot = 1, channels = "1-3"'),
    ):
        assert old in text
        text = text.replace(old, new)
    (tmp_path / "older.toml").write_text(text, encoding="utf-8")
    order = ("work-order", "scenarios/quay-drum-list.toml", drawn, "--from", tmp_path / "older.toml")
    moved = json.loads(strapwork(*order, "--format", "json").stdout)["retype"]
    drums = [(row["name"], row["old_number"], row["new_number"]) for row in moved if row["need"] == "drums"]
    assert drums[:2] == [("kick in", 4, 1), ("kick out", 5, 2)]
    assert [(old, new) for _, old, new in drums] == [(n + 3, n) for n in range(1, 12)]


def test_a_channel_with_a_name_is_the_one_that_it_was_though_its_old_number_serves_another() -> None:
    before = [Spot(None, "A", n, 1, n) for n in (1, 2, 3)]
    after = [Spot(None, "A", n, 1, n) for n in (2, 3, 4)]
    told_apart = [(c, was and was.number, is_ and is_.number) for c, was, is_ in definite_channels(before, after)]
    assert told_apart == [(1, 1, 2), (2, 2, 3), (3, 3, 4)]
    alike = [(c, was and was.number, is_ and is_.number) for c, was, is_ in channels(before, after)]
    assert alike == [(1, 2, 2), (2, 3, 3), (3, 1, 4)]


def test_more_names_than_channels_are_warned_of_and_stop_nothing(rig: Path) -> None:
    text = rig.read_text(encoding="utf-8").replace("channels = 22\nspare = 2", "channels = 2")
    rig.write_text(text, encoding="utf-8")
    ran = strapwork("channels", rig, rig.parent / NEXT)
    assert ran.returncode == 0
    told = " ".join(ran.stderr.split())
    assert (
        'warning: need "outboard sends" > channel_names: names 3 channels of 2; the last of them are not used' in told
    )
