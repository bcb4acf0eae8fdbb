"""Which pair of points of a bay each line of a build has: in the order of the numbers, each loom on one block.

The card's point of an input is the lower one, a destination, and that of an output the upper one, a source; the other
point of the pair is the far end's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from solver.fitted.standing import Standing
from solver.handover.ends import room_of
from solver.handover.looms import Numbered
from solver.room.bays import ROWS, Bay, Normal, point_of
from solver.room.faults import quote
from solver.room.signals import NEVER_HALVED
from solver.room.words import DIRECTIONS, Direction, in_runs, write_ranges


@dataclass(frozen=True)
class Patched:
    """A pair of points, counted along its pair of rows from 1, and the channels of the line that is on it."""

    room: str | None
    bay: Bay
    pair: int
    point: int
    channels: tuple[Numbered, ...]

    @property
    def direction(self) -> Direction:
        """That of its line."""
        return self.channels[0].direction

    @property
    def upper(self) -> str:
        """The source's point."""
        return f"{ROWS[2 * self.pair - 2]}{self.point}"

    @property
    def lower(self) -> str:
        """The destination's point."""
        return f"{ROWS[2 * self.pair - 1]}{self.point}"

    @property
    def card_point(self) -> str:
        """Where the card's channel is."""
        return self.lower if self.direction == "in" else self.upper

    @property
    def far_point(self) -> str:
        """Where the far end is."""
        return self.upper if self.direction == "in" else self.lower

    @property
    def normal(self) -> Normal:
        """How the two are normalled."""
        return self.bay.normal_at(self.pair, self.point)


@dataclass(frozen=True)
class BayFault:
    """What is wrong with a bay in a build: `found` for `most`, in words too."""

    room: str | None
    bay: str
    found: int
    most: int
    text: str


@dataclass(frozen=True)
class Patchbays:
    """The points of a build, and what is wrong with them."""

    points: tuple[Patched, ...]
    faults: tuple[BayFault, ...]
    notes: tuple[str, ...] = ()
    """What is worth knowing before a cord is plugged."""

    def of_channels(self) -> Mapping[Numbered, Patched]:
        """By channel."""
        return {channel: patched for patched in self.points for channel in patched.channels}


_Chunk: TypeAlias = Mapping[int, tuple[Numbered, ...]]
"""Lines by their place on a block, counted from 0."""


@dataclass
class _Board:
    """A bay while it is filled: which pairs of points are taken, by pair of rows and point."""

    bay: Bay
    taken: dict[tuple[int, int], tuple[Numbered, ...]] = field(default_factory=dict)
    reserved: dict[str, tuple[int, int]] = field(default_factory=dict)
    """Labels and the points that are kept for them."""

    def takes(self, line: Sequence[Numbered]) -> bool:
        """Whether a line may come here at all."""
        if self.bay.direction not in (None, line[0].direction):
            return False
        needs = {carries.need.signal for channel in line for carries in channel.carries}
        return bool((needs or line[0].signals) & set(self.bay.signals))

    def blocks(self) -> Iterator[list[tuple[int, int]]]:
        """The points of each connector at the back."""
        size, points = self.bay.block, self.bay.points
        for pair in range(1, self.bay.pairs + 1):
            for first in range(1, points + 1, size):
                yield [(pair, point) for point in range(first, min(first + size - 1, points) + 1)]

    def free(self, block: Sequence[tuple[int, int]]) -> bool:
        """Whether nothing is on a block and nothing is kept there."""
        kept = set(self.reserved.values())
        return not any(place in self.taken or place in kept for place in block)

    def put(self, chunk: _Chunk, block: Sequence[tuple[int, int]]) -> None:
        """Put lines on a block, each at its place there."""
        self.taken.update({block[at]: line for at, line in chunk.items()})


def patch(rooms: Sequence[Standing], channels: Sequence[Numbered]) -> Patchbays:
    """Give every line with a number a pair of points, where a bay of its room takes its signal.

    Lines are taken in the order of frames, directions and numbers, bays in the order of the file. What is kept comes
    first. Where a bay has blocks at its back, the lines of one connector stay together on one of them, else each line
    is by itself.

    Parameters
    ----------
    channels
        Those of `solver.handover.looms.numbered`.
    """
    points: list[Patched] = []
    faults: list[BayFault] = []
    for room in rooms:
        name = room.survey.room
        bays = room_of(room.survey).bay
        if not bays:
            continue
        boards = [_Board(bay, reserved=_reserved(bay)) for bay in bays]
        left = list(_lines([c for c in channels if c.room == name and c.number is not None]))
        for board in boards:
            own = [line for line in left if board.takes(line)]
            faults += _fill(name, board, own)
            placed = set(board.taken.values())
            left = [line for line in left if line not in placed]
        faults += _too_small(name, boards, left)
        points += [Patched(name, b.bay, *place, line) for b in boards for place, line in sorted(b.taken.items())]
    faults += _wrong_on_jacks(rooms, points)
    return Patchbays(tuple(points), tuple(faults), tuple(_phantom_on_jacks(rooms, points)))


def _reserved(bay: Bay) -> dict[str, tuple[int, int]]:
    found = {}
    for text, label in bay.keep.items():
        row, point = point_of(text)
        found[label] = ROWS.index(row) // 2 + 1, point
    return found


def _lines(channels: Sequence[Numbered]) -> Iterator[tuple[Numbered, ...]]:
    """The channels of each pair of wires: one, or two of an AES3 line; by frame, direction and number."""
    ordered = sorted(channels, key=lambda c: (c.frame, DIRECTIONS.index(c.direction), c.number or 0))
    for run in in_runs(ordered, lambda one, other: _wire(one) == _wire(other)):
        yield tuple(run)


def _wire(channel: Numbered) -> tuple[object, ...]:
    contact = channel.contact
    own = channel.frame, channel.slot, channel.direction
    if contact is None or contact.wires is None:
        return *own, channel.line
    return *own, contact.connector.id, contact.wires.line


def _chunks(lines: Sequence[tuple[Numbered, ...]], size: int) -> Iterator[_Chunk]:
    """Lines that stay together on a block, by their place there.

    Those of one connector keep the places that its lines have; connectors of one line each follow each other.
    """
    for run in in_runs(lines, lambda one, other: _plug(one) == _plug(other)):
        placed = [(at if (own := _own_line(line)) is None else own - 1, line) for at, line in enumerate(run)]
        for first in sorted({at // size for at, _ in placed}):
            yield {at % size: line for at, line in placed if at // size == first}


def _own_line(line: Sequence[Numbered]) -> int | None:
    """Its place on its connector; None where that has no others, or is not known."""
    contact = line[0].contact
    if contact is None or contact.pinout is None or contact.wires is None or _alone(line):
        return None
    return contact.wires.line


def _alone(line: Sequence[Numbered]) -> bool:
    contact = line[0].contact
    return contact is None or contact.pinout is None or contact.pinout.room(line[0].direction) == len(line)


def _plug(line: Sequence[Numbered]) -> tuple[object, ...]:
    first = line[0]
    own = first.frame, first.slot, first.direction
    return own if first.contact is None or _alone(line) else (*own, first.contact.connector.id)


def _fill(room: str | None, board: _Board, lines: Sequence[tuple[Numbered, ...]]) -> Iterator[BayFault]:
    """Put what is kept where it is kept, then the rest on free blocks in order, as far as there are any."""
    waiting = []
    for chunk in _chunks(lines, board.bay.block):
        kept = [(at, label) for at, line in chunk.items() for label in _labels(line) if label in board.reserved]
        if not kept:
            waiting.append(chunk)
            continue
        starts = {(pair, point - at) for at, label in kept for pair, point in (board.reserved[label],)}
        block = next((block for block in board.blocks() if {block[0]} == starts and len(block) > max(chunk)), None)
        if block is None or any(place in board.taken for place in block):
            waiting.append(chunk)
            told = ", ".join(quote(label) for _, label in kept)
            text = f"{_called(room, board.bay.name)}: no block puts {told} where it is kept; the loom is on another one"
            yield BayFault(room, board.bay.name, 1, 0, text)
        else:
            board.put(chunk, block)
    blocks = [block for block in board.blocks() if board.free(block)]
    for chunk in waiting:
        block = next((block for block in blocks if len(block) > max(chunk)), None)
        if block is not None:
            blocks = blocks[blocks.index(block) + 1 :]
            board.put(chunk, block)


def _labels(line: Sequence[Numbered]) -> list[str]:
    return [f"{carries.need.name} {carries.channel}" for channel in line for carries in channel.carries]


def _too_small(room: str | None, boards: Sequence[_Board], left: Sequence[tuple[Numbered, ...]]) -> Iterator[BayFault]:
    """Lines that a bay takes and has no points for, told of the last bay that takes them."""
    lacking: dict[int, list[tuple[Numbered, ...]]] = {}
    for line in left:
        able = [at for at, board in enumerate(boards) if board.takes(line)]
        if able:
            lacking.setdefault(able[-1], []).append(line)
    for at, lines in lacking.items():
        bay = boards[at].bay
        idle = sum(not any(channel.carries for channel in line) for line in lines)
        count, own = len(lines), bay.pairs * bay.points
        told = "; ".join(_run_text(run) for run in in_runs([c for line in lines for c in line], _follows))
        unused = f", {idle} of them not used" if idle else ""
        blocks = "" if bay.rear is None else f" (in blocks of {bay.block})"
        text = f"{_called(room, bay.name)} is too small: {count} pair{'s' if count > 1 else ''} of points lack{blocks}"
        text += f" for {told}{unused}; add a pair of rows or another bay"
        yield BayFault(room, bay.name, own + count, own, text)


def _follows(one: Numbered, other: Numbered) -> bool:
    return (one.frame, one.direction, (one.number or 0) + 1) == (other.frame, other.direction, other.number)


def _run_text(run: Sequence[Numbered]) -> str:
    return f"{run[0].frame} {run[0].direction} {write_ranges([c.number for c in run if c.number is not None])}"


def _fed(rooms: Sequence[Standing], points: Sequence[Patched]) -> Iterator[Patched]:
    """The points of inputs that feed phantom."""
    cards = {card.id: card for room in rooms for card in room.survey.hardware.card}
    for patched in points:
        signals = set(patched.channels[0].signals)
        ports = [p for p in cards[patched.channels[0].card].ports if p.direction == "in" and set(p.signals) == signals]
        if patched.direction == "in" and any(port.phantom_ma_per_channel for port in ports):
            yield patched


def _phantom_on_jacks(rooms: Sequence[Standing], points: Sequence[Patched]) -> Iterator[str]:
    """A plug that goes in or out shorts a leg on its way, so phantom is off before (common practice, no source)."""
    fed: dict[tuple[str | None, str], list[Patched]] = {}
    for patched in _fed(rooms, points):
        if patched.bay.phantom == "allowed":
            fed.setdefault((patched.room, patched.bay.name), []).append(patched)
    for (room, bay), own in fed.items():
        yield (
            f"{_called(room, bay)}: phantom may stand on {_points(own)} and what is joined to them: off before a cord "
            "goes in or out"
        )


def _wrong_on_jacks(rooms: Sequence[Standing], points: Sequence[Patched]) -> Iterator[BayFault]:
    """Phantom on jacks that are not for it, and lines on halved normals that may not be (common practice)."""
    fed: dict[tuple[str | None, str], list[Patched]] = {}
    split: dict[tuple[str | None, str, Normal], list[Patched]] = {}
    for patched in _fed(rooms, points):
        if patched.bay.phantom == "forbidden":
            fed.setdefault((patched.room, patched.bay.name), []).append(patched)
    for patched in points:
        signals = {carries.need.signal for c in patched.channels for carries in c.carries} or patched.channels[
            0
        ].signals
        if signals & NEVER_HALVED and patched.normal in ("half", "parallel"):
            split.setdefault((patched.room, patched.bay.name, patched.normal), []).append(patched)
    for (room, bay), own in fed.items():
        text = (
            f'{_called(room, bay)}: phantom would stand on {_points(own)}; write phantom = "allowed" if that is meant'
        )
        yield BayFault(room, bay, len(own), 0, text)
    for (room, bay, normal), own in split.items():
        text = f"{_called(room, bay)}: mic and digital lines are full or open, and {_points(own)} are {normal}"
        yield BayFault(room, bay, len(own), 0, text)


def _called(room: str | None, bay: str) -> str:
    return f"{room}, bay {quote(bay)}" if room else f"bay {quote(bay)}"


def _points(points: Sequence[Patched]) -> str:
    """The pairs of points, by their lower ones."""
    runs = in_runs(points, lambda one, other: (one.pair, one.point + 1) == (other.pair, other.point))
    return ", ".join(run[0].lower if len(run) == 1 else f"{run[0].lower}-{run[-1].lower}" for run in runs)
