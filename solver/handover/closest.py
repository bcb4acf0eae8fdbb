"""Whether looms can be laid on blocks of bays at a cost: looms that are cut, and how far their pieces lie apart. Exact.

A search along the blocks, from the first to the last: at each one a whole loom begins, a piece of a loom that is cut
lies, or nothing does. What cannot be laid from a block on is remembered, so that it is tried once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from solver.room.points import BlockSort, unions

MOST_STATES = 20_000
"""So many states are looked at for bays that share lines, under a second; where that is too few, it is told."""


class UnsettledError(Exception):
    """More than `MOST_STATES` would have to be looked at."""


@dataclass(frozen=True, slots=True)
class Block:
    """Points beside each other that one connector at the back serves: the first, how many, and those before it."""

    at: int
    pair: int
    first: int
    size: int
    before: int

    @property
    def sort(self) -> BlockSort:
        """What pieces fit by."""
        return self.at, self.size

    @property
    def row(self) -> tuple[int, int]:
        """Its bay and pair of rows."""
        return self.at, self.pair


@dataclass(frozen=True)
class Laid:
    """The pieces of a loom in order, by their sorts, each with its block, None where it may still go anywhere.

    `short` where it has a piece more, which is on no block: what is here of it is cut then.
    """

    pieces: tuple[tuple[int, int | None], ...]
    short: bool = False

    @property
    def free(self) -> tuple[int, ...]:
        """The sorts of those that may go anywhere."""
        return tuple(sorted(piece for piece, block in self.pieces if block is None))

    @property
    def fixed(self) -> tuple[int, ...]:
        """The blocks of the others."""
        return tuple(sorted(block for _, block in self.pieces if block is not None))


@dataclass(frozen=True)
class Costs:
    """What counts beside 1 for each point from the first piece of a cut loom to its last one.

    `kept` is for a block that is kept for something else, `cut` for a loom that is not beside itself on one row.
    """

    kept: int
    cut: int


_Begun: TypeAlias = tuple[tuple[int, ...], tuple[int, ...]]
"""A cut loom between its first piece and its last: pieces that may go anywhere, and blocks of those that may not."""


@dataclass(frozen=True, slots=True)
class _State:
    """What is left to be laid from a block on: looms by sort with how many of each, and those that have begun.

    `taken` are blocks of other looms as bits, that block first; so many pieces may `lack` a block.
    """

    n: int
    todo: tuple[tuple[int, int], ...]
    begun: tuple[_Begun, ...]
    taken: int
    lack: int


class Closest:
    """The blocks of some bays, and what was found of what cannot be laid on them.

    Parameters
    ----------
    fits
        The sorts of block that have room for each sort of piece.
    kept
        Blocks, by their index, that are kept for something else.
    """

    def __init__(
        self, blocks: Sequence[Block], fits: Sequence[frozenset[BlockSort]], kept: frozenset[int], costs: Costs
    ) -> None:
        self._blocks = blocks
        self._fits = fits
        self._kept = kept
        self._costs = costs
        self._starts = [*(block.before for block in blocks), *(block.before + block.size for block in blocks[-1:])]
        self._rooms = [(own, _bits(n for n, b in enumerate(blocks) if b.sort in own)) for own in unions(fits)]
        self._not_kept = ~_bits(kept)
        self._looms: list[Laid] = []
        self._sorts: dict[Laid, int] = {}
        self._alone: dict[int, bool] = {}
        self._spans: dict[int, int] = {}
        self._taken = 0
        self._room_for: dict[int, list[int]] = {}
        self._failed: dict[_State, int] = {}
        self._looked = 0

    def reach(self, looms: Sequence[Laid], taken: int, lack: int, most: int) -> int | None:
        """What some way to lay them costs that costs at most `most`; None where there is none.

        Parameters
        ----------
        taken
            The blocks of looms that are not among them, as bits.
        lack
            How many pieces may have no block.

        Raises
        ------
        UnsettledError
            If that would take too long.
        """
        self._taken, self._room_for = taken, {}
        counts = Counter(self._sort(loom) for loom in looms)
        start = _State(0, tuple(sorted(counts.items())), (), taken, lack)
        stack = [(start, most, self._moves(start))] if self._hopeful(start, most) else []
        while stack:
            state, left, moves = stack[-1]
            if self._ended(state):
                return most - left
            after = next(((left - cost, new) for cost, new in moves if self._hopeful(new, left - cost)), None)
            if after is None:
                self._failed[state] = left
                stack.pop()
                continue
            self._looked += 1
            if self._looked > MOST_STATES:
                raise UnsettledError
            stack.append((after[1], after[0], self._moves(after[1])))
        return None

    def _sort(self, loom: Laid) -> int:
        """The number of a loom's sort: those of one sort are laid alike."""
        if loom not in self._sorts:
            self._sorts[loom] = len(self._looms)
            self._looms.append(loom)
        return self._sorts[loom]

    def _ended(self, state: _State) -> bool:
        looms = [(self._looms[sort], count) for sort, count in state.todo]
        waiting = sum(count * len(loom.free) for loom, count in looms)
        return not state.begun and waiting <= state.lack and not any(loom.fixed for loom, _ in looms)

    def _held(self, state: _State) -> set[int]:
        """The blocks from here on where pieces of looms lie that are not laid yet."""
        found = {block for sort, _ in state.todo for block in self._looms[sort].fixed}
        return found.union(*(fixed for _, fixed in state.begun))

    # What may still come of a state

    def _hopeful(self, state: _State, left: int) -> bool:
        """Whether it is not known, and counting does not tell, that what is left costs more."""
        return left > self._failed.get(state, -1) and left >= self._least_of(state) and self._room(state, left)

    def _least_of(self, state: _State) -> int:
        """What looms cost at least that have begun, and those that have to be cut: rows have no room for them whole."""
        least = 0
        for free, fixed in state.begun:
            last = min(max(state.n + len(free) - state.lack - 1, state.n, *fixed), len(self._blocks))
            least += self._starts[last] - self._starts[state.n]
        able: Counter[int] = Counter()
        for sort, count in state.todo:
            loom = self._looms[sort]
            if self._able(sort):
                able[len(loom.pieces)] += count
            elif loom.fixed or len(loom.pieces) > state.lack:
                least += count * self._cut(len(loom.pieces), state.lack)
        most, left = 0, able.total()
        for size, count in sorted(able.items()):
            over = left - self._whole_from(state.n, size) - state.lack // size
            most, left = max(most, over * self._cut(size, state.lack)), left - count
        return least + most

    def _able(self, sort: int) -> bool:
        """Whether a loom could be whole if it were the only one."""
        if sort not in self._alone:
            loom = self._looms[sort]
            self._alone[sort] = not loom.short and any(self._window(loom, n) for n in range(len(self._blocks)))
        return self._alone[sort]

    def _cut(self, size: int, lack: int) -> int:
        """What it costs at least to cut a loom of so many pieces or more."""
        if size not in self._spans:
            spans = (self._starts[n + size - 1] - self._starts[n] for n in range(len(self._blocks) - size + 1))
            self._spans[size] = min(spans, default=0)
        return self._costs.cut + (0 if lack else self._spans[size])

    def _whole_from(self, n: int, size: int) -> int:
        """How many looms of so many pieces or more rows have room for at most, from a block on."""
        if size not in self._room_for:
            found, long = [0] * (len(self._blocks) + 1), 0
            for m in reversed(range(len(self._blocks))):
                beside = m + 1 < len(self._blocks) and self._blocks[m + 1].row == self._blocks[m].row
                long = 0 if self._taken >> m & 1 else (long if beside else 0) + 1
                found[m] = found[m + 1] if long == 0 else long // size + found[m + long]
            self._room_for[size] = found
        return self._room_for[size][n]

    def _room(self, state: _State, left: int) -> bool:
        """Whether pieces that fit some blocks alone are no more than of these, but for what may lack."""
        wanted: Counter[int] = Counter()
        for sort, count in state.todo:
            for piece in self._looms[sort].free:
                wanted[piece] += count
        for free, _ in state.begun:
            wanted.update(free)
        open_to_all = ~((state.taken << state.n) | _bits(self._held(state))) >> state.n << state.n
        kept = left // self._costs.kept
        for own, blocks in self._rooms:
            count = sum(n for piece, n in wanted.items() if self._fits[piece] <= own)
            usable = blocks & open_to_all
            not_kept = (usable & self._not_kept).bit_count()
            if count > state.lack + min(usable.bit_count(), not_kept + kept):
                return False
        return True

    # What may be done at a block

    def _moves(self, state: _State) -> Iterator[tuple[int, _State]]:
        """What can be done at the first block of a state, with what it costs: whole looms first, nothing last."""
        n = state.n
        if n == len(self._blocks):
            return
        if state.taken & 1:
            yield self._after(state, n + 1)
            return
        if n in self._held(state):
            yield from self._at_its_piece(state)
            return
        extra = self._costs.kept if n in self._kept else 0
        for sort, _ in state.todo:
            yield from self._whole(state, sort)
        sort_here = self._blocks[n].sort
        for own in dict.fromkeys(state.begun):
            for piece in dict.fromkeys(own[0]):
                if sort_here in self._fits[piece]:
                    yield from self._laid(state, state.todo, own, (_less(own[0], piece), own[1]), extra)
        for sort, _ in state.todo:
            loom = self._looms[sort]
            for piece in dict.fromkeys(loom.free) if len(loom.pieces) > 1 or loom.short else ():
                if sort_here in self._fits[piece]:
                    begun = _less(loom.free, piece), loom.fixed
                    yield from self._laid(state, _one_less(state.todo, sort), None, begun, extra + self._costs.cut)
        yield self._after(state, n + 1)

    def _at_its_piece(self, state: _State) -> Iterator[tuple[int, _State]]:
        """At a block with a piece of a loom: that is laid whole, or is cut."""
        n = state.n
        for own in state.begun:
            if n in own[1]:
                yield from self._laid(state, state.todo, own, (own[0], _without(own[1], n)), 0)
        for sort, _ in state.todo:
            loom = self._looms[sort]
            if n in loom.fixed:
                yield from self._whole(state, sort)
                begun = loom.free, _without(loom.fixed, n)
                yield from self._laid(state, _one_less(state.todo, sort), None, begun, self._costs.cut)

    def _whole(self, state: _State, sort: int) -> Iterator[tuple[int, _State]]:
        """A whole loom from the first block on, if it can be there."""
        loom, n = self._looms[sort], state.n
        window = range(n, n + len(loom.pieces))
        if loom.short or not self._window(loom, n) or state.taken & ((1 << len(window)) - 1):
            return
        if not (self._held(state) - set(loom.fixed)).isdisjoint(window):
            return
        kept = sum(block in self._kept for block in window if block not in loom.fixed)
        after = _State(n, _one_less(state.todo, sort), state.begun, state.taken, state.lack)
        cost, new = self._after(after, window.stop)
        yield cost + kept * self._costs.kept, new

    def _window(self, loom: Laid, n: int) -> bool:
        """Whether the blocks from one on have room for a loom, and its pieces are where they are."""
        blocks = self._blocks[n : n + len(loom.pieces)]
        return (
            len(blocks) == len(loom.pieces)
            and blocks[0].row == blocks[-1].row
            and all(
                (at is None or at == n + k) and blocks[k].sort in self._fits[piece]
                for k, (piece, at) in enumerate(loom.pieces)
            )
        )

    def _laid(
        self, state: _State, todo: tuple[tuple[int, int], ...], old: _Begun | None, new: _Begun, cost: int
    ) -> Iterator[tuple[int, _State]]:
        """A piece of a cut loom at the first block; what is left of the loom comes later, or lacks blocks."""
        others = list(state.begun)
        if old is not None:
            others.remove(old)
        free, fixed = new
        if free and not fixed and len(free) <= state.lack:
            ended = _State(state.n, todo, tuple(others), state.taken, state.lack - len(free))
            more, after = self._after(ended, state.n + 1)
            yield cost + more, after
        begun = sorted([*others, new]) if free or fixed else others
        more, after = self._after(_State(state.n, todo, tuple(begun), state.taken, state.lack), state.n + 1)
        yield cost + more, after

    def _after(self, state: _State, n: int) -> tuple[int, _State]:
        """The state at a later block, and the points on the way for looms that have begun."""
        cost = (self._starts[n] - self._starts[state.n]) * len(state.begun)
        return cost, _State(n, state.todo, state.begun, state.taken >> (n - state.n), state.lack)


def _bits(blocks: Iterable[int]) -> int:
    return sum(1 << block for block in blocks)


def _less(pieces: tuple[int, ...], piece: int) -> tuple[int, ...]:
    at = pieces.index(piece)
    return pieces[:at] + pieces[at + 1 :]


def _without(blocks: tuple[int, ...], block: int) -> tuple[int, ...]:
    return tuple(own for own in blocks if own != block)


def _one_less(todo: tuple[tuple[int, int], ...], sort: int) -> tuple[tuple[int, int], ...]:
    return tuple((own, count - (own == sort)) for own, count in todo if own != sort or count > 1)
