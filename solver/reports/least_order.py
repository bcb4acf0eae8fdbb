"""The cheapest whole cards that bring so many channels of one signal: a sum that can be redone with the price list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from math import gcd

from solver.room.survey import Survey
from solver.room.words import Direction

MOST_WORK = 2_000_000
"""Steps that a count is worth; larger ones are left out."""


@dataclass(frozen=True, slots=True, order=True)
class Line:
    """So many of a card at a price in minor units, each with so many channels."""

    card: str
    price: int
    channels: int
    count: int


def least_order(survey: Survey, direction: Direction, signal: str, channels: int) -> tuple[Line, ...] | None:
    """The order that brings so many channels of a signal for the least money, then with the fewest cards.

    Each card counts with all its channels that take the signal, so that no order that serves the needs is cheaper.
    None where the offers do not bring as many, or the count is too large to be worth it.
    """
    offers = [
        Line(kind.id, offer.price, own, -(-channels // own) if offer.at_most is None else offer.at_most)
        for kind in survey.kinds.values()
        if (own := kind.taking(direction, signal))
        for offer in survey.offers.get(kind.id, ())
    ]
    return cheapest(offers, channels)


def cheapest(offers: Sequence[Line], channels: int) -> tuple[Line, ...] | None:
    """The least order out of offers; the count of each is how many there are."""
    if sum(offer.channels * offer.count for offer in offers) < channels:
        return None
    unit = reduce(gcd, (offer.channels for offer in offers), 0) or 1
    short = -(-channels // unit)
    bundles: list[tuple[Line, int]] = []
    for offer in sorted(offers, key=lambda o: (-o.channels, o.price, o.card)):
        left, size = min(offer.count, -(-short * unit // offer.channels)), 1
        while left:
            bundles.append((offer, min(size, left)))
            left -= min(size, left)
            size *= 2
    if short * len(bundles) > MOST_WORK:
        return None
    least: list[tuple[int, int] | None] = [(0, 0), *[None] * short]
    taken: list[list[bool]] = []
    for offer, count in bundles:
        takes = [False] * (short + 1)
        for missing in range(short, 0, -1):
            before = least[max(0, missing - count * offer.channels // unit)]
            if before is not None:
                dearer = (before[0] + count * offer.price, before[1] + count)
                own = least[missing]
                if own is None or dearer < own:
                    least[missing], takes[missing] = dearer, True
        taken.append(takes)
    counts: dict[Line, int] = {}
    missing = short
    for (offer, count), takes in zip(reversed(bundles), reversed(taken), strict=True):
        if takes[missing]:
            counts[offer] = counts.get(offer, 0) + count
            missing = max(0, missing - count * offer.channels // unit)
    return tuple(sorted(Line(o.card, o.price, o.channels, count) for o, count in counts.items()))
