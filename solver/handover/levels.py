"""Levels of far ends beside the full scale of the card channels that they meet: clip, and what is left unused.

0 dBu is 0.7746 V and 0 dBV 1 V (handbooks, from memory). More than 12 dB unused is told, and a leg left open takes 6 dB
from a simple balanced output (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.handover.ends import FarPath
from solver.handover.looms import Note, Numbered
from solver.room.ends import decibels, parse_level
from solver.room.faults import quote
from solver.room.words import Direction, in_runs, write_ranges

MOST_UNUSED = 12_000
"""Thousandths of a decibel between the highest level and full scale that are told of, when there are more."""

LOST_OPEN = 6_020
"""What is lost where one leg of two carries nothing: half the voltage."""


def odd_levels(far: Mapping[Numbered, FarPath], full_scale: Mapping[Numbered, str]) -> Iterator[Note]:
    """What clips or leaves more than 12 dB unused, alike channels of a far end together.

    Parameters
    ----------
    full_scale
        The level of digital full scale of channels, such as ``+24 dBu``, where it is known.
    """
    told = [(c, _said(c.direction, path, full_scale[c])) for c, path in far.items() if c in full_scale]
    odd = [(channel, said) for channel, said in told if said is not None]
    for run in in_runs(odd, lambda one, other: _alike(*one) == _alike(*other)):
        first, said = run[0]
        numbers = write_ranges([channel.number for channel, _ in run if channel.number is not None])
        room = f"{first.room}, " if first.room else ""
        text = f"{room}{first.frame} {first.direction} {numbers}: {said}"
        yield Note(text, frozenset(channel for channel, _ in run))


def _alike(channel: Numbered, said: str) -> tuple[object, ...]:
    return channel.room, channel.frame, channel.direction, said


def _said(direction: Direction, path: FarPath, level: str) -> str | None:
    end = path.end
    if end.maximum is None:
        return None
    scale, most = parse_level(level), parse_level(end.maximum)
    lost = LOST_OPEN if direction == "out" and end.cold == "open" else 0
    sent, taken = (most, scale) if direction == "in" else (scale - lost, most)
    less = ", 6 dB less with one leg" if lost else ""
    name = quote(end.equipment)
    reaches = f"{name} reaches {end.maximum}, and full scale is {level}"
    takes = f"full scale is {level}{less}, and {name} takes {end.maximum}"
    both = reaches if direction == "in" else takes
    if sent > taken:
        return f"{both}: clips by {decibels(sent - taken)} dB"
    return f"{both}: {decibels(taken - sent)} dB unused" if taken - sent > MOST_UNUSED else None
