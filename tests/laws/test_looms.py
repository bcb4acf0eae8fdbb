"""Looms: every pin once, every number on the pins that its connector has for it, the same as the channel list says."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from amounts import some_or_all
from connected import connected
from inside import strapwork
from two_builds import two_builds

import solver
from solver.answers.channels import channels
from solver.answers.looms import looms
from solver.files.reading import Loaded
from solver.reports.channels import ChannelRow
from solver.reports.looms import LoomList
from solver.room.hardware import Hardware
from solver.room.pinouts import pinouts

ROOT = Path(__file__).parents[2]
MIX = ("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml")

AES59 = [
    ("24", "12", "25"), ("10", "23", "11"), ("21", "9", "22"), ("7", "20", "8"),
    ("18", "6", "19"), ("4", "17", "5"), ("15", "3", "16"), ("1", "14", "2"),
]  # fmt: skip
"""Published pins of analogue channels 1-8: see tests/published/test_aes59.py."""


def _pins_by_hand(hardware: Hardware, row: ChannelRow, first_slot: int) -> tuple[str | None, ...]:
    """Connector and pins of a channel, worked out port by port: all cards have one rate here."""
    card = next(card for card in hardware.card if card.id == row.card)
    left = row.card_channel
    for number, port in enumerate(card.ports, 1):
        if (port.direction, port.on_slot) != (row.direction, row.slot - first_slot + 1):
            continue
        count = port.channels.get("48", 0)
        if left > count:
            left -= count
            continue
        for connector in card.connector:
            (run,) = connector.carries
            low, high = map(int, (run.channels or "0-0").split("-"))
            if run.port == number and low <= left <= high:
                line = left - low
                if connector.pinout == "house":
                    return connector.id, str(line + 1), str(line + 13), "shell"
                return connector.id, *(AES59[line] if connector.pinout == "aes59" else (None, None, None))
        break
    return None, None, None, None


@some_or_all("seeds", range(150), range(2000))
def test_every_pin_stands_once_and_every_number_is_where_the_channel_list_has_it(seeds: Any) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        hardware = connected(seed, pair.hardware)
        loaded = Loaded(pair.scenario, hardware)
        known = pinouts(hardware.pinout)
        found = looms(loaded, pair.new)
        listed = channels(loaded, pair.new)
        rows = {(row.frame, row.direction, row.number): row for row in listed.rows}
        seats = {frame.name: [slot for slot, _ in frame.seats()] for frame in pair.new.frame}
        for row in listed.rows if pair.scenario.sample_rate in (44100, 48000) else ():
            first = max(slot for slot in seats[row.frame] if slot <= row.slot)
            by_hand = _pins_by_hand(hardware, row, first)
            assert (row.connector, row.hot, row.cold, row.shield) == by_hand
            met["by hand"] += row.hot is not None
        assert len({loom.name for loom in found.looms}) == len(found.looms)
        on_a_loom: Counter[tuple[str, str, int]] = Counter()
        for loom in found.looms:
            if not loom.wired:
                met["not wired"] += 1
                continue
            assert loom.pinout is not None
            pins = [p for line in loom.lines for p in (line.hot, line.cold, line.shield) if p not in (None, "shell")]
            assert Counter([*pins, *loom.unused_pins]) == Counter(known[loom.pinout].every_pin())
            for line in loom.lines:
                for number in line.numbers:
                    row = rows[loom.frame, line.direction, number]
                    on_a_loom[loom.frame, line.direction, number] += 1
                    assert (row.hot, row.cold, row.shield) == (line.hot, line.cold, line.shield)
                    assert (row.connector, row.connector_type) == (loom.connector, loom.connector_type)
                met["free lines"] += not line.card_channels
        wired = {key for key, row in rows.items() if row.hot is not None}
        assert set(on_a_loom) == wired
        assert max(on_a_loom.values(), default=1) == 1
        met["numbers"] += len(wired)
        met["numbers without pins"] += len(rows) - len(wired)
        assert bool(found.not_wired) == (len(rows) > len(wired))
        assert found.not_wired == listed.not_wired
        assert sum(sort.count for sort in found.bill) == len(found.looms)
    assert all(met[what] > len(seeds) for what in ("numbers", "numbers without pins", "free lines", "by hand"))
    assert met["not wired"] > len(seeds) // 4


def test_a_rate_with_fewer_channels_leaves_pins_free_and_moves_none() -> None:
    """The eight inputs of line-in-8 are four at 192 kHz; the pins of the first four stay."""
    files = solver.load(MIX[0])
    build = solver.Build.model_validate(
        {"frame": [{"name": "M", "board": "slate-32", "straps": {"layout": "1"}, "cards": {"1": "line-in-8"}}]}
    )
    pins = {}
    for rate in (48000, 96000):
        hardware = files.hardware
        cards = tuple(
            card.model_copy(update={"ports": (card.ports[0].model_copy(update={"channels": {"48": 8, "96": 4}}),)})
            if card.id == "line-in-8"
            else card
            for card in hardware.card
        )
        found = solver.looms(
            files.scenario.model_copy(update={"sample_rate": rate}),
            build,
            hardware=hardware.model_copy(update={"card": cards}),
        )
        (loom,) = found.looms
        pins[rate] = {line.card_channels[0]: line.hot for line in loom.lines if line.card_channels}
        assert len(loom.lines) == 8
    assert pins[48000] == {1: "24", 2: "10", 3: "21", 4: "7", 5: "18", 6: "4", 7: "15", 8: "1"}
    assert pins[96000] == {1: "24", 2: "10", 3: "21", 4: "7"}


def test_what_has_no_pins_is_told_loudly_and_all_else_is_given(tmp_path: Path) -> None:
    """The relays of the chapel: nobody has written down which screw is which."""
    build = tmp_path / "chapel.toml"
    assert strapwork("plan", "scenarios/quay-chapel.toml", "--save", build, "--top", 1).returncode == 0
    ran = strapwork("looms", "scenarios/quay-chapel.toml", build)
    assert ran.returncode == 0
    lines = ran.stdout.splitlines()
    told = 'NOT WIRED C out 8-11 (slot 7): the files describe no pinout of connector "out" of relay-4'
    assert " ".join(" ".join(lines[3:5]).split()) == told
    assert "  screw-12 female; NOT WIRED: no pinout is described" in lines
    assert any("pinout xlr-chapel" in line for line in lines)
    listed = strapwork("channels", "scenarios/quay-chapel.toml", build).stdout
    assert "NOT WIRED" in listed
    as_csv = strapwork("looms", "scenarios/quay-chapel.toml", build, "--format", "csv")
    assert ",NOT WIRED," in as_csv.stdout
    assert "NOT WIRED: " in as_csv.stderr


def test_hardware_that_describes_no_connector_has_no_loom_and_says_so() -> None:
    numbers = 0
    for seed in range(20):
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, pair.hardware)
        found = looms(loaded, pair.new)
        listed = channels(loaded, pair.new).rows
        assert (found.looms, found.bill) == ([], [])
        assert all("the files describe no connector of" in text for text in found.not_wired)
        assert bool(found.not_wired) == bool(listed)
        numbers += len(listed)
    assert numbers > 20


def test_a_spreadsheet_has_a_row_for_each_line() -> None:
    ran = strapwork("looms", *MIX, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.stdout, newline="")))
    document = LoomList.model_validate_json(strapwork("looms", *MIX, "--format", "json").stdout)
    assert len(rows) == sum(len(loom.lines) for loom in document.looms) == 48
    assert rows[0] == {
        "loom": "M1-in", "frame": "M", "slot": "1", "card": "line-in-8", "connector": "in", "connector_type": "db25",
        "plug": "male", "thread": "4-40 UNC", "pinout": "aes59", "direction": "in", "line": "1", "numbers": "1",
        "carries": "outboard returns 1", "hot": "24", "cold": "12", "shield": "25", "point": "P1 B1",
    }  # fmt: skip


@pytest.mark.parametrize("pinout", ["aes59-digital"])
def test_a_digital_loom_says_that_it_crosses_between_like_tables(tmp_path: Path, pinout: str) -> None:
    build = tmp_path / "van.toml"
    text = """
format = 1
[[frame]]
name = "FRAME"
board = "BOARD"
straps = { STRAPS }
cards = { "1" = "digital-12" }
"""
    scenario = "scenarios/quay-van.toml"
    frame = solver.load(scenario).scenario.frame[0]
    board = frame.board or "chert-40"
    settings = {"chert-40": '"block dial" = "0"'}
    build.write_text(text.replace("FRAME", frame.name).replace("BOARD", board).replace("STRAPS", settings[board]))
    ran = strapwork("looms", scenario, build)
    assert f"pinout {pinout}; pins not used: 13; straight only to {pinout}-crossed" in " ".join(ran.stdout.split())


TWO_FRAMES = """
format = 1
title = "Slot 12 of A, slot 2 of A1"
hardware = ["HARDWARE"]
currency = "GBP"
sample_rate = 48000
stock = { line-out-8 = 2 }

[[frame]]
name = "A"
chassis = "petrel-12"
board = "shale-64"

[[frame]]
name = "A1"
chassis = "petrel-12"
board = "shale-64"
"""

FILLED = """
format = 1

[[frame]]
name = "A"
board = "shale-64"
straps = { "input width" = "open", "output start" = "open", "clock end" = "T1" }
cards = { "12" = "line-out-8" }

[[frame]]
name = "A1"
board = "shale-64"
straps = { "input width" = "open", "output start" = "open", "clock end" = "T1" }
cards = { "12" = "line-out-8" }
"""


def test_a_frame_that_ends_in_a_digit_is_parted_from_its_slot(tmp_path: Path) -> None:
    room, build = tmp_path / "room.toml", tmp_path / "build.toml"
    hardware = (ROOT / "scenarios/hardware/quay.toml").as_posix()
    room.write_text(TWO_FRAMES.replace("HARDWARE", hardware), encoding="utf-8")
    build.write_text(FILLED, encoding="utf-8")
    assert [loom.name for loom in solver.looms(room, build).looms] == ["A12-out", "A1:12-out"]
    found = solver.find(room, build, "loom:A1:12-out").channels
    assert {channel.frame for channel in found} == {"A1"}
