"""What cards take of bays: their looms in pieces, each of which is on one block of points.

A bay takes lines whose every signal is among its own. Lines of one connector stay together as far as a block goes;
connectors of one line each follow each other, card by card. Bays that take the same lines have blocks of one size.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import groupby
from typing import TypeAlias, TypeVar

from solver.room.bays import Bay
from solver.room.contacts import Contact, contacts
from solver.room.kind import Channel, Kind
from solver.room.pinouts import pinouts
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, Direction

BlockSort: TypeAlias = tuple[int, int]
"""A bay, counted from 0, and how many points a block of it has: the last one of a row may have fewer."""
Numbered: TypeAlias = Mapping[tuple[Direction, int], int]
"""How many channels of a card have numbers, by direction and slot of the card, counted from 0: the first ones."""


Line = TypeVar("Line")


@dataclass(frozen=True, slots=True)
class Piece:
    """Lines of a loom that are on one block: their direction and signals, and how many places from its first on."""

    direction: Direction
    signals: frozenset[str]
    places: int


def takes(bay: Bay, direction: Direction, signals: Set[str]) -> bool:
    """Whether a bay takes lines."""
    return bay.direction in (None, direction) and signals <= set(bay.signals)


def blocks_of(bays: Sequence[Bay]) -> Counter[BlockSort]:
    """How many blocks of each sort there are."""
    found: Counter[BlockSort] = Counter()
    for at, bay in enumerate(bays):
        whole, rest = divmod(bay.points, bay.block)
        found += Counter({(at, bay.block): whole * bay.pairs, (at, rest): bay.pairs if rest else 0})
    return found


def fitting(piece: Piece, bays: Sequence[Bay], blocks: Iterable[BlockSort]) -> frozenset[BlockSort]:
    """The sorts of block that have room for a piece."""
    able = {at for at, bay in enumerate(bays) if takes(bay, piece.direction, piece.signals)}
    return frozenset((at, size) for at, size in blocks if at in able and size >= piece.places)


def in_pieces(
    direction: Direction, signals: frozenset[str], lines: Iterable[tuple[int | None, Line]], bays: Sequence[Bay]
) -> Iterator[tuple[Piece, dict[int, Line]]]:
    """Lines of a loom in the pieces that are each on one block, with their places there; none where no bay takes them.

    Parameters
    ----------
    lines
        Each after its place on its connector; those without one follow each other.
    """
    size = next((bay.block for bay in bays if takes(bay, direction, signals)), None)
    if size is None:
        return
    placed = [(n if place is None else place, line) for n, (place, line) in enumerate(lines)]
    for block in sorted({place // size for place, _ in placed}):
        there = {place % size: line for place, line in placed if place // size == block}
        yield Piece(direction, signals, max(there) + 1), there


def unions(sets: Iterable[frozenset[BlockSort]]) -> set[frozenset[BlockSort]]:
    """All unions of some of the sets: pieces lack blocks where more of them fit nowhere else than one of these has."""
    found: set[frozenset[BlockSort]] = set()
    for own in set(sets):
        found |= {own, *(own | other for other in found)}
    return found


class Footprints:
    """The pieces that cards of a room take of its bays."""

    def __init__(self, survey: Survey) -> None:
        own = [room.bay for room in survey.scenario.rooms() if (room.name or None) == survey.room]
        self.bays = own[0] if own else ()  # what several rooms share is of none of them
        self.blocks = blocks_of(self.bays)
        self._survey = survey
        self._known: dict[tuple[str, tuple[int, ...]], Counter[Piece]] = {}

    def pieces(self, kind: Kind, numbered: Numbered) -> Counter[Piece]:
        """What a card takes, by how many of its channels have numbers."""
        sides = [(direction, part) for direction in DIRECTIONS for part in range(kind.span)]
        key = kind.id, tuple(numbered.get(side, 0) for side in sides)
        if key not in self._known:
            counts = zip(sides, key[1], strict=True)
            self._known[key] = Counter(p for side, count in counts for p in self._of(kind, *side, count))
        return self._known[key]

    def _of(self, kind: Kind, direction: Direction, part: int, count: int) -> Iterator[Piece]:
        """The pieces of one direction and slot of a card."""
        on_plugs: dict[tuple[str, frozenset[str]], list[tuple[int | None, None]]] = {}
        for plug, place, signals in self._lines(kind, direction, part, count):
            on_plugs.setdefault((plug, signals), []).append((place, None))
        for (_, signals), lines in on_plugs.items():
            yield from (piece for piece, _ in in_pieces(direction, signals, lines, self.bays))

    def _lines(
        self, kind: Kind, direction: Direction, part: int, count: int
    ) -> Iterator[tuple[str, int | None, frozenset[str]]]:
        """The pairs of wires that have numbers: their plug, their place on it, and their signals.

        Without a place they are on connectors of one line each, which share no plug.
        """
        found = contacts(kind.card, self._survey.family, pinouts(self._survey.hardware.pinout))

        def contact(channel: Channel) -> Contact | None:
            return found.get((direction, part, channel.index))

        def wire(channel: Channel) -> tuple[str, int]:
            own = contact(channel)
            return ("", channel.line[0]) if own is None or own.wires is None else (own.connector.id, own.wires.line)

        for _, line in groupby(kind.on(direction, part)[:count], wire):
            channels = list(line)
            own = contact(channels[0])
            signals = frozenset(kind.ports[direction, part][channels[0].index - 1].signals)
            place = None if own is None else own.place(direction, len(channels))
            yield "" if own is None or place is None else own.connector.id, place, signals
