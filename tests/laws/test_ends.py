"""Laws of far ends, tie lines and cables: every name on a path finds it, and each conductor has its two ends."""

from __future__ import annotations

import csv
import io
import json
import random
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from amounts import some_or_all
from connected import connected
from inside import strapwork
from two_builds import Pair, two_builds

from solver.answers.channels import channels
from solver.answers.find import find
from solver.answers.labels import labels
from solver.files.endcheck import check_ends
from solver.files.reading import Loaded
from solver.handover.ends import FarPath
from solver.handover.levels import odd_levels
from solver.handover.looms import Numbered
from solver.room.bays import Bay, Rear
from solver.room.ends import AtBlock, Cable, FarEnd, TieEnd, TieLine, Via
from solver.room.pinouts import published
from solver.room.scenario import Scenario
from solver.room.words import Direction

ROOT = Path(__file__).parents[2]
RIG, NEXT = "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml"


def with_ends(seed: int, pair: Pair) -> Scenario:
    """The scenario of a pair with far ends for some channels of each need, tie lines, a bay and cables made up."""
    draw = random.Random(seed)
    ends, ties, lines = [], [], draw.sample(range(1, 400), 300)
    for n, need in enumerate(pair.scenario.need):
        own = draw.sample(range(1, need.demand + 1), draw.randint(0, need.demand))
        cut = draw.randint(0, len(own))
        for part, group in enumerate((own[:cut], own[cut:])):
            if not group:
                continue
            numbers = [lines.pop() for _ in group]
            told = ",".join(map(str, numbers))
            at = f"box {n}{'ab'[part]}"
            tie = TieLine(
                name=f"T{n}{part}",
                far=TieEnd(at=at, numbers=told),
                near=TieEnd(at="racks", numbers=",".join(str(number + 500) for number in numbers)),
            )
            ties.append(tie)
            ends.append(
                FarEnd(
                    equipment=f"unit {'xyz'[n % 3]}{part}{n}",
                    need=need.name,
                    channels=",".join(map(str, group)),
                    sockets=",".join(map(str, draw.sample(range(1, 60), len(group)))),
                    via=(Via(tie_line=tie.name, numbers=told),) if draw.random() < 0.5 else (),
                )
            )
    signals = tuple(sorted({signal for card in pair.hardware.card for port in card.ports for signal in port.signals}))
    rear = draw.choice([None, Rear(connector="db25", block=8)])
    bay = Bay(name="P1", signals=signals, rows=4, points=48, gauge="bantam", phantom="allowed", rear=rear)
    cables = tuple(Cable(number=f"C{n}", at=AtBlock(bay="P1", point=f"A{8 * n + 1}")) for n in range(3))
    more = {"far_end": tuple(ends), "tie_line": tuple(ties), "bay": (bay,), "cable": cables if rear else ()}
    return pair.scenario.model_copy(update=more)


@some_or_all("seeds", range(80), range(1500))
def test_every_name_on_a_path_finds_it(seeds: Any) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        pair = two_builds(seed)
        scenario = with_ends(seed, pair)
        (room,) = scenario.rooms()
        assert not [f for f in check_ends("x", (), room, published()) if f.severity == "fault"]
        loaded = Loaded(scenario, connected(seed, pair.hardware))
        told = {
            (end.need, channel): (end.called(end.socket(at)), [via.tie_line for via in end.via])
            for end in scenario.far_end
            for at, channel in enumerate(end.channels_of(1000))
        }
        rows = channels(loaded, pair.new).rows
        for row in rows:
            far, ties = told.get((row.need, row.channel or 0), (None, []))
            assert (row.far_end, len(row.via)) == (far, len(ties))
            if far is None:
                continue
            (there,) = find(loaded, pair.new, f"{row.frame}:{row.direction}:{row.number}").channels
            for key in ("far_end", "need", "number", "slot", "via", "cable", "bay", "loom"):
                if key in there.find:
                    assert there in find(loaded, pair.new, there.find[key]).channels
                    met[key] += 1
            assert [
                c for c in find(loaded, pair.new, there.find["far_end"]).channels if c.direction == row.direction
            ] == [there]
            for text in row.via:
                for end in text.split(" = "):
                    assert find(loaded, pair.new, end).channels == [there]
            met["ties"] += len(row.via)
    assert all(met[what] > len(seeds) // 12 for what in ("far_end", "via", "cable", "bay", "ties")), met


def test_lists_are_in_the_order_of_far_ends_and_of_bays() -> None:
    for seed in range(40):
        pair = two_builds(seed)
        loaded = Loaded(with_ends(seed, pair), pair.hardware)
        whole = channels(loaded, pair.new).rows
        for by in ("far-end", "bay"):
            rows = channels(loaded, pair.new, by=by).rows
            assert Counter(map(str, rows)) == Counter(map(str, whole))
            key = "far_end" if by == "far-end" else "bay"
            given = [getattr(row, key) is not None for row in rows]
            assert given == sorted(given, reverse=True)
        points = [(row.bay, row.point and row.point[0], row.point and int(row.point[1:])) for row in rows if row.bay]
        assert points == sorted(points)


def test_labels_of_tie_lines_say_what_each_line_carries_at_both_ends_alike() -> None:
    met = 0
    for seed in range(40):
        pair = two_builds(seed)
        scenario = with_ends(seed, pair)
        loaded = Loaded(scenario, pair.hardware)
        rows = channels(loaded, pair.new).rows
        carried = {end: row for row in rows for text in row.via for end in text.split(" = ")}
        found = [label for label in labels(loaded, pair.new, width=30).labels if label.on == "tie line"]
        assert len(found) == sum(2 * len(tie.far.labels()) for tie in scenario.tie_line)
        for label in found:
            row = carried.get(f"{label.strip.partition(', ')[2]} {label.at}")
            assert label.whole == ("not used" if row is None else f"{row.need} {row.channel}")
            met += row is not None
    assert met > 15


DIGITAL = """
[[card]]
id = "dig-8"
ports = [
  { direction = "in", signals = ["aes3"], channels = { "48" = 8 }, grain = 2 },
  { direction = "out", signals = ["aes3"], channels = { "48" = 8 }, grain = 2 },
]
[[card.connector]]
id = "io"
type = "db25"
gender = "female"
carries = [{ port = 1 }, { port = 2 }]
pinout = "aes59-digital"
[[board]]
id = "plain"
limits = { "48" = { in = 32, out = 32 } }
inputs = { first_slot = 1, widths = 8 }
outputs = { first_slot = 1, widths = 8 }
[[chassis]]
id = "small"
slot_count = 2
boards = ["plain"]
"""

DESK = """\
format = 1
title = "Desk"
hardware = ["desk-hardware.toml"]
currency = "GBP"
[stock]
dig-8 = 1
[[frame]]
name = "A"
chassis = "small"
board = "plain"
[[need]]
name = "from desk"
direction = "in"
signal = "aes3"
channels = 8
[[need]]
name = "to desk"
direction = "out"
signal = "aes3"
channels = 8
[[far_end]]
equipment = "desk"
need = "from desk"
sockets = "1-8"
pinout = "PINOUT"
cable = "D1"
[[far_end]]
equipment = "desk"
need = "to desk"
sockets = "1-8"
pinout = "PINOUT"
cable = "D1"
[[cable]]
number = "D1"
wiring = "WIRING"
card_end = { connector = "db25", gender = "GENDER" }
"""

STANDS = """\
format = 1
[[frame]]
name = "A"
board = "plain"
straps = {}
cards = { "1" = "dig-8" }
"""


def _desk(folder: Path, pinout: str, wiring: str, gender: str = "male") -> tuple[Path, Path]:
    scenario, build = folder / "desk.toml", folder / "build.toml"
    text = DESK.replace("PINOUT", pinout).replace("WIRING", wiring).replace("GENDER", gender)
    (folder / "desk-hardware.toml").write_text(f"format = 1\n{DIGITAL}", encoding="utf-8")
    scenario.write_text(text, encoding="utf-8")
    build.write_text(STANDS, encoding="utf-8")
    return scenario, build


@pytest.mark.parametrize(
    ("pinout", "wiring", "wrong"),
    [
        ("aes59-digital", "straight", True),
        ("aes59-digital", "crossed", False),
        ("aes59-digital-crossed", "straight", False),
        ("aes59-digital-crossed", "crossed", True),
    ],
)
def test_a_straight_cable_between_two_like_digital_connectors_joins_outputs_to_outputs(
    tmp_path: Path, pinout: str, wiring: str, wrong: bool
) -> None:
    """AES59 has its inputs on the pins of analogue 1 to 4 and its outputs on those of 5 to 8, on every equipment."""
    desk = _desk(tmp_path, pinout, wiring)
    for command in ("check", "channels", "looms", "labels"):
        ran = strapwork(command, *desk)
        told = " ".join(ran.stdout.split())
        assert (ran.returncode, "one-driver" in told or "one driver" in told or "driver to driver" in told) == (
            wrong,
            wrong,
        )
        if wrong:
            assert f'cable "D1", {wiring}, as loom A1-io: in 1-4 of dig-8 in A slot 1 meets in lines of "desk"' in told
            assert "receiver to receiver; out 1-4 of dig-8 in A slot 1 meets out lines of" in told


def test_a_cable_that_does_not_go_into_the_card_is_told(tmp_path: Path) -> None:
    ran = strapwork("looms", *_desk(tmp_path, "aes59-digital", "crossed", "female"))
    told = " ".join(ran.stdout.split())
    assert ran.returncode == 0
    assert 'cable "D1" as loom A1-io: a female plug does not go into the female connector of dig-8' in told


def test_pins_that_no_line_of_the_other_end_has_are_a_fault(tmp_path: Path) -> None:
    ran = strapwork("looms", *_desk(tmp_path, "aes59", "crossed"))
    assert ran.returncode == 0  # both have the pins of AES59, and an analogue line has no direction of its own
    own = '[[pinout]]\nid = "own"\ntype = "db25"\npins = ["1-3"]\n'
    own += 'lines = [{ line = 1, hot = "1", cold = "2", shield = "3" }]\n'
    desk = _desk(tmp_path, "own", "straight")
    (tmp_path / "desk-hardware.toml").write_text(f"format = 1\n{DIGITAL}{own}", encoding="utf-8")
    told = " ".join(strapwork("looms", *desk).stdout.split())
    assert 'in 1-4 of dig-8 in A slot 1 meets pins of other lines at "desk"' in told


def _levels(maximum: str, full_scale: str, direction: Direction, **more: object) -> list[str]:
    end = FarEnd.model_validate({"equipment": "plate", "need": "n", "maximum": maximum, **more})
    channel = Numbered(None, "A", direction, 3, 1, "c", 3, 3, frozenset({"line"}), (), None)
    return [note.text for note in odd_levels({channel: FarPath(end, None, None, ())}, {channel: full_scale})]


@pytest.mark.parametrize(
    ("maximum", "scale", "direction", "more", "told"),
    [
        ("+24 dBu", "+18 dBu", "in", {}, 'A in 3: "plate" reaches +24 dBu, and full scale is +18 dBu: clips by 6 dB'),
        ("+18 dBu", "+24 dBu", "in", {}, None),
        ("+12 dBu", "+24 dBu", "in", {}, None),
        ("+11.9 dBu", "+24 dBu", "in", {}, '"plate" reaches +11.9 dBu, and full scale is +24 dBu: 12.1 dB unused'),
        ("+6 dBV", "+24 dBu", "in", {}, "15.8 dB unused"),
        ("+18 dBu", "+24 dBu", "out", {}, 'full scale is +24 dBu, and "plate" takes +18 dBu: clips by 6 dB'),
        ("+18 dBu", "+24 dBu", "out", {"balanced": False, "cold": "open"}, None),
        ("+26 dBu", "+18 dBu", "out", {"balanced": False, "cold": "open"}, "6 dB less with one leg, and"),
        ("+26 dBu", "+18 dBu", "out", {"balanced": False, "cold": "joined"}, None),
    ],
)
def test_what_clips_or_leaves_more_than_12_decibels_unused_is_told(
    maximum: str, scale: str, direction: Direction, more: dict[str, object], told: str | None
) -> None:
    """Full scale at +18 dBu is that of EBU R68, at +24 dBu of SMPTE RP 155 (both from memory); 12 dB is practice."""
    found = _levels(maximum, scale, direction, **more)
    assert len(found) == (told is not None)
    assert told is None or told in found[0]


def test_what_clips_in_frames_of_one_name_is_told_room_by_room() -> None:
    end = FarEnd.model_validate({"equipment": "plate", "need": "n", "maximum": "+24 dBu"})
    own = [Numbered(room, "A", "in", 3, 1, "c", 3, 3, frozenset({"line"}), (), None) for room in ("live", "mix")]
    found = odd_levels(dict.fromkeys(own, FarPath(end, None, None, ())), dict.fromkeys(own, "+18 dBu"))
    assert [note.text.split(":")[0] for note in found] == ["live, A in 3", "mix, A in 3"]


ENDS = """
[[tie_line]]
name = "T1"
far = { at = "booth box", numbers = "1-8", connector = "xlr" }
near = { at = "machine room", numbers = "101-108" }

[[cable]]
number = "C17"
other_end = { connector = "db25", gender = "male" }
at = { bay = "P1", point = "B1" }
wiring = "straight"
length_m = 3

[[far_end]]
equipment = "plate"
need = "outboard returns"
channels = "1-2"
sockets = "1-2"
place = "booth"
via = [{ tie_line = "T1", numbers = "3-4" }]
"""


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    """The mix rig that ships, with a far end."""
    text = (ROOT / RIG).read_text(encoding="utf-8") + ENDS
    path = tmp_path / "rig.toml"
    path.write_text(text.replace('"hardware/', f'"{(ROOT / "scenarios/hardware").as_posix()}/'), encoding="utf-8")
    return path


def test_a_path_is_told_from_the_number_to_the_equipment(rig: Path) -> None:
    ran = strapwork("find", rig, NEXT, "machine room 103")
    assert ran.stdout.splitlines() == [
        "machine room 103: Gannet Quay, mix rig, 44.1 kHz",
        "                                                     find it by",
        "  number      M in 1                                 M:in:1",
        "  carries     outboard returns 1; takes line         outboard returns 1",
        "  slot        1: line-in-8, channel 1 in             slot:M:1",
        "  connector   in (db25), hot 24, cold 12, shield 25  loom:M1-in",
        "  bay         P1 B1, far end A1, half-normalled      bay:P1:B1",
        "  tie line    booth box 3 = machine room 103         tie:booth box 3",
        "  cable       C17                                    cable:C17",
        "  comes from  plate 1, booth                         far:plate 1",
    ]


def test_a_loom_says_which_cable_it_is_and_where_its_lines_go(rig: Path) -> None:
    lines = strapwork("looms", rig, NEXT).stdout.splitlines()
    at = lines.index("M1-in: line-in-8 in slot 1, in 1-8")
    assert lines[at + 2 : at + 6] == [
        "  cable C17, straight, 3 m; other end db25 male",
        "  line  number  hot  cold  shield  far end  carries",
        "  in 1  M in 1   24    12      25  plate 1  outboard returns 1",
        "  in 2  M in 2   10    23      11  plate 2  outboard returns 2",
    ]
    rows = list(csv.DictReader(io.StringIO(strapwork("looms", rig, NEXT, "--format", "csv").stdout, newline="")))
    assert (rows[0]["cable"], rows[0]["point"], rows[0]["far_end"]) == ("C17", "P1 B1", "plate 1")


def test_a_list_with_far_ends_keeps_within_80_columns(rig: Path) -> None:
    for arguments in (("channels", "--by", "far-end"), ("channels", "--by", "bay"), ("looms",), ("labels",)):
        ran = strapwork(arguments[0], rig, NEXT, *arguments[1:])
        assert ran.returncode == 0
        assert max(map(len, ran.stdout.splitlines())) <= 80
    first = strapwork("channels", rig, NEXT, "--by", "far-end").stdout.splitlines()[3:6]
    assert first == [
        "number    slot  card        ch  point   far end  carries",
        "M in 1       1  line-in-8    1  P1 B1   plate 1  outboard returns 1",
        "M in 2       1  line-in-8    2  P1 B2   plate 2  outboard returns 2",
    ]


def test_a_faulty_loom_of_one_of_two_rooms_is_told_once(tmp_path: Path) -> None:
    scenario, build = _desk(tmp_path, "aes59-digital", "straight")
    text = scenario.read_text(encoding="utf-8")
    head, body = text.split("[[frame]]", 1)
    body = "[[frame]]" + body
    for key in ("frame", "need", "far_end", "cable"):
        body = body.replace(f"[[{key}]]", f"[[room.{key}]]")
    scenario.write_text(head + "".join(f'[[room]]\nname = "{name}"\n{body}' for name in ("N", "S")), encoding="utf-8")
    stands = "".join(
        STANDS.removeprefix("format = 1\n").replace('name = "A"', f'name = "A"\nroom = "{r}"') for r in "NS"
    )
    build.write_text("format = 1\n" + stands, encoding="utf-8")
    told = " ".join(strapwork("check", scenario, build).stdout.split())
    assert told.count('cable "D1", straight, as loom A1-io') == 2
    told = " ".join(strapwork("looms", scenario, build, "--room", "N").stdout.split())
    assert told.count('cable "D1", straight, as loom A1-io') == 1


SET = """
[[card.setting]]
name = "full_scale_level"
direction = "in"
per = "card"
choices = ["+18 dBu", "+24 dBu"]
"""


def test_what_clips_is_told_by_what_the_card_is_set_to(tmp_path: Path) -> None:
    hardware = (ROOT / "scenarios/hardware/quay.toml").read_text(encoding="utf-8")
    at = hardware.index("[[card.connector]]", hardware.index('id = "line-in-8"'))
    (tmp_path / "quay.toml").write_text(hardware[:at] + SET.lstrip() + hardware[at:], encoding="utf-8")
    rig = tmp_path / "rig.toml"
    text = (ROOT / RIG).read_text(encoding="utf-8") + ENDS.replace('place = "booth"', 'maximum = "+22 dBu"')
    rig.write_text(text.replace('"hardware/quay.toml"', '"quay.toml"'), encoding="utf-8")
    told = " ".join(strapwork("channels", rig, NEXT).stdout.split())
    assert 'M in 1-2: "plate" reaches +22 dBu, and full scale is +18 dBu: clips by 4 dB' in told
    build = tmp_path / "build.toml"
    wider = 'settings = [{ slot = 1, setting = "full_scale_level", direction = "in", to = "+24 dBu" }]\n'
    drawn = (ROOT / NEXT).read_text(encoding="utf-8")
    build.write_text(drawn.replace("straps =", wider + "straps =", 1), encoding="utf-8")
    ran = strapwork("channels", rig, build, "--format", "csv")
    row = next(csv.DictReader(io.StringIO(ran.stdout, newline="")))
    assert row["settings"] == "full_scale_level +24 dBu"
    assert "clips" not in strapwork("channels", rig, build).stdout
    assert "set to      full_scale_level +24 dBu" in strapwork("find", rig, build, "plate 1").stdout


def test_a_digital_loom_with_inputs_and_outputs_is_one_step(tmp_path: Path) -> None:
    ran = strapwork("work-order", *_desk(tmp_path, "aes59-digital", "crossed"), "--format", "json")
    steps = [step for section in json.loads(ran.stdout)["sections"] for step in section["steps"]]
    (told,) = [step["text"] for step in steps if "loom A1-io" in step["text"]]
    assert told.startswith("Inputs and outputs, far ends of the outputs left unplugged: loom A1-io, cable D1: connect ")
    assert ('"from desk" 1-8 to A in 1-8' in told, '"to desk" 1-8 to A out 1-8' in told) == (True, True)


def test_a_build_that_does_not_say_what_serves_what_is_told_as_a_guess(tmp_path: Path) -> None:
    """Channels of such a build are those that serve the needs best, which nobody has to have plugged."""
    scenario, silent = _desk(tmp_path, "aes59-digital", "crossed")
    said = tmp_path / "said.toml"
    serves = '[{ need = "from desk", slot = 1, channels = "1-8" }, { need = "to desk", slot = 1, channels = "1-8" }]'
    said.write_text(f"{silent.read_text(encoding='utf-8')}serves = {serves}\n", encoding="utf-8")
    for command, names in (
        (("diff", scenario, silent, said), ["the earlier build"]),
        (("diff", scenario, said, silent), ["the later build"]),
        (("diff", scenario, said, said), []),
        (("work-order", scenario, said, "--from", silent), ["what stands"]),
        (("list", scenario, silent), ["the build"]),
        (("channels", scenario, silent), ["the build"]),
        (("channels", scenario, said), []),
    ):
        notes = json.loads(strapwork(*command, "--format", "json").stdout)["notes"]
        told = "told as it would serve the needs best; serves in the build file settles it"
        assert [note for note in notes if "serves is not said" in note] == [
            f"{name}: what frame A serves is not said: {told}" for name in names
        ], command
