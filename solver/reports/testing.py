"""The test sheet of a build: every used number, what to send, where to see it, in an order that finds faults fast."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.fitted.moves import Moves, Spot, serving
from solver.fitted.standing import Standing
from solver.handover.levels import odd_levels
from solver.handover.trail import Trail
from solver.handover.wiring import Wiring
from solver.judge.clocks import Tree
from solver.reports.phantom import Phantom, left_to_sources, phantom_of
from solver.reports.sending import sending
from solver.reports.tree_words import line_told, lock_told
from solver.reports.wording import kilohertz
from solver.reports.work_order import Check, LineCheck, LockCheck, Look, TestRow, TestSheet, Variant
from solver.room.ends import Feeds
from solver.room.faults import quote
from solver.room.signals import DIGITAL
from solver.room.survey import Need
from solver.room.words import Direction, write_ranges

SECONDS: Mapping[Check, int] = {"identity": 15, "level": 15, "polarity": 15, "noise": 20, "phantom": 30, "mono": 20}
"""What each check of a number takes (common practice, no source)."""

LOCK_SECONDS = 60
"""What it takes to see the lock of a device or the end of a clock line (common practice, no source)."""

MOST_SECONDS: Mapping[Variant, int | None] = {"10": 600, "30": 1800, "all": None}

CHECKS: Mapping[Variant, frozenset[Check]] = {
    "10": frozenset({"identity", "level"}),
    "30": frozenset({"identity", "level", "polarity"}),
    "all": frozenset({"identity", "level", "polarity", "noise", "phantom", "mono"}),
}

LOOKS: tuple[Look, ...] = ("first", "last", "middle", "other")

ORDER = (
    "First every block's first number, then its last, then a middle one: exchanged looms show on the first, a reversed "
    "or crossed one on first and last, one that is out of step on the middle."
)

NOTE = (
    "Identity: one number shows the tone and no other does. Level: within 0.5 dB. Noise and hum: with the source "
    "terminated; never lift a mains earth. Polarity: an asymmetric pulse. Mono: the pair summed."
)
NO_LEVEL = (
    "Where the files do not say a card's full-scale level: +18 dBu makes 0 dBu -18 dBFS (EBU R68), +24 dBu makes 0 dBu "
    "-24 dBFS (SMPTE RP 155); both from memory."
)
UNPLUGGED = (
    "Outputs are measured on the unplugged far end of their looms{why}: never a tone into loudspeakers, headphones or "
    "a transmission feed."
)
NOT_SAID = ", since no file says of all what is there"
LAST = "Lines that feed loudspeakers, headphones or a transmission stand apart, as the last."
PHANTOM_NOTE = (
    "Phantom (48 V), the last check of a number. Off: 0 V on both legs. On: off first, 0 V on both legs, "
    "then on, 44 to 52 V (IEC 61938, from memory), and off again."
)
ANY_NOTE = "Any: no file says what the source takes; test as for on, and leave it off until the source is known."


@dataclass(frozen=True)
class _Number:
    """A used number before it has a place on the sheet."""

    need: Need
    channel: int
    spot: Spot
    number: int
    card: str
    look: Look
    touched: bool
    mono_with: int | None
    trail: Trail
    full_scale: str | None
    phantom: Phantom | None

    @property
    def feeds(self) -> Feeds | None:
        """What is heard beyond its far end."""
        return None if self.trail.far is None else self.trail.far.end.feeds

    @property
    def urgency(self) -> tuple[object, ...]:
        spot = self.spot
        rest = self.look == "other"
        place = (spot.room or "", spot.frame, self.need.direction, self.number)
        return self.feeds is not None, rest, not self.touched, LOOKS.index(self.look), place


def test_sheet(wiring: Wiring, moved: Moves, time: Variant) -> TestSheet:
    """What to test of a build.

    Parameters
    ----------
    wiring
        The build as it stands, with its paths.
    moved
        What was changed: touched numbers come first.
    time
        Minutes that there are, or everything.
    """
    rooms = wiring.rooms
    numbers = sorted(_numbers(wiring, moved), key=lambda number: number.urgency)
    lines = [
        LineCheck(room=room, text=f"{f'{room}, ' if room else ''}{line_told(tree, line)}")
        for room, tree in wiring.clocks.items()
        for line in tree.in_order
    ]
    clock = [lock for room in rooms for lock in _locks(room, wiring.clocks.get(room.survey.room))]
    most = MOST_SECONDS[time]
    spent = LOCK_SECONDS * (len(lines) + len(clock))
    rows: list[TestRow] = []
    for number in numbers:
        row = _row(number, time, len(rows) + 1)
        takes = sum(SECONDS[check] for check in row.checks)
        if most is not None and spent + takes > most:
            break
        spent += takes
        rows.append(row)
    tested = {_block(number) for number in numbers[: len(rows)]}
    untested = {_block(number): None for number in numbers[len(rows) :] if _block(number) not in tested}
    used = {check for row in rows for check in row.checks}
    return TestSheet(
        time=time,
        minutes=-(-spent // 60),
        order=ORDER,
        clock_lines=lines,
        clock=clock,
        rows=rows,
        left_out=len(numbers) - len(rows),
        heard_left_out=list(_heard(numbers[len(rows) :])),
        blocks_left_out=[_told(block, numbers) for block in untested],
        notes=[
            *_notes(numbers),
            *([PHANTOM_NOTE] if "phantom" in used else []),
            *([ANY_NOTE] if any("phantom" in row.checks and row.phantom == "any" for row in rows) else []),
            *(note.text for note in odd_levels(wiring.far, wiring.full_scale)),
        ],
    )


def _heard(numbers: Sequence[_Number]) -> Iterator[str]:
    """Numbers with the equipment by which they are heard, each named once."""
    found: dict[tuple[str | None, str, str], list[int]] = {}
    for number in numbers:
        if number.trail.far is not None and number.feeds is not None:
            key = number.spot.room, number.spot.frame, number.trail.far.end.equipment
            found.setdefault(key, []).append(number.number)
    for (room, frame, equipment), own in found.items():
        yield f"{room + ', ' if room else ''}{frame} out {write_ranges(own)} ({quote(equipment)})"


def _notes(numbers: Sequence[_Number]) -> Iterator[str]:
    """What holds for all rows, as far as the files leave it open."""
    yield NOTE
    if any(number.full_scale is None and number.need.signal not in DIGITAL for number in numbers):
        yield NO_LEVEL
    outputs = [number for number in numbers if number.need.direction == "out"]
    known = all(number.trail.far is not None for number in outputs)
    if outputs:
        yield UNPLUGGED.format(why="" if known else NOT_SAID)
    if any(number.feeds is not None for number in outputs):
        yield LAST


def _locks(room: Standing, tree: Tree | None) -> Iterator[LockCheck]:
    """Every frame, then whatever else is on the lines of a clock, from what leads on."""
    frames = [frame.site.name for frame in room.frames]
    on_lines = {name for line in (tree.lines if tree else ()) for name in (line.source, *line.devices)}
    names = [*frames, *sorted(on_lines - set(frames))]
    for name in sorted(names, key=tree.depth) if tree else names:
        where = f"{room.survey.room}, " if room.survey.room else ""
        called = f"frame {name}" if name in frames else name
        text = (
            f"{where}{called}: {lock_told(tree, name).removeprefix('is ')}, {kilohertz(room.survey.sample_rate)} shown"
        )
        source = "" if tree and name in on_lines else "; source: ________"
        yield LockCheck(room=room.survey.room, frame=name, text=text + source)


def _numbers(wiring: Wiring, moved: Moves) -> Iterator[_Number]:
    rooms = wiring.rooms
    trails = {(t.channel.room, t.channel.frame, t.channel.direction, t.channel.number): t for t in wiring.trails}
    levels, open_ = wiring.full_scale, left_to_sources(rooms)
    touched = {move.after for move in moved.numbers}
    seated = {move.after for move in moved.cards}
    cards = {
        (room.survey.room, frame.site.name, slot): (seat.kind.id, (room.survey.room, frame.site.name, seat.slot))
        for room in rooms
        for frame in room.frames
        for seat in frame.seats
        for slot in seat.covers
        if frame.occupant(slot) is seat
    }
    new = {(seat.room, seat.frame, seat.slot) for seat in seated if seat is not None}
    boards = {frame.key for frame in moved.frames if frame.board_moves}
    spots = serving(rooms)
    blocks: dict[tuple[object, ...], list[int]] = {}
    for (_, need), own in spots.items():
        for spot in own:
            if spot.number is not None:
                blocks.setdefault(_place(need.direction, spot), []).append(spot.number)
    for (_, need), own in spots.items():
        before: Spot | None = None
        for channel, spot in enumerate(own, start=1):
            if spot.number is None:
                continue
            card, first = cards[spot.room, spot.frame, spot.slot]
            trail = trails[spot.room, spot.frame, need.direction, spot.number]
            paired = need.wanted is not None and need.wanted.pairs
            pair = paired and channel % 2 == 0 and before is not None and before.frame == spot.frame
            yield _Number(
                need,
                channel,
                spot,
                spot.number,
                card,
                _look(spot.number, sorted(blocks[_place(need.direction, spot)])),
                spot in touched or first in new or (spot.room, spot.frame) in boards,
                before.number if pair and before is not None and before.number == spot.number - 1 else None,
                trail,
                levels.get(trail.channel),
                phantom_of(trail.channel, need, open_),
            )
            before = spot


def _place(direction: Direction, spot: Spot) -> tuple[object, ...]:
    return spot.room, spot.frame, direction, spot.slot


def _block(number: _Number) -> tuple[object, ...]:
    return _place(number.need.direction, number.spot)


def _look(number: int, block: Sequence[int]) -> Look:
    if number == block[0]:
        return "first"
    if number == block[-1]:
        return "last"
    return "middle" if number == block[len(block) // 2] else "other"


def _told(block: tuple[object, ...], numbers: Sequence[_Number]) -> str:
    own = [number for number in numbers if _block(number) == block]
    spot, direction = own[0].spot, own[0].need.direction
    room = f"{spot.room}, " if spot.room else ""
    return f"{room}{spot.frame} {direction} {write_ranges([number.number for number in own])} (slot {spot.slot})"


def _row(number: _Number, time: Variant, order: int) -> TestRow:
    need, spot = number.need, number.spot
    digital = need.signal in DIGITAL
    far = number.trail.far
    told = sending(need.direction, need.signal, digital, far, number.full_scale)
    silent = number.feeds is not None and (far is None or far.end.tone is None)
    checks: list[Check] = ["identity"] if silent else ["identity", "level"]
    if not digital and number.feeds is None:
        checks += ["polarity", "noise"]
    if number.phantom is not None:
        checks.append("phantom")
    if number.mono_with is not None and not digital and number.feeds is None:
        checks.append("mono")
    return TestRow(
        order=order,
        room=spot.room,
        frame=spot.frame,
        direction=need.direction,
        number=number.number,
        host=None if number.trail.channel.host is None else number.trail.channel.host.number,
        need=need.name,
        channel=number.channel,
        spare=number.channel > need.channels,
        signal=need.signal,
        slot=spot.slot,
        card=number.card,
        card_channel=spot.card_channel,
        send=told.send,
        see=told.see,
        expect=told.expect,
        checks=[check for check in checks if check in CHECKS[time]],
        look=number.look,
        touched=number.touched,
        phantom=number.phantom,
        mono_with=None if digital or number.feeds else number.mono_with,
        name=need.name_of(number.channel),
        far_end=None if far is None else far.text,
        way=list(number.trail.way),
        feeds=number.feeds,
    )
