"""The regions of a box of prices in which each of some purchases costs the least, corner by corner, exactly.

A region is a polytope: the box, cut by a plane for each other purchase. It is kept as its corners, each with the planes
that it lies on; cutting makes new corners on edges, which are pairs of corners with the planes of no third one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from solver.room.unsure import Prices, Purchase

Plane = tuple[int, bool] | Purchase
"""A side of the box, low or high, or where another purchase costs the same."""


@dataclass(frozen=True)
class Corner:
    """A corner, and the planes that it lies on."""

    at: Prices
    on: frozenset[Plane]


def box(ranges: Sequence[tuple[int, int]]) -> list[Corner]:
    """The corners of a box; every range is wider than nothing."""
    return [
        Corner(
            tuple(Fraction(own[high]) for own, high in zip(ranges, ends, strict=True)),
            frozenset(enumerate(ends)),
        )
        for ends in product((False, True), repeat=len(ranges))
    ]


def region(purchase: Purchase, others: Iterable[Purchase], whole: Sequence[Corner]) -> list[Corner]:
    """The corners of where a purchase costs no more than any other; none where that has no inside."""
    left = list(whole)
    for other in others:
        if other != purchase and left:
            left = _cut(left, other, [purchase.cost(corner.at) - other.cost(corner.at) for corner in left])
    return left


def _cut(corners: Sequence[Corner], plane: Purchase, over: Sequence[Fraction]) -> list[Corner]:
    """What is left of a polytope where something is at most 0, of which the value at each corner is known."""
    inside = [(c, v) for c, v in zip(corners, over, strict=True) if v < 0]
    outside = [(c, v) for c, v in zip(corners, over, strict=True) if v > 0]
    if not inside:
        return []
    kept = [c for c, _ in inside] + [Corner(c.at, c.on | {plane}) for c, v in zip(corners, over, strict=True) if v == 0]
    for one, below in inside:
        for other, above in outside:
            shared = one.on & other.on
            if any(shared <= third.on for third in corners if third is not one and third is not other):
                continue
            part = -below / (above - below)
            at = tuple(a + part * (b - a) for a, b in zip(one.at, other.at, strict=True))
            kept.append(Corner(at, shared | {plane}))
    return kept


def inside(purchase: Purchase, others: Collection[Purchase], corners: Sequence[Corner]) -> Prices:
    """Prices within a region at which nothing else costs as little: as round as can be."""
    middle = [sum(values, Fraction(0)) / len(corners) for values in zip(*(c.at for c in corners), strict=True)]
    digits = 0
    while True:
        at = tuple(round(value * 10**digits) / Fraction(10**digits) for value in middle)
        cost = purchase.cost(at)
        if all(cost < other.cost(at) for other in others if other != purchase) and _within(at, corners):
            return at
        digits += 1


def _within(at: Prices, corners: Sequence[Corner]) -> bool:
    """Whether prices are within the ranges of a region, price by price."""
    return all(
        min(values) <= price <= max(values)
        for price, values in zip(at, zip(*(c.at for c in corners), strict=True), strict=True)
    )
