"""Where the cards of a room stand, as a model says it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from solver.room.straps import Layout
from solver.room.words import Direction


@dataclass(frozen=True)
class Seating:
    """What a solve found: for each frame its option and its cards by first slot.

    `ends` has the last slot in use by direction and frame, 0 for none; None where holes do not count.
    """

    options: tuple[Layout | None, ...]
    cards: tuple[tuple[tuple[int, str], ...], ...]
    ends: Mapping[Direction, Mapping[int, int]] | None = None

    def counts(self, frame: int) -> Counter[str]:
        """Cards of each kind in a frame."""
        return Counter(card for _, card in self.cards[frame])
