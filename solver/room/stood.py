"""What stands in a frame before anything is changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from solver.room.build import Build, BuiltFrame
from solver.room.hardware import Board, Setting
from solver.room.silent import changes_numbers

StrapState: TypeAlias = Mapping[tuple[str, str | None], str]
"""By group and strap ``closed`` or ``open``; by group and None the position of a switch; unknown ones are absent."""


@dataclass(frozen=True, slots=True)
class Stood:
    """A frame as it stands: its board, the settings of its strap groups, and its cards by their first slot."""

    board: str
    settings: tuple[tuple[str, str], ...]
    cards: tuple[tuple[int, str], ...]
    frame: str | None = None
    """Its name, where it matters which needs have its numbers."""

    @classmethod
    def of(cls, built: BuiltFrame) -> Stood:
        """From what a build says of it."""
        return cls(built.board, tuple(sorted(built.straps.items())), tuple(built.seats()))

    @classmethod
    def in_frame(cls, build: Build, frame: str) -> Stood:
        """What of a build stands in a frame of a scenario of one room."""
        return next((cls.of(built) for built in build.frame if built.name == frame), NOTHING)

    def straps(self, board: Board) -> StrapState:
        """How each strap stands that is known; nothing is known of another board's."""
        if board.id != self.board:
            return {}
        asked = dict(self.settings)
        named = {g.name: s for g in board.strap_group for s in g.settings() if s.name == asked.get(g.name)}
        return strap_state(board, named)

    def to_set(self, board: Board, settings: Mapping[str, Setting]) -> int:
        """How many straps have to be set so that a board has these settings.

        Those that end a clock line are left out: its place on the line sets them.
        """
        ends = board.clock_input.strap_group if board.clock_input else None
        before = self.straps(board)
        after = strap_state(board, settings)
        return sum(before.get(strap) != to for strap, to in after.items() if strap[0] != ends)

    def left_standing(self, board: Board) -> Board:
        """The board with every group that changes no number wanted as it stands."""
        asked = dict(self.settings) if board.id == self.board else {}
        groups = tuple(
            group.model_copy(update={"wanted": asked[group.name]})
            if not changes_numbers(group) and any(s.name == asked.get(group.name) for s in group.settings())
            else group
            for group in board.strap_group
        )
        return board.model_copy(update={"strap_group": groups})


NOTHING = Stood("", (), ())
"""A frame in which nothing stands yet."""


def strap_state(board: Board, settings: Mapping[str, Setting]) -> StrapState:
    """How every strap of a board stands whose group's setting is given, in the board's order."""
    found: dict[tuple[str, str | None], str] = {}
    for group in board.strap_group:
        setting = settings.get(group.name)
        if setting is not None and group.kind == "switch":
            found[group.name, None] = setting.name
        elif setting is not None:
            found |= {(group.name, s): "closed" if s in (setting.closed or ()) else "open" for s in group.straps}
    return found
