"""Figures that a build would need and the files do not give: what is not checked for their want."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from solver.room.hardware import Card
from solver.room.survey import Survey


@dataclass(frozen=True, slots=True)
class Unknown:
    """A figure of an item, or of a frame, and what cannot be checked without it."""

    unchecked: str
    figure: str
    item: str


def of_cards(
    survey: Survey, counts: Mapping[str, int], unchecked: str, name: str, figure: Callable[[Card], object]
) -> Iterator[tuple[Unknown, int]]:
    """The cards of a build whose figure is not known, and how many there are of each."""
    for card in survey.hardware.card:
        if counts.get(card.id) and figure(card) is None:
            yield Unknown(unchecked, name, card.id), counts[card.id]


def merged(unknowns: Mapping[Unknown, int]) -> dict[str, str]:
    """What is not checked, and why in one line: items that lack the same figures together, with their counts."""
    found: dict[str, str] = {}
    for unchecked in sorted({unknown.unchecked for unknown in unknowns}):
        figures: dict[str, list[str]] = {}
        counts: Counter[str] = Counter()
        for unknown, count in unknowns.items():
            if unknown.unchecked == unchecked:
                figures.setdefault(unknown.item, []).append(unknown.figure)
                counts[unknown.item] = count
        alike: dict[str, list[str]] = {}
        for item in sorted(figures):
            times = f" x {counts[item]}" if counts[item] > 1 else ""
            alike.setdefault(" and ".join(figures[item]), []).append(f"{item}{times}")
        found[unchecked] = "; ".join(f"{lacking} unknown: {', '.join(items)}" for lacking, items in alike.items())
    return found


def so_not_checked(unchecked: str, why: str, of: str = "") -> str:
    """The line that a reader gets; `of` names builds where several are told of."""
    several = unchecked.endswith("s")
    return f"{why}; so {unchecked}{f' of {of}' if of else ''} {'are' if several else 'is'} not checked"
