"""What needs ask of their channels, and which of these do not have it: numbers, runs, pairs, cards, one latency."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from solver.fitted.moves import Spot
from solver.fitted.standing import Standing
from solver.room.survey import Need, Wanted
from solver.room.traits import ALIKE_LEVEL, LATENCY, Trait
from solver.room.words import DIRECTIONS

Wish: TypeAlias = str
"""What is asked for, by the code of the rule that keeps it."""


@dataclass(frozen=True, slots=True)
class Held:
    """Where a channel is: frame, number, card by frame and first slot, and what its line is alike to others in."""

    frame: str
    number: int
    card: tuple[str, int]
    traits: frozenset[Trait] = frozenset()


Channels: TypeAlias = Sequence[Held | None]
"""Those of a need in order; None where one is lost."""


def held(standing: Standing, channels: Mapping[Need, Iterable[Spot | None]]) -> dict[Need, Channels]:
    """The channels of needs by where they are in a build."""
    known = {
        (frame.site.name, way, line.slot, channel): Held(
            frame.site.name, line.first + at, (frame.site.name, line.card), line.line_type.traits
        )
        for frame in standing.frames
        for way in DIRECTIONS
        for line in frame.lines(way)
        for at, channel in enumerate(line.channels)
    }
    return {
        need: [None if s is None else known.get((s.frame, need.direction, s.slot, s.card_channel)) for s in spots]
        for need, spots in channels.items()
    }


def astray(standing: Standing, places: Mapping[Need, Channels]) -> dict[tuple[Need, Wish], list[int]]:
    """The channels of needs that do not have what these ask for, counted from 1, by need and wish.

    One that is lost is not astray, nor is one because of it. What several are to have in common is what most have.
    """
    found: dict[tuple[Need, Wish], list[int]] = {}
    names = {need.name: own for need, own in places.items()}
    for need, channels in places.items():
        for wish, own in _of_numbers(standing, need, channels, names) if need.wanted is not None else ():
            if out := sorted(set(own)):
                found[need, wish] = out
        for wish, of in (("same-latency", LATENCY), ("alike-levels", ALIKE_LEVEL)):
            if out := list(_unlike(need, of, places)):
                found[need, wish] = out
    return found


def _of_numbers(
    standing: Standing, need: Need, channels: Channels, names: Mapping[str, Channels]
) -> Iterator[tuple[Wish, Iterator[int]]]:
    wanted = need.wanted
    assert wanted is not None
    frames = [site.name for site in standing.survey.frames]
    if wanted.frame is not None:
        yield "asked-numbers", _not_on(frames[wanted.frame], wanted.numbers(need.demand), channels)
    if wanted.consecutive:
        yield "consecutive", (c for c, one, other in _beside(channels) if not _next(one, other))
        first = channels[0] if channels else None
        yield "banks", iter([1] if first is not None and (first.number - 1) % wanted.bank else [])
        yield "one-card", _apart([None if own is None else own.card for own in channels] if wanted.one_card else [])
    if wanted.one_frame:
        yield "one-frame", _apart([None if own is None else own.frame for own in channels])
    if wanted.pairs:
        yield "pairs", _no_pair(channels)
    if wanted.returns is not None:
        back = names.get(wanted.returns, ())
        yield "returns-on", _elsewhere(channels, back)
    if wanted.most_on_card is not None:
        yield "per-card", _crowded(channels, wanted.most_on_card)
    if wanted.apart:
        yield "apart-from", _together(channels, wanted, names)


def _not_on(frame: str, numbers: Sequence[int], channels: Channels) -> Iterator[int]:
    for c, own in enumerate(channels, 1):
        if own is not None and (own.frame != frame or own.number not in numbers[c - 1 : c]):
            yield c


def _beside(channels: Channels) -> Iterator[tuple[int, Held, Held]]:
    """Each channel with the one before it, where both are there."""
    for c, (one, other) in enumerate(pairwise(channels), 2):
        if one is not None and other is not None:
            yield c, one, other


def _next(one: Held, other: Held) -> bool:
    return one.frame == other.frame and one.number + 1 == other.number


def _no_pair(channels: Channels) -> Iterator[int]:
    for c, own in enumerate(channels, 1):
        if c % 2 and own is not None and own.number % 2 == 0:
            yield c
    for c, one, other in _beside(channels):
        if c % 2 == 0 and not (one.number % 2 and _next(one, other) and one.card == other.card):
            yield c


def _elsewhere(channels: Channels, back: Channels) -> Iterator[int]:
    for c, (own, other) in enumerate(zip(channels, back, strict=False), 1):
        if own is not None and other is not None and (own.frame, own.number) != (other.frame, other.number):
            yield c


def _apart(what: Sequence[Hashable]) -> Iterator[int]:
    """The channels that have something else than most; None where one is lost."""
    most = Counter(own for own in what if own is not None).most_common(1)
    return (c for c, own in enumerate(what, 1) if own is not None and own != most[0][0])


def _crowded(channels: Channels, most: int) -> Iterator[int]:
    on = Counter[tuple[str, int]]()
    for c, own in enumerate(channels, 1):
        if own is not None:
            on[own.card] += 1
            if on[own.card] > most:
                yield c


def _together(channels: Channels, wanted: Wanted, names: Mapping[str, Channels]) -> Iterator[int]:
    theirs = {own.card for name in wanted.apart for own in names.get(name, ()) if own is not None}
    return (c for c, own in enumerate(channels, 1) if own is not None and own.card in theirs)


def _unlike(need: Need, of: str, places: Mapping[Need, Channels]) -> Iterator[int]:
    """The channels of a need whose lines are otherwise than most of those that are to be alike with them."""
    one = next((one for one in need.one_of if one.of[0] == of), None)
    if one is None:
        return
    on = [own for other, channels in places.items() if one in other.one_of for own in channels if own is not None]
    way = min(one.ways, key=lambda way: sum(way not in own.traits for own in on))
    yield from (c for c, own in enumerate(places[need], 1) if own is not None and way not in own.traits)
