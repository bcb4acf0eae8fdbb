"""Needs that ask for certain numbers, served in every way that there is: each set of numbers for each need is tried."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

from solver.room.scenario import Need
from solver.room.words import parse_ranges


@dataclass(frozen=True)
class Place:
    """A number of a frame, the card and the line that answer it, and what is below it that nothing answers."""

    frame: int
    number: int
    card: int
    line: int
    size: int
    below: int
    signals: frozenset[str]


def wishes(need: Need) -> bool:
    """Whether a need asks for certain numbers."""
    return bool(
        need.numbers or need.consecutive or need.pairs or need.returns_on or need.max_per_card or need.apart_from
    )


def ties(needs: Sequence[Need]) -> dict[str, str]:
    """For each need that comes back on another, and for that, the other one."""
    pairs = [(need.name, need.returns_on) for need in needs if need.returns_on]
    return {a: b for send, back in pairs for a, b in ((send, back), (back, send))}


def apart(needs: Sequence[Need]) -> list[tuple[str, str]]:
    """Needs of which no two share a card."""
    return [(need.name, other) for need in needs for other in need.apart_from]


def asked_in(need: Need, frames: Sequence[str]) -> tuple[str, list[int]] | None:
    """The frame and the numbers that a need names, channel by channel."""
    if need.numbers is None:
        return None
    frame = need.numbers.frame or frames[0]
    if need.numbers.from_ is not None:
        return frame, [need.numbers.from_ + n for n in range(need.channels + need.spare)]
    return frame, list(parse_ranges(need.numbers.list or ""))


def is_kept(need: Need, channels: Sequence[Place], frames: Sequence[str]) -> bool:
    """Whether channels, the first first, are what a need asks for."""
    asked = asked_in(need, frames)
    if asked is not None:
        frame, numbers = asked
        if [(frames[c.frame], c.number) for c in channels] != [(frame, n) for n in numbers[: len(channels)]]:
            return False
    if need.consecutive:
        if any((b.frame, b.number) != (a.frame, a.number + 1) for a, b in pairwise(channels)):
            return False
        if need.bank_of and channels[0].number not in range(1, 10_000, need.bank_of):
            return False
        if need.one_card and len({(c.frame, c.card) for c in channels}) > 1:
            return False
    if need.max_per_card and max(Counter((c.frame, c.card) for c in channels).values()) > need.max_per_card:
        return False
    if (need.pairs or need.returns_on) and not need.may_split and len({c.frame for c in channels}) > 1:
        return False
    if need.pairs:
        for left, right in zip(channels[::2], [*channels[1::2], None], strict=False):
            if left.number % 2 == 0:
                return False
            if right and (right.frame, right.card, right.number) != (left.frame, left.card, left.number + 1):
                return False
    return True


def ways(need: Need, tied: Need, places: Sequence[Place], frames: Sequence[str]) -> Iterator[tuple[Place, ...]]:
    """Every way to give a need its channels.

    One that is nice to have may lack any. They are counted as its list has them, or that of the need that it is tied
    to, else by frame and number.
    """
    able = [p for p in places if need.signal in p.signals]
    asked = asked_in(need, frames) or asked_in(tied, frames)
    order = {number: n for n, number in enumerate(asked[1])} if asked else {}
    most = need.channels + need.spare
    for count in range(0 if need.importance == "nice" else most, most + 1):
        for own in combinations(able, count):
            channels = sorted(own, key=lambda p: (order.get(p.number, 0), p.frame, p.number))
            if not channels or is_kept(need, channels, frames):
                yield tuple(channels)


@dataclass(frozen=True)
class Ties:
    """What both directions have to agree on.

    For each tie, by its needs' names, the frame and number of each channel; and by need the cards of those that are to
    share none with others.
    """

    numbers: tuple[tuple[tuple[int, int], ...], ...]
    cards: tuple[tuple[str, frozenset[tuple[int, int]]], ...]

    def agree(self, other: Ties, apart: Sequence[tuple[str, str]]) -> bool:
        """Whether what is placed in one direction goes with what is placed in the other."""
        cards = dict(self.cards) | dict(other.cards)
        return self.numbers == other.numbers and not any(cards[a] & cards[b] for a, b in apart)


def givings(
    needs: Sequence[Need],
    places: Sequence[Place],
    frames: Sequence[str],
    tied: Mapping[str, Need],
    parted: Collection[str],
) -> Iterator[tuple[set[int], Mapping[int, int], int, Ties, tuple[int, int]]]:
    """Every way to serve needs of a direction that ask for numbers, or are tied to one that does.

    Lines taken, what is below by frame, other signals given up, what the ties of both directions have to agree on, and
    how many channels of how many needs are lacking.
    """
    for own in product(*(list(ways(need, tied.get(need.name, need), places, frames)) for need in needs)):
        lines = [{p.line for p in way} for way in own]
        taken = set().union(*lines)
        if len(taken) < sum(map(len, lines)):
            continue
        tops: dict[int, int] = {}
        for place in (p for way in own for p in way):
            tops[place.frame] = max(tops.get(place.frame, 0), place.below)
        given_up = {p.line: p.size * (len(p.signals) - 1) for way in own for p in way}
        names = {need.name: tuple(sorted((need.name, tied[need.name].name))) for need in needs if need.name in tied}
        told = [
            (names[n.name], tuple((p.frame, p.number) for p in way))
            for n, way in zip(needs, own, strict=True)
            if n.name in names
        ]
        cards = [
            (n.name, frozenset((p.frame, p.card) for p in way))
            for n, way in zip(needs, own, strict=True)
            if n.name in parted
        ]
        lacks = [need.channels + need.spare - len(way) for need, way in zip(needs, own, strict=True)]
        lacking = sum(lacks), sum(n > 0 for n in lacks)
        yield taken, tops, sum(given_up.values()), Ties(tuple(way for _, way in sorted(told)), tuple(cards)), lacking
