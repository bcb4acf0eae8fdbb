"""Many layouts as one that is no worse than any of them: as many numbers as any slot has, and holes that all leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from solver.room.straps import Block, Layout
from solver.room.words import DIRECTIONS, Direction


@dataclass(frozen=True, slots=True)
class Envelope(Layout):
    """Stands for layouts of one board: each slot has the most numbers that any of them gives it.

    `least` holds the fewest that any of them gives it, slot by slot, of inputs and of outputs. Only the models over
    runs of slots know what to make of that.
    """

    least: tuple[tuple[int, ...], ...] = ()

    def number(self, direction: Direction, slot: int, channel: int) -> int | None:
        """None, for it is not the same in each of them."""
        return None

    def fewest(self, direction: Direction, slot: int) -> int:
        """How many numbers a slot has in each of the layouts."""
        return self.least[DIRECTIONS.index(direction)][slot - 1]


def envelope(layouts: Sequence[Layout]) -> Layout:
    """One that bounds layouts of one board, or the only one."""
    if len(layouts) == 1:
        return layouts[0]
    first = layouts[0]
    widths = {d: _widths(layouts, d) for d in DIRECTIONS}
    most = {d: tuple(Block(1, max(own)) for own in widths[d]) for d in DIRECTIONS}
    least = tuple(tuple(min(own) for own in widths[d]) for d in DIRECTIONS)
    return Envelope(first.board, first.straps, 0, most["in"], most["out"], first.ends, least=least)


def parted(layouts: Sequence[Layout]) -> tuple[list[Layout], list[Layout]]:
    """Layouts in two: at the widest gap between the numbers that they give a slot, in the first slot that has it."""
    gaps = [
        (after - before, -slot, direction, before)
        for direction in DIRECTIONS
        for slot, own in enumerate(_widths(layouts, direction), start=1)
        for before, after in pairwise(sorted(own))
    ]
    _, place, direction, most = max(gaps)
    few = [w for w in layouts if w.block(direction, -place).width <= most]
    many = [w for w in layouts if w.block(direction, -place).width > most]
    return few, many


def _widths(layouts: Sequence[Layout], direction: Direction) -> list[set[int]]:
    """The different numbers of numbers that layouts give each slot."""
    patterns = {id(own): own for own in (layout.blocks(direction) for layout in layouts)}
    return [{block.width for block in blocks} for blocks in zip(*patterns.values(), strict=True)]
