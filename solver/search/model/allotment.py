"""What a room takes of each item and leaves unused, and what it is asked to minimise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from solver.search.model.seating import Seating

PARTS = ("stranded", "holes", "idle")
"""The parts of unused capacity."""

SHORTS = ("short", "short_needs")
"""What gives way where not all that is nice to have can be met, the first first: channels, then needs."""


@dataclass(frozen=True)
class Weights:
    """What a room is built to minimise: so much for each item, unused channel by its part, and what is short."""

    items: Mapping[str, int]
    parts: Mapping[str, int]

    def of(self, allotment: Allotment) -> int:
        """The weighted sum of an allotment."""
        return sum(self.items.get(item, 0) * count for item, count in allotment.items) + sum(
            weight * allotment.value(part) for part, weight in self.parts.items()
        )


@dataclass(frozen=True)
class Allotment:
    """What a room takes of each item, in order of ids, the unused channels that it leaves, and what it leaves unmet."""

    items: tuple[tuple[str, int], ...]
    stranded: int
    holes: int
    idle: int
    short: int = 0
    short_needs: int = 0

    def value(self, criterion: str) -> int:
        """A criterion's value; money is not a room's own."""
        return self.stranded + self.holes + self.idle if criterion == "unused" else int(getattr(self, criterion))


@dataclass(frozen=True)
class Found:
    """The answer of a model: the least weighted sum (None: nothing found), and whether that is proven."""

    least: int | None
    proven: bool
    allotment: Allotment | None = None
    seating: Seating | None = None
