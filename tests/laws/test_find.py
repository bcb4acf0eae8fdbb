"""Laws of `find`: there and back again is the identity for every number and name, and no more is found."""

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

from solver.answers.channels import channels
from solver.answers.find import find
from solver.answers.looms import looms
from solver.files.reading import Loaded, load_drawn
from solver.reports.found import FoundChannel
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.scenario import Room

ROOT = Path(__file__).parents[2]
MIX = ("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml")


def _one(loaded: Loaded, build: Build, name: str) -> FoundChannel:
    (found,) = find(loaded, build, name).channels
    return found


@some_or_all("seeds", range(40), range(600))
def test_from_a_number_to_its_need_and_back_is_the_same_path(seeds: Any) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, connected(seed, pair.hardware))
        on_looms = {
            (loom.frame, line.direction, number): loom.name
            for loom in looms(loaded, pair.new).looms
            for line in loom.lines
            for number in line.numbers
        }
        for row in channels(loaded, pair.new).rows:
            there = _one(loaded, pair.new, f"{row.frame}:{row.direction}:{row.number}")
            shared = {key: value for key, value in there.model_dump().items() if key in type(row).model_fields}
            assert shared == row.model_dump()
            assert there.find["number"] == f"{row.frame}:{row.direction}:{row.number}"
            if row.need is not None:
                assert _one(loaded, pair.new, there.find["need"]) == there
                met["needs"] += 1
            assert there in find(loaded, pair.new, there.find["slot"]).channels
            if row.hot is not None:
                assert there.loom == on_looms[row.frame, row.direction, row.number]
                assert there in find(loaded, pair.new, there.find["loom"]).channels
                met["looms"] += 1
            met["numbers"] += 1
    assert all(met[what] > len(seeds) // 4 for what in ("numbers", "needs", "looms"))


def test_a_need_a_slot_and_a_loom_find_all_that_is_theirs_and_no_more() -> None:
    for seed in range(40):
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, connected(seed, pair.hardware))
        rows = channels(loaded, pair.new).rows
        for need in {row.need for row in rows if row.need is not None}:
            found = find(loaded, pair.new, need).channels
            assert {(c.frame, c.direction, c.number) for c in found} == {
                (row.frame, row.direction, row.number) for row in rows if row.need == need
            }
        for frame in pair.new.frame:
            for slot, card in frame.seats():
                answer = find(loaded, pair.new, f"slot:{frame.name}:{slot}")
                assert [(place.slots[0], place.card) for place in answer.slots] == [(slot, card)]
                own = [row for row in rows if row.frame == frame.name and row.slot in answer.slots[0].slots]
                assert len([c for c in answer.channels if c.number is not None]) == len(own)
        for loom in looms(loaded, pair.new).looms:
            assert {c.loom for c in find(loaded, pair.new, f"loom:{loom.name}").channels} == {loom.name}


def test_what_is_not_there_is_not_found_and_the_nearest_is_named() -> None:
    pair = two_builds(3)
    loaded = Loaded(pair.scenario, pair.hardware)
    for name in ("slot:A:99", "A:in:9999", "nobody", "loom:A1-in", "card:", "", "A:in:01"):
        with pytest.raises(WrongQuestion):
            find(loaded, pair.new, name)
    ran = strapwork("find", *MIX, "outbord sends 3")
    assert ran.returncode == 2
    assert strapwork("find", *MIX, "zz").stderr.endswith(
        'called "zz"; ask for a number (A:37), a need, slot:A:5, card:ID, loom:NAME, bay:B14, far:EQUIPMENT, '
        "tie:BOX 3 or cable:NUMBER\n"
    )
    assert 'WHAT: nothing in this build is called "outbord sends 3"; did you mean "outboard sends 3"?' in ran.stderr


def test_a_point_is_found_as_lists_print_it_and_what_lacks_its_kind_is_named() -> None:
    assert (
        strapwork("find", *MIX, "p1 b1").stdout.splitlines()[1:]
        == (strapwork("find", *MIX, "bay:P1:B1").stdout.splitlines()[1:])
    )
    for asked, meant in (("b1", "bay:B1"), ("m1-IN", "loom:M1-in"), ("aes-8", "card:aes-8")):
        assert strapwork("find", *MIX, asked).stderr.endswith(f'called "{asked}"; did you mean "{meant}"?\n')


def test_a_path_is_told_whole_with_the_names_that_find_each_part() -> None:
    ran = strapwork("find", *MIX, "Outboard Sends 24 spare")
    assert ran.returncode == 0
    assert ran.stdout.splitlines() == [
        "Outboard Sends 24 spare: Gannet Quay, mix rig, 44.1 kHz",
        "                                                       find it by",
        "  number     M out 32                                  M:out:32",
        "  carries    outboard sends 24 (to spare); takes line  outboard sends 24",
        "  slot       5: line-out-8, channel 8 out              slot:M:5",
        "  connector  out (db25), hot 1, cold 14, shield 2      loom:M5-out",
        "  bay        P1 C16, far end D16, half-normalled       bay:P1:C16",
    ]


def test_a_number_without_its_direction_is_both() -> None:
    ran = strapwork("find", *MIX, "M:3")
    assert ran.stdout.splitlines()[2:] == [
        "  number   slot  card        ch  loom    point   carries",
        "  M in 3      1  line-in-8   3   M1-in   P1 B3   outboard returns 3",
        "  M out 3     2  line-duo-8  3   M2-out  P1 A19  outboard sends 3",
    ]


def test_a_name_that_two_rooms_have_finds_both_and_the_one_with_the_room_finds_one() -> None:
    met = 0
    for seed in range(120):
        pair = two_builds(seed)
        own = pair.scenario.rooms()[0]
        rooms = tuple(Room(name=name, frame=own.frame, need=own.need) for name in ("hall", "booth"))
        frames = tuple(f.model_copy(update={"room": room.name}) for room in rooms for f in pair.new.frame)
        more = {"room": rooms, "frame": (), "need": (), "must_seat": (), "clock_line": ()}
        loaded = Loaded(pair.scenario.model_copy(update=more), connected(seed, pair.hardware))
        build = pair.new.model_copy(update={"frame": frames})
        for row in channels(loaded, build).rows:
            if row.room == "hall" and row.need is not None and row.number % 2:
                number = f"{row.frame}:{row.direction}:{row.number}"
                both = find(loaded, build, number).channels
                assert {one.room for one in both} == {"hall", "booth"}
                for there in both:
                    assert all(_one(loaded, build, there.find[key]) == there for key in ("number", "need"))
                    assert there in find(loaded, build, there.find["slot"]).channels
                    assert {c.room for c in find(loaded, build, there.find["slot"]).channels} == {there.room}
                met += 1
    assert met > 30


def test_an_empty_slot_is_found_and_said_to_be_empty() -> None:
    ran = strapwork("find", *MIX, "slot:M:6")
    assert (ran.returncode, ran.stdout.splitlines()[1:]) == (0, ["  slot 6 of M  empty", "  no channel is there"])


def test_a_spreadsheet_gets_a_row_for_each_channel() -> None:
    ran = strapwork("find", *MIX, "loom:M2-in", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.stdout, newline="")))
    assert [(row["number"], row["need"], row["hot"]) for row in rows[:2]] == [
        ("17", "outboard returns", "24"),
        ("18", "outboard returns", "10"),
    ]
    assert len(rows) == 8


def test_a_faulty_build_is_said_to_be_one() -> None:
    ran = strapwork("find", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml", "A:1")
    assert ran.returncode == 1
    assert ran.stdout.startswith("FAULTY, 4 faults: Gannet Quay, the filled frame, 48 kHz\n")


def test_a_channel_with_a_name_is_found_by_it(tmp_path: Path) -> None:
    scenario = ROOT / "scenarios/quay-mix-rig.toml"
    text = scenario.read_text(encoding="utf-8").replace('"hardware/', f'"{(ROOT / "scenarios/hardware").as_posix()}/')
    named = tmp_path / "named.toml"
    named.write_text(text.replace('name = "reference in"', 'name = "reference in"\nchannel_names = ["left"]'))
    ran = strapwork("find", named, MIX[1], "left")
    lines = ran.stdout.splitlines()
    assert lines[3] == "  carries    left, which is reference in 1; takes aes3  reference in 1"
    (found,) = find(*load_drawn(named, ROOT / MIX[1]), "reference in 1").channels
    assert (found.name, found.number) == ("left", 25)
