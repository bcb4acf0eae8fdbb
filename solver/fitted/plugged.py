"""What is plugged otherwise from one kind of day to another; what a day does not need stays till its place is taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeAlias

from solver.fitted.moves import Moves, NumberMove, serving
from solver.fitted.standing import Standing
from solver.room.words import Direction

Place: TypeAlias = tuple[str, Direction, int, int]
"""Frame, direction, slot and card channel."""

Line: TypeAlias = tuple[str, int | None]
"""A need, and which channel of it where a file tells them apart."""


def lines_of(standing: Standing) -> dict[Place, Line]:
    """What each card channel carries."""
    return {
        (spot.frame, need.direction, spot.slot, spot.card_channel): (need.name, n if need.definite else None)
        for (_, need), spots in serving([standing]).items()
        for n, spot in enumerate(spots, start=1)
    }


def plugged_anew(plugged: Mapping[Place, Line], wanted: Mapping[Place, Line]) -> list[Place]:
    """The card channels that are to carry something else than what is plugged there."""
    return [place for place, line in wanted.items() if plugged.get(place) != line]


def left_plugged(moved: Moves, anew: list[Place]) -> Moves:
    """The same moves, with those channels alone that get another number or are plugged anew."""
    return replace(moved, numbers=tuple(move for move in moved.numbers if move.renumbered or place_of(move) in anew))


def place_of(move: NumberMove) -> Place | None:
    """Where a channel is to be."""
    return None if move.after is None else (move.after.frame, move.direction, move.after.slot, move.after.card_channel)
