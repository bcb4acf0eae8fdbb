"""What a room takes of each item and leaves unused, where its cards stand, and what it is asked to minimise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from solver.straps import Layout
from solver.survey import Kind, Survey
from solver.words import DIRECTIONS, Direction

MOST_MODELS = 64
"""Up to so many combinations of settings each get a model of their own."""

PARTS = ("stranded", "holes", "idle")
"""The parts of unused capacity."""


@dataclass(frozen=True)
class Weights:
    """What a room is built to minimise: so much for each item, and for each unused channel by its part."""

    items: Mapping[str, int]
    parts: Mapping[str, int]

    def of(self, allotment: Allotment) -> int:
        """The weighted sum of an allotment."""
        return sum(self.items.get(item, 0) * count for item, count in allotment.items) + sum(
            weight * allotment.value(part) for part, weight in self.parts.items()
        )


@dataclass(frozen=True)
class Allotment:
    """What a room takes of each item, in order of ids, and the unused channels that it leaves."""

    items: tuple[tuple[str, int], ...]
    stranded: int
    holes: int
    idle: int

    def value(self, criterion: str) -> int:
        """A criterion's value; money is not a room's own."""
        return self.stranded + self.holes + self.idle if criterion == "unused" else int(getattr(self, criterion))

    def no_worse(self, other: Allotment, criteria: Iterable[str]) -> bool:
        """Whether it takes no more of any item and leaves no more by any of some criteria."""
        theirs = dict(other.items)
        return all(count <= theirs.get(item, 0) for item, count in self.items) and all(
            self.value(c) <= other.value(c) for c in criteria
        )


@dataclass(frozen=True)
class Seats:
    """Where everything stands: for each frame its layout, or None, its cards by slot, and the last slots in use."""

    layouts: tuple[Layout | None, ...]
    cards: tuple[tuple[tuple[int, str], ...], ...]
    ends: Mapping[Direction, Mapping[int, int]]


@dataclass(frozen=True)
class Found:
    """The answer of a model: the least weighted sum (None: nothing found), and whether that is proven."""

    least: int | None
    proven: bool
    allotment: Allotment | None = None
    seats: Seats | None = None


def useful_kinds(survey: Survey) -> list[Kind]:
    """Kinds that can be had and could serve something, fill a pin or have to be seated.

    Any other card can be taken out of a build for nothing, unless holes count alone.
    """
    wanted = wanted_cards(survey)
    asked = {(n.direction, n.signal) for n in survey.needs if n.demand}
    return [
        kind
        for kind in survey.kinds.values()
        if survey.most_of(kind.id) != 0
        and (
            kind.id in wanted
            or "holes" in survey.rank
            or any(
                (direction, signal) in asked
                for (direction, _), channels in kind.channels.items()
                for channel in channels
                for signal in channel.line_type.signals
            )
        )
    ]


def wanted_cards(survey: Survey) -> set[str]:
    """Cards that a pin or the scenario asks for by name."""
    pinned = {card for site in survey.frames for card in site.spec.pins.values()}
    return pinned | {card for card, _, _ in survey.must_seat}


def options_of(survey: Survey) -> list[list[list[Layout | None]]]:
    """The models that a room needs, each as a list of options for every frame; none if a frame has no option."""
    own: list[list[Layout | None]] = [
        list(site.candidates) + ([] if site.spec.pins else [None]) for site in survey.frames
    ]
    if any(not options for options in own):
        return []
    total = 1
    for options in own:
        total *= len(options)
    if total > MOST_MODELS:
        return [own]
    return [
        [[option] for option in combination] for combination in product(*own) if _numbers_enough(survey, combination)
    ]


def _numbers_enough(survey: Survey, layouts: Sequence[Layout | None]) -> bool:
    return all(
        sum(block.width for w in layouts if w is not None for block in (w.inputs if d == "in" else w.outputs))
        >= survey.demand[d]
        for d in DIRECTIONS
    )
