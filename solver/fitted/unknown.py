"""Figures that a build would need and the files do not give: what is not checked for their want."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Unchecked = Literal["clock line", "cooling", "cost", "host link", "latency", "numbers", "rails", "supplies"]


@dataclass(frozen=True, slots=True)
class Unknown:
    """A figure of an item, or of a frame, and what cannot be checked without it."""

    unchecked: Unchecked
    figure: str
    item: str


def merged(unknowns: Mapping[Unknown, int]) -> dict[Unchecked, str]:
    """What is not checked, and why in one line: items that lack the same figures together, with their counts."""
    found: dict[Unchecked, str] = {}
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
    several = unchecked in ("numbers", "rails", "supplies")
    return f"{why}; so {unchecked}{f' of {of}' if of else ''} {'are' if several else 'is'} not checked"
