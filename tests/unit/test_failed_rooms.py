"""What fails in one of several rooms: the shelf that all share, and lines of other rooms, idle ones before others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

import generate
import pytest
from amounts import some_or_all
from inside import strapwork
from samples import change

import solver
from solver.answers.failed import failed
from solver.answers.rooms import plan_rooms
from solver.files.reading import Loaded
from solver.fitted.moves import serving
from solver.fitted.standing import Standing
from solver.judge.campus import build_of_campus, survey_campus
from solver.reports.failed import Repair
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, Direction
from solver.search.solve.clock import Clock

ROOT = Path(__file__).parents[2]

ROOMS = f"""\
format = 1
title = "Gannet Quay, three rooms"
hardware = ["{(ROOT / "scenarios/hardware/quay.toml").as_posix()}"]
currency = "GBP"
[stock]
mic-8 = 3
[[room]]
name = "Stage"
frame = [{{ name = "A", chassis = "wren-4", board = "slate-32" }}]
need = [{{ name = "boxes", direction = "in", signal = "mic", channels = 8 }}]
[[room]]
name = "Booth"
frame = [{{ name = "A", chassis = "wren-4", board = "slate-32" }}]
need = [
  {{ name = "voices", direction = "in", signal = "mic", channels = 5, spare = 1 }},
  {{ name = "talkback", direction = "in", signal = "mic", channels = 2, importance = "nice" }},
]
[[room]]
name = "Edit"
frame = [{{ name = "B", chassis = "wren-4", board = "slate-32" }}]
need = [{{ name = "voices", direction = "in", signal = "mic", channels = 6 }}]
"""


def _frame(name: str, room: str, *serves: tuple[str, str]) -> str:
    told = ", ".join(f'{{ need = "{need}", slot = 1, channels = "{channels}" }}' for need, channels in serves)
    return (
        f'[[frame]]\nname = "{name}"\nroom = "{room}"\nboard = "slate-32"\nstraps = {{ layout = "1" }}\n'
        f'cards = {{ 1 = "mic-8" }}\nserves = [{told}]\n'
    )


STANDS = "format = 1\n" + "".join(
    [
        _frame("A", "Booth", ("voices", "1-6"), ("talkback", "7-8")),
        _frame("A", "Stage", ("boxes", "1-8")),
        _frame("B", "Edit", ("voices", "1-6")),
    ]
)


def _files(folder: Path, *changes: tuple[str, str]) -> tuple[Path, Path]:
    text = ROOMS
    for old, new in changes:
        text = change(text, old, new)
    (folder / "rooms.toml").write_text(text, "utf-8")
    (folder / "stands.toml").write_text(STANDS, "utf-8")
    return folder / "rooms.toml", folder / "stands.toml"


def test_another_room_gives_what_is_idle_then_to_spare_then_nice_to_have(tmp_path: Path) -> None:
    """By hand: two idle in the edit room, one to spare and two of talkback in the booth; three of eight are lost."""
    found = solver.failed(*_files(tmp_path), "slot:A:1", room="Stage")
    assert [repair.how for repair in found.repairs] == ["patching", "shelf", "room"]
    borrowed = found.repairs[2]
    assert (borrowed.proven, borrowed.outcome, borrowed.gives_way) == (True, "partly", {"Booth, talkback": 2})
    to = {each.now for each in borrowed.moved if each.need == "boxes" and each.now}
    assert to == {"Edit, B:in:7", "Edit, B:in:8", "Booth, A:in:6", "Booth, A:in:7", "Booth, A:in:8"}
    given = [(each.need, each.channel, each.spare) for each in borrowed.moved if each.need != "boxes"]
    assert given == [("Booth, talkback", 1, False), ("Booth, talkback", 2, False), ("Booth, voices", 6, True)]


def test_what_is_idle_elsewhere_is_enough_for_few(tmp_path: Path) -> None:
    found = solver.failed(*_files(tmp_path), "A:in:1", "A:in:2", room="Stage")
    borrowed = next(repair for repair in found.repairs if repair.how == "room")
    assert (borrowed.outcome, borrowed.lost, borrowed.gives_way) == ("whole", 0, {})
    assert [(each.was, each.now) for each in borrowed.moved] == [
        ("A:in:1", "Edit, B:in:7"),
        ("A:in:2", "Edit, B:in:8"),
    ]
    assert "one clock for both rooms" in " ".join(borrowed.notes)
    ran = strapwork("failed", *_files(tmp_path), "A:in:1", "--room", "Stage")
    said = " ".join(ran.stdout.split())
    assert "Lids on, by patching, from other rooms: 1 channel gets another number" in said
    assert "three rooms, room Stage, 48 kHz" in said
    assert max(map(len, ran.stdout.splitlines())) <= 80


def test_what_is_nice_to_have_takes_nothing_nice_elsewhere(tmp_path: Path) -> None:
    files = _files(tmp_path, ("channels = 8 }", 'channels = 8, importance = "nice" }'))
    borrowed = solver.failed(*files, "slot:A:1", room="Stage").repairs[-1]
    assert (borrowed.how, borrowed.gives_way, borrowed.lost) == ("room", {}, 5)


def test_what_asks_for_one_run_goes_elsewhere_all_the_same(tmp_path: Path) -> None:
    """By hand as above: five of eight find a line, and a note says that they are in no run."""
    files = _files(tmp_path, ("channels = 8 }", "channels = 8, consecutive = true }"))
    borrowed = solver.failed(*files, "slot:A:1", room="Stage").repairs[-1]
    assert (borrowed.how, borrowed.proven, borrowed.gives_way) == ("room", True, {"Booth, talkback": 2})
    to = [each.now for each in borrowed.moved if each.need == "boxes" and each.now]
    assert sorted(to) == ["Booth, A:in:6", "Booth, A:in:7", "Booth, A:in:8", "Edit, B:in:7", "Edit, B:in:8"]
    assert any("other rooms do not keep to that" in note for note in borrowed.notes)


def test_a_room_at_another_rate_lends_nothing(tmp_path: Path) -> None:
    files = _files(tmp_path, ('name = "Edit"\n', 'name = "Edit"\nsample_rate = 96000\n'))
    borrowed = solver.failed(*files, "slot:A:1", room="Stage").repairs[-1]
    assert {(each.now or "").partition(",")[0] for each in borrowed.moved} == {"", "Booth"}


def test_the_shelf_is_what_no_room_uses(tmp_path: Path) -> None:
    """Three stand: with a fourth there is a spare for any room."""
    files = _files(tmp_path, ("mic-8 = 3", "mic-8 = 4"))
    shelf = solver.failed(*files, "slot:A:1", room="Stage").repairs[1]
    assert (shelf.outcome, shelf.from_shelf) == ("whole", {"mic-8": 1})
    assert solver.failed(*_files(tmp_path), "slot:A:1", room="Stage").repairs[1].outcome == "none"


def test_the_worst_of_a_room_is_that_of_the_room(tmp_path: Path) -> None:
    found = solver.single_points(*_files(tmp_path), room="Booth")
    assert [(point.what, point.lost) for point in found.points] == [("slot:A:1", 7), ("board:A", 7)]
    assert (
        "--room Booth says what mends the first"
        in strapwork("single-points", *_files(tmp_path), "--room", "Booth").stdout
    )


TWO_ROOMS = f"""\
format = 1
title = "Gannet Quay, two rooms"
hardware = ["{(ROOT / "scenarios/hardware/quay.toml").as_posix()}"]
currency = "GBP"
[stock]
mic-line-8 = 2
line-in-8 = 1
mic-8 = 1
[[room]]
name = "Stage"
frame = [{{ name = "A", chassis = "wren-4", board = "slate-32" }}]
need = [
  {{ name = "voices", direction = "in", signal = "mic", channels = 4 }},
  {{ name = "playback", direction = "in", signal = "line", channels = 4 }},
  {{ name = "others", direction = "in", signal = "line", channels = 4 }},
]
[[room]]
name = "Edit"
frame = [{{ name = "B", chassis = "wren-4", board = "slate-32" }}]
need = [
  {{ name = "dubs", direction = "in", signal = "line", channels = 4 }},
  {{ name = "more", direction = "in", signal = "mic", channels = 7 }},
]
"""

TWO_STAND = """\
format = 1
[[frame]]
name = "A"
room = "Stage"
board = "slate-32"
straps = { layout = "1" }
cards = { 1 = "mic-line-8", 2 = "mic-line-8" }
serves = [
  { need = "voices", slot = 1, channels = "1-4" },
  { need = "playback", slot = 1, channels = "5-8" },
  { need = "others", slot = 2, channels = "1-4" },
]
[[frame]]
name = "B"
room = "Edit"
board = "slate-32"
straps = { layout = "1" }
cards = { 1 = "line-in-8", 2 = "mic-8" }
serves = [
  { need = "dubs", slot = 1, channels = "1-4" },
  { need = "more", slot = 2, channels = "1-7" },
]
"""


@pytest.mark.parametrize("microphone_idle", [True, False])
def test_own_lines_are_dealt_with_those_of_other_rooms(tmp_path: Path, *, microphone_idle: bool) -> None:
    """By hand: the four that are idle in the room take either signal, so what goes elsewhere fits there, and all go on.

    Elsewhere four for playback are idle, and one for a microphone or none.
    """
    stands = TWO_STAND if microphone_idle else change(TWO_STAND, 'channels = "1-7"', 'channels = "1-8"')
    rooms = TWO_ROOMS if microphone_idle else change(TWO_ROOMS, "channels = 7", "channels = 8")
    (tmp_path / "rooms.toml").write_text(rooms, "utf-8")
    (tmp_path / "stands.toml").write_text(stands, "utf-8")
    found = solver.failed(tmp_path / "rooms.toml", tmp_path / "stands.toml", "slot:A:1", room="Stage")
    assert [(each.how, each.lost) for each in found.repairs] == [("patching", 4), ("shelf", 0), ("room", 0)]
    borrowed = found.repairs[2]
    assert (borrowed.proven, borrowed.outcome, borrowed.gives_way) == (True, "whole", {})
    to = {each.now: each.need for each in borrowed.moved}
    more = {"Edit, B:in:16"} if microphone_idle else set()
    assert {f"A:in:{number}" for number in range(13, 17)} <= to.keys()
    assert (
        to.keys()
        <= {f"{name}:{n}" for name, own in (("A:in", range(13, 17)), ("Edit, B:in", range(5, 9))) for n in own} | more
    )
    assert len(to) == 8
    assert {to.get(f"Edit, B:in:{number}", "playback") for number in range(5, 9)} == {"playback"}


def test_what_is_to_spare_goes_to_no_other_room(tmp_path: Path) -> None:
    """Six of eight are needed: two on what is idle, one on what is to spare, two on what is nice; one is lost."""
    files = _files(tmp_path, ("channels = 8 }", "channels = 6, spare = 2 }"))
    borrowed = solver.failed(*files, "slot:A:1", room="Stage").repairs[-1]
    assert (borrowed.how, borrowed.lost, borrowed.gives_way) == ("room", 3, {"Booth, talkback": 2})
    assert [each.now for each in borrowed.moved if each.need == "boxes" and each.spare] == [None, None]
    borrowed = solver.failed(*files, "A:in:1", "A:in:2", "A:in:3", room="Stage").repairs[-1]
    assert (borrowed.how, borrowed.lost) == ("room", 0)
    elsewhere = [(each.spare, each.now) for each in borrowed.moved if each.now and "," in each.now]
    assert elsewhere == [(False, "Edit, B:in:7")]


def test_what_is_to_spare_goes_on_where_a_third_room_has_a_line_for_it(tmp_path: Path) -> None:
    """By hand: only the booth has a line for a microphone, with playback to spare on it; the edit room takes that."""
    rooms = (
        ROOMS.partition("[stock]")[0]
        + """\
[stock]
mic-8 = 1
mic-line-8 = 1
line-in-8 = 1
[[room]]
name = "Stage"
frame = [{ name = "A", chassis = "wren-4", board = "slate-32" }]
need = [{ name = "boxes", direction = "in", signal = "mic", channels = 8 }]
[[room]]
name = "Booth"
frame = [{ name = "A", chassis = "wren-4", board = "slate-32" }]
need = [{ name = "playback", direction = "in", signal = "line", channels = 7, spare = 1 }]
[[room]]
name = "Edit"
frame = [{ name = "B", chassis = "wren-4", board = "slate-32" }]
need = [{ name = "dubs", direction = "in", signal = "line", channels = 4 }]
"""
    )
    stands = "format = 1\n" + "".join(
        [
            change(_frame("A", "Booth", ("playback", "1-8")), "mic-8", "mic-line-8"),
            _frame("A", "Stage", ("boxes", "1-8")),
            change(_frame("B", "Edit", ("dubs", "1-4")), "mic-8", "line-in-8"),
        ]
    )
    (tmp_path / "rooms.toml").write_text(rooms, "utf-8")
    (tmp_path / "stands.toml").write_text(stands, "utf-8")
    found = solver.failed(tmp_path / "rooms.toml", tmp_path / "stands.toml", "A:in:1", room="Stage")
    borrowed = next(repair for repair in found.repairs if repair.how == "room")
    assert (borrowed.proven, borrowed.lost, borrowed.gives_way) == (True, 0, {})
    assert [(each.need, each.spare, each.was, each.now) for each in borrowed.moved] == [
        ("boxes", False, "A:in:1", "Booth, A:in:8"),
        ("Booth, playback", True, "Booth, A:in:8", "Edit, B:in:5"),
    ]


def _most(working: Sequence[tuple[str, str]], lost: Sequence[str], lines: Mapping[str, frozenset[str]]) -> int:
    """How many lost signals can have a line of their own while all that works, on given lines, goes on somewhere.

    By growing paths: a signal that has a line never loses it without getting another one.
    """
    signals = [*(signal for _, signal in working), *lost]
    owner = {name: n for n, (name, _) in enumerate(working)}

    def grow(channel: int, seen: set[str]) -> bool:
        for name, own in lines.items():
            if name not in seen and signals[channel] in own:
                seen.add(name)
                if name not in owner or grow(owner[name], seen):
                    owner[name] = channel
                    return True
        return False

    return sum(grow(channel, set()) for channel in range(len(working), len(signals)))


@some_or_all("seeds", range(60), range(800))
def test_other_rooms_carry_as_much_as_can_be_and_lose_nothing_that_has_to_be_met(seeds: range) -> None:
    """Against pairing every channel of the room with a line of its own or of others, read from the builds."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_campus(seed)
        best = plan_rooms(survey_campus(scenario, hardware), 1, Clock()).best
        if best is None:
            continue
        build = build_of_campus(best.standing)
        for room in best.standing.rooms:
            for frame in room.frames[:1]:
                seat = frame.seats[seed % len(frame.seats)]
                what = f"slot:{frame.site.name}:{seat.slot}"
                told = failed(Loaded(scenario, hardware), build, [what], 1, Clock(), room.survey.room)
                patching = next((each for each in told.repairs if each.how == "patching"), None)
                borrowed = next((each for each in told.repairs if each.how == "room"), None)
                if patching is None or not patching.lost:
                    assert borrowed is None
                    continue
                assert patching.proven
                assert borrowed is None or borrowed.proven
                others = [own for own in best.standing.rooms if own is not room]
                dead = frozenset((frame.site.name, slot) for slot in seat.covers)
                _compare(room, others, dead, patching, borrowed, seen)
    assert min(seen["carried"], seen["nothing"]) >= 5, seen


def _lines(room: Standing, direction: Direction, prefix: str) -> dict[str, frozenset[str]]:
    return {
        f"{prefix}{frame.site.name}:{line.slot}:{channel}": line.line_type.signals
        for frame in room.frames
        for line in frame.lines(direction)
        for channel in line.channels
    }


def _asked(room: Standing, direction: Direction, prefix: str) -> list[tuple[str, Need]]:
    """Where each channel is, but those to spare."""
    return [
        (f"{prefix}{spot.frame}:{spot.slot}:{spot.card_channel}", need)
        for (_, need), spots in serving([room]).items()
        if need.direction == direction
        for spot in spots[: need.channels]
    ]


def _compare(
    room: Standing,
    others: Sequence[Standing],
    dead: frozenset[tuple[str, int]],
    patching: Repair,
    borrowed: Repair | None,
    seen: Counter[str],
) -> None:
    taken = [each.now for each in (borrowed.moved if borrowed else ()) if each.now is not None]
    assert len(taken) == len(set(taken))
    lends = [own for own in others if own.survey.sample_rate == room.survey.sample_rate]
    held: set[str] = set()
    for other in others:
        for frame in other.frames:
            for use in frame.uses:
                place = [u.number for _, u in other.in_order(use.need)].index(use.number)
                if other not in lends or (not use.need.nice and place < use.need.channels):
                    held.add(f"{other.survey.room}, {frame.site.name}:{use.need.direction}:{use.number}")
    assert not held & set(taken)
    lost = 0
    for direction in DIRECTIONS:
        if any(len(x.channels) > 1 for own in [room, *lends] for f in own.frames for x in f.lines(direction)):
            return
        own_lines = {
            name: signals
            for name, signals in _lines(room, direction, "").items()
            if (name.split(":")[0], int(name.split(":")[1])) not in dead
        }
        served = _asked(room, direction, "")
        gone = [need for name, need in served if name not in own_lines]
        if any(need.nice for need in gone):
            return
        lines = dict(own_lines)
        for n, other in enumerate(lends):
            theirs = {name for name, need in _asked(other, direction, f"{n}:") if not need.nice}
            lines |= {name: own for name, own in _lines(other, direction, f"{n}:").items() if name not in theirs}
        working = [(name, need.signal) for name, need in served if name in own_lines]
        lost += len(gone) - _most(working, [need.signal for need in gone], lines)
    given = 0 if borrowed is None else sum(borrowed.gives_way.values())
    assert lost == (patching.lost if borrowed is None else borrowed.lost - given)
    seen["nothing" if borrowed is None else "carried"] += 1
