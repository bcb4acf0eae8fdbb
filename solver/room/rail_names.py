"""Names of supply rails: the volts that they tell, their order on screens, and names that mean the same rail."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal
from difflib import SequenceMatcher

_VOLTS = re.compile(
    r"\s*([+\-\u2212\u2013]?)\s*([0-9]{1,4})(?:[.,]([0-9]{1,4}))?\s*(?:v|volts?)?\s*(?:dc)?\s*", re.IGNORECASE
)
"""Volts as people write them: ``+48``, ``48 V``, ``-17V``; with a true minus or a dash for the sign too."""

_PLAIN = re.compile(r"[+-][0-9]+(\.[0-9]+)?")

PHANTOM_VOLTS = 48
"""P48 of IEC 61938: 48 V through two resistors of 6.81 kohm, at most 10 mA a channel in use (from memory)."""

ALIKE = 0.8
"""Names without figures that look more alike than this are taken for one (own choice, no source)."""


def volts(name: str) -> Decimal | None:
    """The volts that a name tells, None where it tells none, such as ``fan``."""
    match = _VOLTS.fullmatch(name)
    if match is None:
        return None
    amount = Decimal(f"{match[2]}.{match[3] or 0}")
    return amount if match[1] in ("", "+") else -amount


def is_phantom(name: str) -> bool:
    """Whether a rail has the volts of phantom power."""
    return volts(name) == PHANTOM_VOLTS


def rail_order(name: str) -> tuple[object, ...]:
    """For sorting: by falling volts, of the same volts the positive one first; names without volts last."""
    amount = volts(name)
    return (1, name) if amount is None else (0, -abs(amount), amount < 0, name)


def _close(one: str, other: str) -> bool:
    """Whether two names without volts can only mean the same."""
    if volts(one) is not None or volts(other) is not None:
        return False
    bare = ["".join(c for c in name.casefold() if c.isalnum()) for name in (one, other)]
    figures = [[c for c in name if c.isdigit()] for name in bare]
    return bare[0] == bare[1] or (not any(figures) and SequenceMatcher(None, bare[0], bare[1]).ratio() > ALIKE)


def misspelt(supplied: Iterable[str], drawn: Iterable[str]) -> dict[str, str]:
    """Names that can only mean another one that stands in the files too, and that other one.

    Of several ways to write the same volts the one that most places use is right, of equals the plain ``+48``. A name
    without volts is wrong where it is supplied and never drawn, or drawn and never supplied, and looks like another.

    Parameters
    ----------
    supplied, drawn
        The names that chassis supply and that cards and boards draw, once for each place.
    """
    given, taken = Counter(supplied), Counter(drawn)
    every = given + taken
    found: dict[str, str] = {}
    spellings: dict[Decimal, list[str]] = {}
    for name in every:
        amount = volts(name)
        if amount is not None:
            spellings.setdefault(amount, []).append(name)
    for names in spellings.values():
        right = max(names, key=lambda name: (every[name], bool(_PLAIN.fullmatch(name)), -len(name), name))
        found |= {name: right for name in names if name != right}
    for name in sorted(every):
        unmatched = not (given[name] and taken[name])
        others = sorted(taken if given[name] else given)
        near = [other for other in others if other != name and _close(name, other)]
        if unmatched and near and near[0] not in found:
            found[name] = near[0]
    return found


def not_supplied(rails: Mapping[str, object], draws: Mapping[str, int] | None) -> list[str]:
    """The rails that something draws and that are not among those supplied, or are supplied with nothing, in order."""
    return sorted((r for r, amount in (draws or {}).items() if amount and not rails.get(r)), key=rail_order)
