"""A board in a chassis: its legal strap settings and the channel numbers each slot gets from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product

from solver.room.hardware import Blocks, Board, Setting, StrapGroup
from solver.room.silent import SilentGroups, changes_numbers
from solver.room.words import DIRECTIONS, Direction, Family, parse_ranges


@dataclass(frozen=True, slots=True)
class Block:
    """Consecutive channel numbers of one slot in one direction; width 0 means none."""

    first: int
    width: int

    @property
    def numbers(self) -> range:
        """The numbers themselves."""
        return range(self.first, self.first + self.width)


NO_BLOCK = Block(0, 0)

SIDES: dict[Direction, str] = {"in": "inputs", "out": "outputs"}
"""What boards and their limits call a direction."""


@dataclass(frozen=True, slots=True)
class Layout:
    """One legal combination of settings of a board and the blocks that follow.

    `inputs` and `outputs` hold one block a slot, slot 1 first. `closed` counts the straps closed but those that end a
    clock line: its place on the line sets them, or nobody does. `ends` says of a frame on a clock line whether these
    settings can only stand where they end it, or only where they do not. `to_set` counts the straps that have to be set
    for it where builds are ranked by what is moved, but those that end a clock line.
    """

    board: str
    straps: tuple[tuple[str, str], ...]
    closed: int
    inputs: tuple[Block, ...]
    outputs: tuple[Block, ...]
    ends: bool | None = None
    to_set: int = field(default=0, compare=False)

    def blocks(self, direction: Direction) -> tuple[Block, ...]:
        """The blocks of one direction, slot 1 first."""
        return self.inputs if direction == "in" else self.outputs

    def block(self, direction: Direction, slot: int) -> Block:
        """The block of a slot, counted from 1."""
        return self.blocks(direction)[slot - 1]

    def number(self, direction: Direction, slot: int, channel: int) -> int | None:
        """The number of a channel along a slot, counted from 1; None where it has none."""
        block = self.block(direction, slot)
        return block.first + channel - 1 if channel <= block.width else None

    def fewest(self, direction: Direction, slot: int) -> int:
        """How many numbers a slot has at least."""
        return self.block(direction, slot).width

    def up_to(self, last: Mapping[Direction, int]) -> Layout:
        """The same with no number of a direction beyond its last."""
        return replace(self, inputs=_up_to(self.inputs, last["in"]), outputs=_up_to(self.outputs, last["out"]))


def _up_to(blocks: tuple[Block, ...], last: int) -> tuple[Block, ...]:
    kept = ((block, min(block.width, last - block.first + 1)) for block in blocks)
    return Numbered(Block(block.first, width) if width > 0 and block.width else NO_BLOCK for block, width in kept)


def breaks_ban(board: Board, straps: Mapping[str, str]) -> Mapping[str, str] | None:
    """The first ``never_together`` entry that these settings break, if any."""
    for ban in board.never_together:
        if ban and all(straps.get(group) == setting for group, setting in ban.items()):
            return ban
    return None


def legal_settings(board: Board, asked: Mapping[str, str] | None = None) -> Iterator[dict[str, Setting]]:
    """Every legal combination of the settings that change numbers, group to setting, in the board's order.

    Groups that change no numbers stand beside them at the asked or default setting, or at the next best that is legal.
    Where what is asked of such groups is not legal, there is a combination for each smallest set that strays from it.
    """
    silent = SilentGroups(board, asked or {})
    choices = [[(g.name, s) for s in g.settings()] for g in board.strap_group if changes_numbers(g)]
    for combination in product(*choices):
        numbering = dict(combination)
        for beside in silent.beside(numbering):
            yield {g.name: numbering[g.name] if g.name in numbering else beside[g.name] for g in board.strap_group}


def count_settings(board: Board, asked: Mapping[str, str]) -> int:
    """How many combinations `legal_settings` has, without making them."""
    silent = SilentGroups(board, asked)
    choices = [[(g.name, s) for s in g.settings()] for g in board.strap_group if changes_numbers(g)]
    return sum(silent.count_beside(dict(combination)) for combination in product(*choices))


def possible_settings(board: Board, group: str) -> list[str]:
    """The settings of a group that are part of some legal combination, by name."""
    names = [setting.name for own in board.strap_group if own.name == group for setting in own.settings()]
    return [n for n in names if any(s[group].name == n for s in legal_settings(board, {group: n}))]


def _widths(blocks: Blocks, slot_count: int) -> list[int]:
    if blocks.widths is None or isinstance(blocks.widths, int):
        return [blocks.widths or 0] * slot_count
    widths = [0] * slot_count
    for run in blocks.widths:
        for slot in parse_ranges(run.slots):
            if slot <= slot_count:
                widths[slot - 1] = run.width
    return widths


def number(first_slot: int, widths: list[int], limit: int, *, drop: bool) -> tuple[Block, ...]:
    """Number the slots from 1, beginning at `first_slot`, up to `limit`.

    A block that crosses the limit is cut, or lost whole with `drop`; later ones are empty.
    """
    blocks: list[Block] = []
    following = 1
    full = False
    for slot, width in enumerate(widths, start=1):
        if slot < first_slot or full or width == 0:
            blocks.append(NO_BLOCK)
            continue
        last = following + width - 1
        if last > limit:
            full = True
        numbered = width if last <= limit else 0 if drop else limit - following + 1
        blocks.append(Block(following, numbered) if numbered > 0 else NO_BLOCK)
        following += numbered
    return tuple(blocks)


def set_widths(
    board: Board, slot_count: int, settings: Mapping[str, Setting], direction: Direction
) -> tuple[int, list[int]]:
    """The first slot and the width of every slot that a board's settings ask for, whatever its limit leaves of them."""
    side = SIDES[direction]
    base: Blocks = getattr(board, side)
    first_slot, widths = base.first_slot, base.widths
    for setting in settings.values():
        override: Blocks = getattr(setting, side)
        first_slot = override.first_slot if override.first_slot is not None else first_slot
        widths = override.widths if override.widths is not None else widths
    return first_slot or 1, _widths(Blocks(widths=widths), slot_count)


class Numbered(tuple[Block, ...]):
    """The blocks of one direction, slot 1 first: compared so often that its hash is kept."""

    _hash: int | None = None

    def __hash__(self) -> int:
        if self._hash is None:
            self._hash = super().__hash__()
        return self._hash


class Numbering:
    """The numbers that a board gives a chassis of `slot_count` slots: worked out once for all settings that agree.

    A board without limits for the family numbers nothing.
    """

    def __init__(self, board: Board, slot_count: int, family: Family) -> None:
        self._board = board
        self._slot_count = slot_count
        self._limits = board.limits.get(family)
        self._deciding = {d: [g.name for g in board.strap_group if _decides(g, d)] for d in DIRECTIONS}
        self._termination = board.clock_input.strap_group if board.clock_input else None
        self._known: dict[object, Numbered] = {}

    def blocks(self, settings: Mapping[str, Setting], direction: Direction) -> Numbered:
        """The blocks of one direction, slot 1 first."""
        deciding = {name: settings[name] for name in self._deciding[direction] if name in settings}
        key = direction, *(setting.name for setting in deciding.values())
        if key not in self._known:
            first_slot, widths = set_widths(self._board, self._slot_count, deciding, direction)
            limit = getattr(self._limits, SIDES[direction]) if self._limits else 0
            found = Numbered(number(first_slot, widths, limit, drop=self._board.at_limit == "drop"))
            self._known[key] = self._known.setdefault(found, found)
        return self._known[key]

    def layout(self, settings: Mapping[str, Setting]) -> Layout:
        """The layout that these settings make."""
        return Layout(
            board=self._board.id,
            straps=tuple((group, setting.name) for group, setting in settings.items()),
            closed=sum(len(setting.closed or ()) for group, setting in settings.items() if group != self._termination),
            inputs=self.blocks(settings, "in"),
            outputs=self.blocks(settings, "out"),
        )


def _decides(group: StrapGroup, direction: Direction) -> bool:
    """Whether a group has a part in the numbers of a direction."""
    sides: list[Blocks] = [getattr(setting, SIDES[direction]) for setting in group.setting]
    return any(side.first_slot is not None or side.widths is not None for side in sides)


def lay_out(board: Board, slot_count: int, family: Family, settings: Mapping[str, Setting]) -> Layout:
    """The blocks that a board with these settings gives a chassis of `slot_count` slots."""
    return Numbering(board, slot_count, family).layout(settings)


def layouts(board: Board, slot_count: int, family: Family, asked: Mapping[str, str] | None = None) -> list[Layout]:
    """All legal layouts of a board, in the order of its settings."""
    numbering = Numbering(board, slot_count, family)
    return [numbering.layout(settings) for settings in legal_settings(board, asked)]
