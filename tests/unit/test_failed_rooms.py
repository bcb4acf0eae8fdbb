"""What fails in one of several rooms: the shelf that all share, and lines of other rooms, idle ones before others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import generate
from amounts import some_or_all
from inside import strapwork
from samples import change

import solver
from solver.answers.failed import failed
from solver.answers.rooms import plan_rooms
from solver.files.reading import Loaded
from solver.fitted.standing import Standing
from solver.judge.campus import build_of_campus, survey_campus
from solver.reports.failed import PatchMove
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


def _most(lost: Sequence[frozenset[str]], lines: Sequence[frozenset[str]]) -> int:
    """How many of some signals can each have a line of their own, by growing paths."""
    owner: dict[int, int] = {}

    def grow(channel: int, seen: set[int]) -> bool:
        for n, signals in enumerate(lines):
            if n not in seen and lost[channel] <= signals:
                seen.add(n)
                if n not in owner or grow(owner[n], seen):
                    owner[n] = channel
                    return True
        return False

    return sum(grow(channel, set()) for channel in range(len(lost)))


@some_or_all("seeds", range(60), range(800))
def test_other_rooms_carry_as_much_as_can_be_and_lose_nothing_that_has_to_be_met(seeds: range) -> None:
    """Against pairing every channel that is lost with a line, read from the builds."""
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
                others = [own for own in best.standing.rooms if own is not room]
                _compare(room, others, patching.moved, None if borrowed is None else borrowed.moved, seen)
    assert min(seen["carried"], seen["nothing"]) >= 5, seen


def _compare(
    room: Standing,
    others: Sequence[Standing],
    lost: Sequence[PatchMove],
    moved: Sequence[PatchMove] | None,
    seen: Counter[str],
) -> None:
    needs = {need.name: need for need in room.survey.needs}
    gone = [needs[each.need] for each in lost if each.now is None and not each.spare]
    lines: list[tuple[str, frozenset[str]]] = []
    held: set[str] = set()
    for other in others:
        for frame in other.frames:
            name = f"{other.survey.room}, {frame.site.name}"
            for use in frame.uses:
                place = [u.number for _, u in other.in_order(use.need)].index(use.number)
                if not use.need.nice and place < use.need.channels:
                    held.add(f"{name}:{use.need.direction}:{use.number}")
            if other.survey.sample_rate == room.survey.sample_rate:
                lines += [
                    (f"{name}:{direction}:{line.first}", line.line_type.signals)
                    for direction in ("in", "out")
                    for line in frame.lines(direction)
                    if len(line.channels) == 1
                ]
    taken = [each.now for each in moved or () if each.now is not None and "," in each.now]
    assert len(taken) == len(set(taken))
    assert not held & set(taken)
    if any(need.nice for need in gone) or len({need.direction for need in gone}) > 1:
        return
    free = [signals for name, signals in lines if name not in held and f":{gone[0].direction}:" in name]
    if any(len(line.channels) > 1 for own in others for f in own.frames for line in f.lines(gone[0].direction)):
        return
    carried = sum(each.now is not None and "," in each.now and not each.was.count(",") for each in moved or ())
    assert carried == _most([frozenset({need.signal}) for need in gone], free)
    seen["carried" if carried else "nothing"] += 1
