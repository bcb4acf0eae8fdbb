"""The first of equals in an order: numbers to be as small as can be, one after the other."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import chain

from solver.rules.limit import Load, Term

MOST_AT_ONCE = 10**8
"""Choices are asked for together while the numbers that they make as digits stay below this."""


def digits(choices: Iterable[Sequence[Term]]) -> list[Load]:
    """Which term of each choice holds, as digits of numbers: the first is the least, none the most.

    Of each choice one term holds at most. Earlier choices have the higher digits, and are in earlier numbers.
    """
    found: list[Load] = []
    number = 1
    for terms in choices:
        base = len(terms) + 1
        if not found or number * base > MOST_AT_ONCE:
            found.append([])
            number = 1
        scaled = ((base * amount, term) for amount, term in found[-1])
        found[-1] = list(chain(scaled, ((place - len(terms), term) for place, term in enumerate(terms))))
        number *= base
    return found
