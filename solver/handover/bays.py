"""Which pair of points of a bay each line of a build has: in the order of the numbers, each loom on one block.

The card's point of an input is the lower one, a destination, and that of an output the upper one, a source; the other
point of the pair is the far end's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from solver.fitted.standing import Standing
from solver.handover.ends import room_of
from solver.handover.filling import Chunk, Filled, filled
from solver.handover.looms import Note, Numbered, wire
from solver.room.bays import ROWS, Bay, Normal
from solver.room.faults import quote
from solver.room.points import in_pieces
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
    notes: tuple[Note, ...] = ()
    """What is worth knowing before a cord is plugged."""

    def of_channels(self) -> Mapping[Numbered, Patched]:
        """By channel."""
        return {channel: patched for patched in self.points for channel in patched.channels}


def patch(rooms: Sequence[Standing], channels: Sequence[Numbered]) -> Patchbays:
    """Give every line with a number a pair of points, where a bay of its room takes its signal.

    Lines are taken in the order of frames, directions and numbers, bays in the order of the file. Where a bay has
    blocks at its back, the lines of one connector stay together on one of them, else they are beside each other. What
    is kept comes first. The order gives way where lines would have no points that could have some.

    Parameters
    ----------
    channels
        Those of `solver.handover.looms.numbered`.
    """
    points: list[Patched] = []
    faults: list[BayFault] = []
    notes: list[Note] = []
    for room in rooms:
        name = room.survey.room
        bays = room_of(room.survey).bay
        if not bays:
            continue
        chunks = list(_chunks(_lines([c for c in channels if c.room == name]), bays))
        found = filled(bays, chunks)
        faults += (_moved(name, bays[at], labels) for at, labels in found.moved)
        points += _points_of(name, bays, found)
        notes += _without(name, chunks, found)
    faults += _wrong_on_jacks(rooms, points)
    return Patchbays(tuple(points), tuple(faults), (*notes, *_phantom_on_jacks(rooms, points)))


def _lines(channels: Sequence[Numbered]) -> Iterator[tuple[Numbered, ...]]:
    """The channels of each pair of wires: one, or two of an AES3 line; by frame, direction and number."""
    numbered = [channel for channel in channels if channel.number is not None]
    ordered = sorted(numbered, key=lambda c: (c.frame, DIRECTIONS.index(c.direction), c.number or 0))
    for run in in_runs(ordered, lambda one, other: wire(one) == wire(other)):
        yield tuple(run)


_Loom: TypeAlias = tuple[str, int, Direction, str | None, frozenset[str]]
"""Frame, slot, direction, connector where it has several lines, and signals."""


def _chunks(lines: Iterable[tuple[Numbered, ...]], bays: Sequence[Bay]) -> Iterator[Chunk]:
    """Lines in the pieces that stay together on a block, where any bay takes them.

    Those of one connector keep the places that its lines have; connectors of one line each follow each other.
    """
    looms: dict[_Loom, list[tuple[int | None, tuple[Numbered, ...]]]] = {}
    for line in lines:
        first = line[0]
        place = None if first.contact is None else first.contact.place(first.direction, len(line))
        plug = None if first.contact is None or place is None else first.contact.connector.id
        loom = first.frame, first.slot, first.direction, plug, first.signals
        looms.setdefault(loom, []).append((place, line))
    for key, own in looms.items():
        _, _, direction, _, signals = key
        for piece, there in in_pieces(direction, signals, own, bays):
            yield Chunk(key, piece, there)


def _moved(room: str | None, bay: Bay, labels: Sequence[str]) -> BayFault:
    told = ", ".join(map(quote, labels))
    text = f"{_called(room, bay.name)}: no block puts {told} where it is kept; the loom is on another one"
    return BayFault(room, bay.name, 1, 0, text)


def _points_of(room: str | None, bays: Sequence[Bay], found: Filled) -> Iterator[Patched]:
    """Every line on its pair of points, bay by bay."""
    for block, chunk in sorted(found.on.items(), key=lambda own: (own[0].at, own[0].pair, own[0].first)):
        for at, line in sorted(chunk.lines.items()):
            yield Patched(room, bays[block.at], block.pair, block.first + at, line)


def _without(room: str | None, chunks: Sequence[Chunk], found: Filled) -> Iterator[Note]:
    """The lines that bays take and have no points for, and whether looms may be cut without need."""
    called = f"{room}, " if room else ""
    placed = set(found.on.values())
    lines = [line for chunk in chunks if chunk not in placed for line in chunk.lines.values()]
    if lines:
        idle = sum(not any(channel.carries for channel in line) for line in lines)
        told = "; ".join(_run_text(run) for run in in_runs([c for line in lines for c in line], _follows))
        unused = f", {idle} of them not used" if idle else ""
        count = f"{len(lines)} line{'s' if len(lines) > 1 else ''}"
        text = f"{called}{count} without points of a bay: {told}{unused}"
        yield Note(text, frozenset(channel for line in lines for channel in line))
    if not found.settled:
        text = f"{called}looms are cut on the bays, and whether fewer or closer ones would do was not settled"
        yield Note(text, frozenset(c for chunk in chunks for line in chunk.lines.values() for c in line))


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


def _phantom_on_jacks(rooms: Sequence[Standing], points: Sequence[Patched]) -> Iterator[Note]:
    """A plug that goes in or out shorts a leg on its way, so phantom is off before (common practice, no source)."""
    fed: dict[tuple[str | None, str], list[Patched]] = {}
    for patched in _fed(rooms, points):
        if patched.bay.phantom == "allowed":
            fed.setdefault((patched.room, patched.bay.name), []).append(patched)
    for (room, bay), own in fed.items():
        text = (
            f"{_called(room, bay)}: phantom may stand on {_points(own)} and what is joined to them: off before a cord "
            "goes in or out"
        )
        yield Note(text, frozenset(channel for patched in own for channel in patched.channels))


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
