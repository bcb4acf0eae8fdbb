"""Damaged input lists end in faults with places, or are read whole: as the reader of the standard library has them."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path

import pytest
from amounts import some_or_all
from attempt import SEARCH_SECONDS, complaint
from lists import damaged_list

from solver.files.cells import unguarded
from solver.files.inputlist import InputList
from solver.files.listreading import parse_list
from solver.room.faults import render

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def _asked(data: bytes, listed: InputList) -> list[tuple[str, str]]:
    """Name and signal of every line that asks for a channel, as the standard library reads them."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252")
    rows = [row for row in csv.reader(io.StringIO(text, newline=""), delimiter=listed.separator, strict=True) if row]
    head = [unguarded(cell).strip().lower() for cell in rows[0]]
    name, signal = head.index("name"), head.index("signal")
    cells = [(unguarded(row[name]).strip(), unguarded(row[signal]).strip().lower()) for row in rows[1:]]
    return [pair for pair in cells if any(pair)]


@some_or_all("lists", 300, 10_000)
def test_a_damaged_list_is_read_whole_or_not_at_all(lists: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(lists):
        data = damaged_list(seed)
        listed, told = parse_list("list.csv", data, None, ("A",))
        text = render(told)
        assert all(line.isprintable() for line in text.split("\n")), (seed, text)
        if listed is None:
            faults = [fault for fault in told if fault.severity == "fault"]
            assert faults, seed
            seen["with a line"] += all(fault.line is not None for fault in faults)
            seen["refused"] += 1
            continue
        assert not [fault for fault in told if fault.severity == "fault"], seed
        assert [(channel.name, channel.signal) for channel in listed.channels] == _asked(data, listed), seed
        assert sum(need.channels for need in listed.needs()) == len(listed.channels), seed
        seen["read"] += 1
    assert min(seen["read"], seen["refused"]) > lists // 5
    assert seen["with a line"] > seen["refused"] // 2


@pytest.mark.usefixtures("timed")
@some_or_all("sets", 30, 300)
def test_commands_with_a_damaged_list_answer_or_tell_its_faults(sets: int, tmp_path: Path) -> None:
    (tmp_path / "hardware").mkdir()
    for name in ("quay-drum-list.toml", "quay-drum-list-drawn.toml", "quay-drum-list.csv", "hardware/quay.toml"):
        (tmp_path / name).write_bytes((SCENARIOS / name).read_bytes())
    outcomes: Counter[int] = Counter()
    for seed in range(sets):
        own = "quay-drum-list.csv" if seed % 2 else "other.csv"
        (tmp_path / own).write_bytes(damaged_list(seed))
        form = ("text", "json")[seed % 3 == 0]
        check = [] if seed % 2 else ["--check", own]
        arguments = ["list", "quay-drum-list.toml", "quay-drum-list-drawn.toml", *check, "--format", form]
        if seed % 10 == 1:
            arguments = ["plan", "quay-drum-list.toml", "--top", "1", "--limit", str(SEARCH_SECONDS), "--format", form]
        code, wrong = complaint(arguments, tmp_path, SEARCH_SECONDS)
        assert wrong is None, (seed, arguments, wrong)
        outcomes[code] += 1
        (tmp_path / "quay-drum-list.csv").write_bytes((SCENARIOS / "quay-drum-list.csv").read_bytes())
    assert min(outcomes[0] + outcomes[1], outcomes[2]) > sets // 10
