"""Points of bays: none twice, in the order of the numbers, each loom on one block, sources above destinations."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from amounts import some_or_all
from connected import connected, with_bays
from inside import strapwork
from two_builds import two_builds

from solver.answers.channels import channels
from solver.answers.diff import diff
from solver.answers.find import find
from solver.answers.labels import labels
from solver.answers.standing_rooms import standing_rooms
from solver.files.reading import Loaded
from solver.handover.bays import Patched, patch
from solver.handover.looms import Numbered, numbered
from solver.judge import audit
from solver.rules.limit import Reading

ROOT = Path(__file__).parents[2]
RIG, NEXT = "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml"


def _row(point: str) -> int:
    return "ABCDEFGHIJKLMNOPQRSTUVWXYZ".index(point[0])


@some_or_all("seeds", range(150), range(2000))
def test_no_point_is_taken_twice_and_what_has_none_is_told(seeds: Any) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        loaded = Loaded(with_bays(seed, pair), connected(seed, pair.hardware))
        rooms = standing_rooms(loaded, pair.new)
        every = numbered(rooms)
        found = patch(rooms, every)
        places = Counter((p.bay.name, point) for p in found.points for point in (p.upper, p.lower))
        assert max(places.values(), default=1) == 1
        on_points = Counter(channel for patched in found.points for channel in patched.channels)
        assert max(on_points.values(), default=1) == 1
        for patched in found.points:
            assert 1 <= patched.point <= patched.bay.points
            assert _row(patched.lower) == _row(patched.upper) + 1 < patched.bay.rows
            assert _row(patched.upper) % 2 == 0
            assert patched.card_point == (patched.lower if patched.direction == "in" else patched.upper)
            assert {patched.card_point, patched.far_point} == {patched.upper, patched.lower}
            for channel in patched.channels:
                assert channel.signals <= set(patched.bay.signals)
                assert patched.bay.direction in (None, channel.direction)
        taken = [
            channel
            for channel in every
            if channel.number is not None
            and any(
                channel.signals <= set(bay.signals) and bay.direction in (None, channel.direction)
                for bay in loaded.scenario.bay
            )
        ]
        left = [channel for channel in taken if channel not in on_points]
        lines = {(c.frame, c.slot, c.direction, c.contact and c.contact.connector.id, _line(c)) for c in left}
        told = [int(note.text.split(" line")[0]) for note in found.notes if "without points" in note.text]
        assert sum(told) == len(lines)
        broken = [r for r in audit.faults(rooms[0].survey, rooms[0]) if r.limit.rule == "bay-points"]
        assert bool(broken) == bool(lines)
        assert all(rule_short(reading) > 0 for reading in broken)
        listed = {(row.frame, row.direction, row.number): row for row in channels(loaded, pair.new).rows}
        for patched in found.points:
            for channel in patched.channels:
                row = listed[channel.frame, channel.direction, channel.number or 0]
                assert (row.bay, row.point, row.far_point) == (
                    patched.bay.name,
                    patched.card_point,
                    patched.far_point,
                )
        _in_order_and_on_blocks(found.points, met)
        met["points"] += len(found.points)
        met["lacking"] += len(lines)
    assert all(met[what] > len(seeds) // 10 for what in ("points", "lacking", "in order", "on a block")), met


def rule_short(reading: Reading) -> int:
    return reading.used - reading.limit.bound


def _line(channel: Numbered) -> int:
    contact = channel.contact
    return channel.line if contact is None or contact.wires is None else contact.wires.line


def _loom(patched: Patched) -> tuple[object, ...]:
    first = patched.channels[0]
    contact = first.contact
    plug = contact and contact.pinout and len(contact.pinout.lines) > 1 and contact.connector.id
    return first.frame, first.slot, first.direction, plug, first.signals


def _in_order_and_on_blocks(points: tuple[Patched, ...], met: Counter[str]) -> None:
    firsts: dict[tuple[object, ...], int] = {}
    for patched in points:
        number = patched.channels[0].number or 0
        firsts[_loom(patched)] = min(number, firsts.get(_loom(patched), number))
    for bay in {patched.bay.name: patched.bay for patched in points}.values():
        own = [patched for patched in points if patched.bay == bay]
        if bay.rear is None:
            order = [(p.channels[0].frame, p.direction == "out", firsts[_loom(p)]) for p in own]
            back = (own[-1].pair, own[-1].point) == (bay.pairs, bay.points)
            assert order == sorted(order) or back
            met["in order"] += len(own) > 1 and order == sorted(order)
            continue
        blocks: dict[tuple[object, ...], set[tuple[int, int]]] = {}
        for patched in own:
            contact = patched.channels[0].contact
            if contact is None or contact.pinout is None or contact.wires is None or len(contact.pinout.lines) == 1:
                continue
            place = (patched.point - 1) % bay.block
            assert place == (contact.wires.line - 1) % bay.block
            part = (contact.wires.line - 1) // bay.block
            first = patched.channels[0]
            key = first.frame, first.slot, first.direction, contact.connector.id, part
            blocks.setdefault(key, set()).add((patched.pair, (patched.point - 1) // bay.block))
            met["on a block"] += 1
        assert all(len(block) == 1 for block in blocks.values())


def test_a_point_finds_its_channel_and_the_channel_its_point() -> None:
    met = 0
    for seed in range(40):
        pair = two_builds(seed)
        loaded = Loaded(with_bays(seed, pair), connected(seed, pair.hardware))
        for row in channels(loaded, pair.new).rows:
            if row.bay is None or row.number % 3:
                continue
            (there,) = find(loaded, pair.new, f"{row.frame}:{row.direction}:{row.number}").channels
            assert there.find["bay"] == f"bay:{row.bay}:{row.point}"
            assert there in find(loaded, pair.new, there.find["bay"]).channels
            assert there in find(loaded, pair.new, f"bay:{row.bay}:{row.far_point}").channels
            assert {c.bay for c in find(loaded, pair.new, f"bay:{row.bay}").channels} == {row.bay}
            met += 1
    assert met > 10


def test_a_point_that_nothing_is_on_is_said_to_be_free(tmp_path: Path) -> None:
    kept = ("block = 8 }\n", 'block = 8 }\nkeep = { D24 = "outboard sends 1" }\n')
    free = 'D24 of bay "P1" is free: no line of this build is on it'
    for changes, asked, told in (
        ((), "bay:P1:d24", free),
        ((kept,), "bay:d24", f'{free}, and it is kept for "outboard sends 1"'),
        ((), "bay:P1:E1", 'nothing in this build is called "bay:P1:E1"; did you mean "bay:P1:D1"?'),
    ):
        ran = strapwork("find", _rig(tmp_path, *changes), NEXT, asked)
        assert (ran.returncode, ran.stderr.strip().endswith(told)) == (2, True)


def test_a_point_that_one_bay_has_free_is_told_beside_what_another_has_there() -> None:
    ran = strapwork("find", RIG, NEXT, "bay:A5")
    assert (ran.returncode, "M in 5" in ran.stdout, "M out 9-10" in ran.stdout) == (0, True, True)
    ran = strapwork("find", RIG, NEXT, "bay:A12")
    assert (ran.returncode, "M in 12" in ran.stdout or "outboard returns 12" in ran.stdout) == (0, True)
    assert 'NOTE A12 of bay "P2" is free: no line of this build is on it' in " ".join(ran.stdout.split())


def test_what_is_found_has_the_notes_that_are_about_it(tmp_path: Path) -> None:
    """The mix rig with half its rows: what has no points is told under its own lines, and under no other."""
    rig = _rig(tmp_path, ("rows = 4", "rows = 2"))
    told = " ".join(strapwork("find", rig, NEXT, "M:out:17").stdout.split())
    assert "NOTE 16 lines without points of a bay: M out 17-32" in told
    for other in ("M:in:1", "slot:M:6"):
        assert "without points" not in strapwork("find", rig, NEXT, other).stdout
    assert "without points" in strapwork("channels", rig, NEXT).stdout


def test_what_diff_says_turns_the_earlier_points_into_the_later_ones() -> None:
    """By need: channels are counted anew in each build, so the points of a need are compared all together."""
    met = 0
    for seed in range(100):
        pair = two_builds(seed)
        loaded = Loaded(with_bays(seed, pair), connected(seed, pair.hardware))
        old, new = (
            Counter((row.need, row.bay, row.point) for row in channels(loaded, build).rows if row.need and row.bay)
            for build in (pair.old, pair.new)
        )
        found = diff(loaded, pair.old, pair.new).points
        for change in found:
            assert change.before != change.after
            for place, sign in ((change.before, -1), (change.after, 1)):
                if place is not None:
                    old[change.need, place.bay, place.point] += sign
        assert +old == new
        assert min(old.values(), default=0) >= 0
        assert diff(loaded, pair.new, pair.new).points == []
        met += len(found)
    assert met > 50


def test_labels_fit_and_no_text_on_one_sort_of_thing_means_two() -> None:
    met: Counter[str] = Counter()
    for seed in range(40):
        pair = two_builds(seed)
        loaded = Loaded(with_bays(seed, pair), connected(seed, pair.hardware))
        for width in (5, 12):
            found = labels(loaded, pair.new, width=width)
            points = [row for row in channels(loaded, pair.new).rows if row.bay is not None]
            at = {(label.strip, label.at) for label in found.labels if label.on == "bay"}
            assert at == {(f"{r.bay} {p[0]}", p) for r in points for p in (r.point, r.far_point) if p}
            for on in ("bay", "slot", "loom"):
                own = [label for label in found.labels if label.on == on and label.fits]
                assert all(len(label.text) <= width for label in own)
                meant = {label.text.casefold(): label.whole for label in own}
                assert all(meant[label.text.casefold()] == label.whole for label in own)
            assert all(label.text == label.whole for label in found.labels if not label.fits)
            assert all(len(label.whole) > width for label in found.labels if not label.fits)
            met["fit"] += sum(label.fits for label in found.labels)
            met["too long"] += sum(not label.fits for label in found.labels)
    assert min(met["fit"], met["too long"]) > 40


def _rig(folder: Path, *changes: tuple[str, str]) -> Path:
    """The mix rig that ships, with its bays changed."""
    text = (ROOT / RIG).read_text(encoding="utf-8")
    text = text.replace('"hardware/', f'"{(ROOT / "scenarios/hardware").as_posix()}/')
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / "rig.toml"
    path.write_text(text, encoding="utf-8")
    return path


KEPT = ("block = 8 }\n", 'block = 8 }\nkeep = { B9 = "outboard sends 1" }\n')


def test_numbers_are_written_alike_on_all_labels_of_bays(tmp_path: Path) -> None:
    """The longest is M out 15-16, of an AES3 line: in full 11 characters, 9 with the first letter, 7 without blanks."""

    def told(width: int) -> dict[str, str]:
        rows = json.loads(strapwork("labels", _rig(tmp_path), NEXT, "--width", width, "--format", "json").stdout)
        on_bays = [row for row in rows["labels"] if row["on"] == "bay" and row["whole"].startswith("M ")]
        return {row["whole"]: row["text"] if row["fits"] else "TOO LONG" for row in on_bays}

    assert all(text == whole for whole, text in told(11).items())
    assert all(text == whole.replace("in", "i").replace("out", "o") for whole, text in told(9).items())
    for width in (10, 9, 8, 7, 6):
        texts = told(width)
        assert (texts["M in 17"], texts["M out 1"]) == (("M i 17", "M o 1") if width > 8 else ("Mi17", "Mo1"))
        assert texts["M in 25-26"] == ("M i 25-26" if width > 8 else "Mi25-26" if width > 6 else "TOO LONG")
        assert texts["M out 9-10"] == ("M o 9-10" if width > 8 else "Mo9-10")


def test_the_rig_has_its_points_and_what_is_kept_stays(tmp_path: Path) -> None:
    rig = _rig(tmp_path, KEPT)
    ran = strapwork("channels", rig, NEXT)
    assert ran.returncode == 0
    lines = ran.stdout.splitlines()
    assert lines[3:5] == [
        "number    slot  card        ch  connector  point   carries",
        "M in 1       1  line-in-8    1  in         P1 B1   outboard returns 1",
    ]
    assert "M out 1      2  line-duo-8   1  out        P1 A9   outboard sends 1" in lines
    assert "M out 17     4  line-out-8   1  out        P1 C1   outboard sends 9" in lines
    assert "M in 26      3  aes-8        2  in-1       P2 B1   reference in 2" in lines
    assert max(map(len, lines)) <= 80
    told = strapwork("find", rig, NEXT, "bay:P1:a9").stdout.splitlines()
    assert told[-1] == "  bay        P1 A9, far end B9, half-normalled       bay:P1:A9"
    looms = strapwork("looms", rig, NEXT).stdout
    assert "  db25 male, 4-40 UNC; to P1 A9-A16; pinout aes59; pins not used: 13" in looms


def test_connectors_of_one_line_each_follow_each_other_on_a_block(tmp_path: Path) -> None:
    """Four AES3 inputs on a connector each take points 1 to 4 of the first block of four, the outputs the second."""
    rear = 'points = 12\nrear = { connector = "db25", block = 4 }\n'
    looms = strapwork("looms", _rig(tmp_path, ("points = 12\n", rear)), NEXT, "--format", "json").stdout
    told = {loom["name"]: loom["points"] for loom in json.loads(looms)["looms"]}
    assert [told[f"M3-in-{n}"] for n in range(1, 5)] == [[f"P2 B{n}"] for n in range(1, 5)]
    assert [told[f"M3-out-{n}"] for n in range(1, 5)] == [[f"P2 A{n}"] for n in range(5, 9)]


def test_a_bay_that_is_too_small_says_how_many_points_lack(tmp_path: Path) -> None:
    rig = _rig(tmp_path, ("rows = 4", "rows = 2"))
    ran = strapwork("channels", rig, NEXT)
    assert ran.returncode == 1
    told = " ".join(ran.stdout.split())
    assert told.startswith("FAULTY, 1 fault: Gannet Quay, mix rig, 44.1 kHz")
    assert (
        'bay-points bay "P1" is too small: it lacks 2 blocks of 8 points, 16 pairs; add 2 rows, another bay, or'
        " take fewer cards" in told
    )
    assert "NOTE 16 lines without points of a bay: M out 17-32" in told


@pytest.mark.parametrize("command", ["looms", "labels"])
def test_every_sheet_says_that_a_bay_is_wrong(tmp_path: Path, command: str) -> None:
    ran = strapwork(command, _rig(tmp_path, ("rows = 4", "rows = 2")), NEXT)
    assert (ran.returncode, ran.stdout.startswith("FAULTY, 1 fault: ")) == (1, True)
    assert strapwork("find", _rig(tmp_path, ("rows = 4", "rows = 2")), NEXT, "M:3").returncode == 1


def test_a_kept_point_that_its_loom_does_not_reach_is_told(tmp_path: Path) -> None:
    ran = strapwork("channels", _rig(tmp_path, (KEPT[0], KEPT[1].replace("B9", "B10"))), NEXT)
    assert ran.returncode == 1
    told = " ".join(ran.stdout.split())
    assert 'bay "P1": no block puts "outboard sends 1" where it is kept; the loom is on another one' in told


PREAMPS = """
[[bay]]
name = "mics"
signals = ["mic"]
points = 48
gauge = "bantam"
"""


def test_phantom_stands_on_no_jack_that_is_not_for_it(tmp_path: Path) -> None:
    filled = ROOT / "scenarios/quay-filled.toml"
    text = filled.read_text(encoding="utf-8")
    text = text.replace('"hardware/', f'"{(ROOT / "scenarios/hardware").as_posix()}/')
    wired = tmp_path / "filled.toml"
    wired.write_text(text + PREAMPS, encoding="utf-8")
    drawn = "scenarios/quay-filled-drawn.toml"
    told = " ".join(strapwork("channels", wired, drawn).stdout.split())
    assert 'bay "mics": phantom would stand on B1-B' in told
    wired.write_text(text + PREAMPS + 'phantom = "allowed"\n', encoding="utf-8")
    for command in ("channels", "looms", "labels"):
        told = " ".join(strapwork(command, wired, drawn).stdout.split())
        assert "phantom would" not in told
        assert re.search(
            'NOTE bay "mics": phantom may stand on B1-B[0-9]+ and what is joined to them: off before', told
        )
    both = PREAMPS.replace('["mic"]', '["mic", "line"]') + 'phantom = "allowed"\nnormal = "half"\nrows = 4\n'
    wired.write_text(text + both, encoding="utf-8")
    told = " ".join(strapwork("channels", wired, drawn).stdout.split())
    assert 'bay "mics": mic and digital lines are full or open, and B1-B' in told
