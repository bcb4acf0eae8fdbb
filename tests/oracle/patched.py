"""Whether the looms of a build have room on the bays of a room, each tried in the place of every other.

Of cards without connectors: what a card carries of one sort on one slot follows each other, in pieces of a block.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from solver.room.bays import Bay
from solver.room.hardware import Card
from solver.room.words import Family

Seats = Sequence[tuple[int, str]]
Widths = Mapping[str, Sequence[tuple[int, int]]]
"""First number and width of each slot, by direction."""


def have_points(
    frames: Sequence[tuple[Seats, Widths]], cards: Mapping[str, Card], family: Family, bays: Sequence[Bay]
) -> bool:
    """Whether every loom that a bay takes is on points of one."""
    blocks = [
        (bay, min(bay.block, bay.points - first))
        for bay in bays
        for _ in range(bay.rows // 2)
        for first in range(0, bay.points, bay.block)
    ]
    looms = [
        loom for seats, widths in frames for slot, card in seats for loom in _looms(cards[card], slot, widths, family)
    ]
    able: list[list[int]] = []
    for direction, signals, lines in looms:
        taking = [bay for bay in bays if bay.direction in (None, direction) and signals <= set(bay.signals)]
        if not taking:
            continue
        size = taking[0].block
        for start in range(0, lines, size):
            length = min(size, lines - start)
            able.append([n for n, (bay, room) in enumerate(blocks) if bay in taking and room >= length])
    return _each_has_its_own(able)


def _looms(card: Card, slot: int, widths: Widths, family: Family) -> Iterator[tuple[str, frozenset[str], int]]:
    """Direction, signals and lines of each sort that has numbers, slot by slot of the card."""
    for direction in ("in", "out"):
        for part in range(card.span):
            left = widths[direction][slot + part - 1][1]
            lines: Counter[frozenset[str]] = Counter()
            for port in card.ports:
                if (port.direction, port.on_slot) != (direction, part + 1):
                    continue
                numbered = max(0, min(left, port.channels.get(family, 0)))
                left -= port.channels.get(family, 0)
                lines[frozenset(port.signals)] += -(-numbered // port.grain)
            yield from ((direction, signals, count) for signals, count in lines.items() if count)


def _each_has_its_own(able: Sequence[Sequence[int]]) -> bool:
    owner: dict[int, int] = {}

    def settle(loom: int, seen: set[int]) -> bool:
        for block in able[loom]:
            if block not in seen:
                seen.add(block)
                if block not in owner or settle(owner[block], seen):
                    owner[block] = loom
                    return True
        return False

    return all(settle(loom, set()) for loom in range(len(able)))
