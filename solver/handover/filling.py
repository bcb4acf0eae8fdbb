"""Bays while they are filled: what is kept first, then looms in the order of the numbers, as close as they can be.

Least in this order: pieces without a block; kept pieces on other blocks, those of the lowest numbers first; kept blocks
with something else on them; looms that are cut, which are not on blocks beside each other on one row; the points from
the first piece of each of these to its last. Of what is equal in all that each loom is at the first place that it can
have, those after the last one that was filled before those that were left.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from solver.handover.closest import Block, Closest, Costs, Laid, UnsettledError
from solver.handover.looms import Numbered
from solver.room.bays import ROWS, Bay, point_of
from solver.room.points import BlockSort, Piece, fitting, takes, unions


@dataclass(frozen=True, eq=False)
class Chunk:
    """Lines that stay together on a block, by their place there, counted from 0; `loom` is the same for all of one."""

    loom: tuple[object, ...]
    piece: Piece
    lines: Mapping[int, tuple[Numbered, ...]]

    def labels(self) -> Iterator[tuple[int, str]]:
        """The needs' channels, each with its place."""
        for at, line in self.lines.items():
            yield from ((at, f"{carries.need.name} {carries.channel}") for c in line for carries in c.carries)


@dataclass(frozen=True)
class Filled:
    """Which chunk is on which block; what is kept elsewhere, by its labels; whether nothing better can be."""

    on: Mapping[Block, Chunk]
    moved: tuple[tuple[int, tuple[str, ...]], ...]
    """A bay, counted from 0, and the labels that are kept there and stand elsewhere."""
    settled: bool


def filled(bays: Sequence[Bay], chunks: Sequence[Chunk]) -> Filled:
    """Put chunks, in the order of their numbers, on the blocks of bays; bays that share no lines are filled apart."""
    groups: list[set[int]] = []
    for chunk in chunks:
        own = {at for at, bay in enumerate(bays) if takes(bay, chunk.piece.direction, chunk.piece.signals)}
        near = [group for group in groups if group & own]
        groups = [group for group in groups if not group & own] + [own.union(*near)]
    kept = dict(_kept(bays))
    found = []
    for group in groups:
        blocks = [block for block in _blocks(bays) if block.at in group]
        own_chunks = [c for c in chunks if any(takes(bays[at], c.piece.direction, c.piece.signals) for at in group)]
        found.append(_Filling(bays, blocks, own_chunks, kept).fill())
    on = {block: chunk for own in found for block, chunk in own.on.items()}
    settled = all(own.settled for own in found)
    return Filled(on, tuple(moved for own in found for moved in own.moved), settled)


def _blocks(bays: Sequence[Bay]) -> Iterator[Block]:
    """The points of each connector at the back, in the order of the bays and their rows."""
    before = 0
    for at, bay in enumerate(bays):
        for pair in range(1, bay.pairs + 1):
            for first in range(1, bay.points + 1, bay.block):
                size = min(bay.block, bay.points + 1 - first)
                yield Block(at, pair, first, size, before)
                before += size


def _kept(bays: Sequence[Bay]) -> Iterator[tuple[str, tuple[int, int, int]]]:
    """Each label that is kept with its bay, pair of rows and point."""
    for at, bay in enumerate(bays):
        for text, label in bay.keep.items():
            row, point = point_of(text)
            yield label, (at, ROWS.index(row) // 2 + 1, point)


_On: TypeAlias = Mapping[int, int]
"""The blocks of chunks, both by their index."""


class _Filling:
    """Bays that share lines, and what is to go on them."""

    def __init__(
        self,
        bays: Sequence[Bay],
        blocks: Sequence[Block],
        chunks: Sequence[Chunk],
        kept: Mapping[str, tuple[int, int, int]],
    ) -> None:
        self.blocks = blocks
        self.chunks = chunks
        self.kept = kept
        free = Counter(block.sort for block in blocks)
        fits = {chunk.piece: fitting(chunk.piece, bays, free) for chunk in chunks}
        self.pieces = list(fits)
        self.fits = list(fits.values())
        self.sort = [self.pieces.index(chunk.piece) for chunk in chunks]
        self.looms = _by_loom(chunks)
        self.unions = unions(self.fits)
        self.reserved = frozenset(n for n, block in enumerate(blocks) if any(_has(block, k) for k in kept.values()))
        points = blocks[-1].before + blocks[-1].size + 1
        self.costs = Costs(kept=points * (len(chunks) + 1) ** 2, cut=points * (len(chunks) + 1))
        self.lack = self._lacking({})

    def fill(self) -> Filled:
        """Put everything where it is best, or, where that cannot be settled, at the first places that there are."""
        fixed, moved = self._keep()
        found, settled = self._in_order(fixed), True
        least = self._cost(found, fixed)
        closest = Closest(self.blocks, self.fits, self.reserved, self.costs)
        try:
            while least and (less := self._reach(closest, fixed, fixed, frozenset(), least - 1)) is not None:
                least = less
            if least < self._cost(found, fixed):
                found = self._in_order(fixed, lambda on, lost: self._reach(closest, on, fixed, lost, least) is not None)
        except UnsettledError:
            settled = False
        return Filled({self.blocks[n]: self.chunks[c] for c, n in found.items()}, moved, settled)

    def _keep(self) -> tuple[_On, tuple[tuple[int, tuple[str, ...]], ...]]:
        """Chunks on the blocks where all their labels are kept, if no other lacks a block then, and those elsewhere."""
        fixed: dict[int, int] = {}
        moved = []
        for c, chunk in enumerate(self.chunks):
            places = {label: (at, self.kept[label]) for at, label in chunk.labels() if label in self.kept}
            if not places:
                continue
            able = [(n, block) for n, block in enumerate(self.blocks) if block.sort in self._fits(c)]
            blocks = [n for n, block in able if all(_puts(block, *own) for own in places.values())]
            if blocks and blocks[0] not in fixed.values() and self._lacking({**fixed, c: blocks[0]}) <= self.lack:
                fixed[c] = blocks[0]
            else:
                at = next(iter(places.values()))[1][0]
                moved.append((at, tuple(places)))
        return fixed, tuple(moved)

    def _in_order(self, fixed: _On, good: Callable[[_On, frozenset[int]], bool] | None = None) -> _On:
        """Each loom at the first place that it can have, or in pieces where it can have none.

        Parameters
        ----------
        good
            Whether what is on blocks so far, and lacks them, may stay; whatever lets others have blocks unless given.
        """
        on, lost = dict(fixed), frozenset[int]()
        last: dict[int, int] = {}

        def put(chunks: Sequence[int]) -> bool:
            for n in self._places(chunks, on, last):
                new = {**on, **{c: n + k for k, c in enumerate(chunks)}}
                if self._lacking(new, lost) <= self.lack - len(lost) and (good is None or good(new, lost)):
                    if not any(c in on for c in chunks):
                        last[self.blocks[n].at] = n
                    on.update(new)
                    return True
            return False

        for loom in self.looms:
            free = [c for c in loom if c not in on]
            if free and not put(loom):
                for c in free:
                    if not put([c]):
                        lost |= {c}
        return on

    def _places(self, chunks: Sequence[int], on: _On, last: Mapping[int, int]) -> list[int]:
        """The first blocks of those beside each other on one row that have room for chunks, the first choice first."""
        taken = {n: c for c, n in on.items()}

        def room(n: int) -> bool:
            return all(
                taken.get(n + k, c) == c and on.get(c, n + k) == n + k and self.blocks[n + k].sort in self._fits(c)
                for k, c in enumerate(chunks)
            )

        rows = range(len(self.blocks) - len(chunks) + 1)
        found = [n for n in rows if self.blocks[n].row == self.blocks[n + len(chunks) - 1].row and room(n)]
        kept = {n: sum(n + k in self.reserved and c not in on for k, c in enumerate(chunks)) for n in found}
        return sorted(found, key=lambda n: (kept[n], n < last.get(self.blocks[n].at, -1), n))

    def _fits(self, chunk: int) -> frozenset[BlockSort]:
        return self.fits[self.sort[chunk]]

    def _lacking(self, on: _On, lost: Collection[int] = ()) -> int:
        """How many of the chunks that are not on blocks, nor given up, have none, however they are dealt."""
        left = Counter(self.sort[c] for c in range(len(self.chunks)) if c not in on and c not in lost)
        free = Counter(block.sort for block in self.blocks)
        free.subtract(self.blocks[n].sort for n in on.values())
        short = (
            sum(count for piece, count in left.items() if self.fits[piece] <= own) - sum(free[b] for b in own)
            for own in self.unions
        )
        return max(0, max(short, default=0))

    def _reach(self, closest: Closest, on: _On, fixed: _On, lost: Collection[int], most: int) -> int | None:
        """What all costs, at most so much, with what is on blocks and lost so far; None where it costs more."""
        done = [loom for loom in self.looms if all(c in on or c in lost for c in loom)]
        cost = self._kept_cost(on, fixed) + sum(self._loom_cost(loom, on) for loom in done)
        taken = sum(1 << on[c] for loom in done for c in loom if c in on)
        looms = [
            Laid(tuple((self.sort[c], on.get(c)) for c in loom if c not in lost), any(c in lost for c in loom))
            for loom in self.looms
            if not all(c in on or c in lost for c in loom)
        ]
        rest = closest.reach(looms, taken, self.lack - len(lost), most - cost)
        return None if rest is None else cost + rest

    def _cost(self, on: _On, fixed: _On) -> int:
        return self._kept_cost(on, fixed) + sum(self._loom_cost(loom, on) for loom in self.looms)

    def _kept_cost(self, on: _On, fixed: _On) -> int:
        return self.costs.kept * sum(n in self.reserved for c, n in on.items() if c not in fixed)

    def _loom_cost(self, loom: Sequence[int], on: _On) -> int:
        """That it is cut, and the points from its first piece to its last."""
        blocks = [on[c] for c in loom if c in on]
        first = self.blocks[blocks[0]] if blocks else None
        whole = len(blocks) == len(loom) and all(
            n == blocks[0] + k and first and self.blocks[n].row == first.row for k, n in enumerate(blocks)
        )
        if whole or not blocks:
            return 0
        return self.costs.cut + self.blocks[max(blocks)].before - self.blocks[min(blocks)].before


def _by_loom(chunks: Sequence[Chunk]) -> list[list[int]]:
    """The chunks of each loom, by their index, in the order of the first ones."""
    found: dict[tuple[object, ...], list[int]] = {}
    for c, chunk in enumerate(chunks):
        found.setdefault(chunk.loom, []).append(c)
    return list(found.values())


def _has(block: Block, place: tuple[int, int, int]) -> bool:
    """Whether a point, with its bay and pair of rows, is on a block."""
    return (block.at, block.pair) == place[:2] and 0 <= place[2] - block.first < block.size


def _puts(block: Block, at: int, place: tuple[int, int, int]) -> bool:
    """Whether a place on a block, counted from 0, is that point."""
    return _has(block, place) and block.first + at == place[2]
