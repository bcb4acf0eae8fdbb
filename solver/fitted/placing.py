"""Every way to give needs the numbers that they ask for on some lines, those with least choice first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from itertools import pairwise

from solver.fitted.allotting import allot
from solver.fitted.one_signal import NOTHING, Short
from solver.fitted.serving import Line, in_file
from solver.room.kind import LineType
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, MOST_CHANNELS, Direction

Unit = tuple[Need, ...]
"""Needs that are placed together: one, or two of which one comes back on the other."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A number of a frame and a direction, with the line and the card channel that answer it."""

    frame: int
    number: int
    line: Line
    channel: int

    @property
    def card(self) -> Card:
        """The card that it is on."""
        return self.frame, self.line.card


Card = tuple[int, int]
"""A frame and the first slot of a card in it."""

Way = tuple[Spot, ...]
"""The spots of a need's channels, in their order."""

Place = tuple[Way, ...]
"""For each need of a unit its spots on a number, or on an odd one and the next."""


@dataclass(frozen=True)
class Placed:
    """Where needs have their channels, and what that leaves short and gives up with all other needs.

    The ways are those of the needs of all units, in their order.
    """

    ways: tuple[Way, ...]
    short: Short
    misfit: int


PATIENCE = 3000
"""So many ways to place a need are tried before the rest is left to chance, unless all are to be tried."""

DIVE = 4
"""So many ways for each need are tried in any case."""


@dataclass
class Patience:
    """How many ways may still be tried; None for all. `over` says that some were not."""

    left: int | None = PATIENCE
    over: bool = False


def allotted(needs: Sequence[Need], supply: Mapping[tuple[Direction, LineType], int]) -> tuple[Short, int]:
    """What is short and what is given up where needs of one or both directions get lines, whatever their numbers."""
    short, misfit = NOTHING, 0
    for direction in DIRECTIONS:
        own = [need for need in needs if need.direction == direction]
        if own:
            found = allot(own, {kind: count for (side, kind), count in supply.items() if side == direction})
            short, misfit = short.plus(found.short), misfit + found.misfit
    return short, misfit


def supply_of(lines: Iterable[Line]) -> Counter[tuple[Direction, LineType]]:
    """How many lines there are of each direction and type."""
    return Counter((line.direction, line.line_type) for line in lines)


def in_turn(kept: Sequence[Unit]) -> list[Unit]:
    """The needs in the order in which they are placed: those with least choice first."""

    def turn(need: Need) -> int:
        assert need.wanted is not None
        return 0 if need.wanted.numbers(1) else 1 if need.wanted.consecutive else 2 if need.wanted.pairs else 3

    return sorted(kept, key=lambda unit: (min(map(turn, unit)), in_file(unit[0])))


def _last_alike(order: Sequence[Unit]) -> list[int | None]:
    """For each unit the place of the last need before it that differs in its name alone; of lists and runs alone."""
    found: list[int | None] = []
    last: dict[Need, int] = {}
    place = 0
    for unit in order:
        wanted, like = unit[0].wanted, None
        if len(unit) == 1 and wanted is not None and wanted.consecutive:
            nature = replace(unit[0], name="", index=0, names=(), lines=())
            like, last[nature] = last.get(nature), place
        found.append(like)
        place += len(unit)
    return found


def _begin(way: Way) -> tuple[int, int]:
    return way[0].frame, way[0].number


class Trial:
    """Every way to place some needs by their numbers on some lines, while no more is short than may be."""

    def __init__(
        self,
        needs: Sequence[Need],
        order: Sequence[Unit],
        lines: Sequence[Line],
        most: Short,
        patience: Patience,
        misfit: int | None = None,
    ) -> None:
        """The units are placed in their order; `misfit` is what may be given up, where no less can be."""
        self.order = order
        self._misfit = misfit
        self._patience = patience
        self._dive = DIVE * len(self.order)
        self._like = _last_alike(self.order)
        names = {need.name for unit in order for need in unit}
        self.others = [need for need in needs if need.name not in names]
        self.most = most
        self.supply = supply_of(lines)
        self.spots = {
            (line.direction, line.frame, line.first + n): Spot(line.frame, line.first + n, line, channel)
            for line in lines
            for n, channel in enumerate(line.channels)
        }
        self._directions = sorted({line.direction for line in lines})
        self._held: frozenset[tuple[str, Card]] = frozenset()
        """Cards of needs placed already that others are to be apart from, or the other way round."""
        self._ways: dict[Unit, list[Place]] = {}
        self._alike = all(unit[0].demand % 2 == 0 for unit in self.order if _paired(unit))
        self._by_card = any(need.wanted and (_apart(need) or need.wanted.on_a_card) for need in self._from(0))
        self._seen: set[tuple[int, frozenset[Line], frozenset[tuple[str, Card]]]] = set()
        self._shorts: dict[tuple[int, frozenset[tuple[tuple[Direction, LineType], int]]], tuple[Short, int]] = {}
        self._best: Placed | None = None
        self._floor = (NOTHING, 0)

    def best(self) -> Placed | None:
        """The way that gives up the fewest other signals, of equals the one with the lowest numbers."""
        self._floor = allotted([*self._from(0), *self.others], self.supply)
        if self._misfit is not None:
            self._floor = self._floor[0], self._misfit
        if self._floor[0] <= self.most:
            self._descend((), 0, frozenset(), frozenset())
        return self._best

    def _from(self, at: int) -> list[Need]:
        return [need for unit in self.order[at:] for need in unit]

    def _descend(
        self, ways: tuple[Way, ...], at: int, taken: frozenset[Line], held: frozenset[tuple[str, Card]]
    ) -> None:
        """Place the units from one on; `held` are cards of needs that others are to be apart from, or the other way."""
        if (at, taken, held) in self._seen:
            return
        self._seen.add((at, taken, held))
        if self._is_over():
            return
        misfit = sum(line.line_type.misfit for line in taken)
        left = self.supply - supply_of(taken)
        least, more = self._short(at, left)
        if least > self.most or (self._misfit is not None and misfit + more > self._misfit):
            return
        if self._best is not None and (least, misfit) >= (self._best.short, self._best.misfit):
            return
        if at == len(self.order):
            short, more = allotted(self.others, left)
            if self._best is None or (short, misfit + more) < (self._best.short, self._best.misfit):
                self._best = Placed(ways, short, misfit + more)
            return
        like = self._like[at]
        for own in self._open_to(self.order[at], taken, held):
            if like is not None and _begin(own[0]) < _begin(ways[like]):
                continue  # of two needs alike but for their names the first has the lower numbers
            parted = [(need, way) for need, way in zip(self.order[at], own, strict=True) if _apart(need)]
            holding = held | {(need.name, spot.card) for need, way in parted for spot in way}
            if any(_barred(need, holding) & {spot.card for spot in way} for need, way in parted):
                continue
            self._descend((*ways, *own), at + 1, taken | {spot.line for way in own for spot in way}, holding)
            if self._best is not None and (self._best.short, self._best.misfit) == self._floor:
                return

    def _is_over(self) -> bool:
        """Whether no more ways are to be tried."""
        self._dive -= 1
        if self._patience.left is None or self._dive >= 0:
            return False
        self._patience.left -= 1
        self._patience.over = self._patience.over or self._patience.left < 0
        return self._patience.left < 0

    def _short(self, at: int, left: Mapping[tuple[Direction, LineType], int]) -> tuple[Short, int]:
        """What lines that are left leave short and give up at least: as if what is not placed asked for no numbers."""
        key = at, frozenset(left.items())
        if key not in self._shorts:
            self._shorts[key] = allotted([*self._from(at), *self.others], left)
        return self._shorts[key]

    def _open_to(self, unit: Unit, taken: frozenset[Line], held: frozenset[tuple[str, Card]]) -> Iterator[Place]:
        """The ways of a unit's needs that others leave open, low numbers first."""
        if any(need.wanted and (need.wanted.numbers(1) or need.wanted.consecutive) for need in unit):
            if unit not in self._ways:
                self._ways[unit] = list(self._runs(unit))
            for ways in self._ways[unit]:
                if not any(spot.line in taken for way in ways for spot in way):
                    yield ways
        else:
            self._held = held
            barred = [_barred(need, held) for need in unit]
            for ways in self._of_places(unit, taken, barred):
                if all(_spread(need, way) for need, way in zip(unit, ways, strict=True)):
                    yield ways

    # Lists and runs

    def _runs(self, unit: Unit) -> Iterator[Place]:
        """Each way to give needs the numbers that one of them lists, or a run of them."""
        count = unit[0].demand
        listed = [(need.wanted.frame or 0, numbers) for need in unit if (numbers := _listed(need)) and need.wanted]
        asked = listed or [
            (frame, tuple(range(first, first + count)))
            for direction, frame, first in sorted(self.spots)
            if direction == unit[0].direction
        ]
        for frame, numbers in asked:
            ways = tuple(
                tuple(self.spots[d, frame, n] for n in numbers if (d, frame, n) in self.spots)
                for d in (need.direction for need in unit)
            )
            if all(_keeps(need, way) for need, way in zip(unit, ways, strict=True)):
                yield ways

    # Pairs, and numbers one by one

    def _places(self, unit: Unit, size: int, taken: frozenset[Line], barred: Sequence[Set[Card]]) -> list[Place]:
        """Numbers, or odd ones with the next, that are free for each need of a unit; low ones first."""
        found: list[Place] = []
        for direction, frame, number in sorted(self.spots):
            if direction != unit[0].direction or (size == 2 and number % 2 == 0):
                continue
            place = tuple(
                tuple(spot for n in range(size) if (spot := self.spots.get((need.direction, frame, number + n))))
                for need in unit
            )
            if all(
                _may_have(need, way, size, taken) and not (own and {spot.card for spot in way} & own)
                for need, way, own in zip(unit, place, barred, strict=True)
            ):
                found.append(place)
        return found

    def _nature(self, place: Place, taken: frozenset[Line]) -> object:
        """What sets a place apart: its lines in each direction if no other place has any of them, else all of it."""
        first, size = place[0][0], len(place[0])
        found: list[object] = [[spot.card for way in place for spot in way]] if self._by_card else []
        for direction in self._directions:
            own = [self.spots.get((direction, first.frame, first.number + n)) for n in range(size)]
            lines = [spot.line for spot in own if spot is not None]
            if any(x.first < first.number or x.first + len(x.channels) > first.number + size for x in lines):
                return first.frame, first.number
            found.append([None if spot is None else (spot.line.line_type, spot.line in taken) for spot in own])
            found.append((len(set(lines)), len({line.card for line in lines})))
        return repr(found)

    def _twins(self, unit: Unit, classes: Mapping[object, Sequence[Place]], taken: frozenset[Line]) -> list[int | None]:
        """For each class of places the one before it on a card that nothing else tells apart from its own, if any.

        Only where nothing but single numbers is left to place.
        """
        if not self._by_card or _paired(unit) or any(len(other) > 1 for other in self.order):
            return [None] * len(classes)
        spots: dict[Card, list[str]] = {}
        for (direction, _, _), spot in self.spots.items():
            spots.setdefault(spot.card, []).append(repr((direction, spot.line.line_type.key, spot.line in taken)))
        cards = [own[0][0][0].card for own in classes.values()]
        seen: dict[object, int] = {}
        found: list[int | None] = []
        for n, (own, card) in enumerate(zip(classes.values(), cards, strict=True)):
            nature = len(own), sorted(spots[card]), cards.count(card) == 1 or n  # one of several has no twin
            holders = sorted(name for name, theirs in self._held if theirs == card)
            found.append(seen.get(repr((nature, holders))))
            seen[repr((nature, holders))] = n
        return found

    def _chosen(self, unit: Unit, places: Sequence[Place], taken: frozenset[Line], count: int) -> Iterator[Place]:
        """So many places, as ways: of those that are alike the lowest."""
        classes: dict[object, list[Place]] = {}
        for place in places:
            alike = self._alike or not _paired(unit)  # no pairs are placed any more then
            key = self._nature(place, taken) if alike else _at(place)
            classes.setdefault(key, []).append(place)

        most = _most_alike(unit)

        every = [own[:most] for own in classes.values()]
        twins = self._twins(unit, classes, taken)

        def chosen(counts: tuple[int, ...], left: int) -> Iterator[tuple[int, ...]]:
            own = every[len(counts) :]
            if not own:
                if not left:
                    yield counts
                return
            if sum(map(len, own)) < left:
                return
            twin = twins[len(counts)]
            for number in range(min(left, len(own[0]), left if twin is None else counts[twin]), -1, -1):
                yield from chosen((*counts, number), left - number)

        for counts in chosen((), count):
            found = [place for own, number in zip(every, counts, strict=True) for place in own[:number]]
            ordered = sorted(found, key=_at)
            yield tuple(tuple(spot for place in ordered for spot in place[n]) for n in range(len(unit)))

    def _of_places(self, unit: Unit, taken: frozenset[Line], barred: Sequence[Set[Card]]) -> Iterator[Place]:
        """Numbers one by one or in pairs, and for an odd count of these the last channel on an odd number beyond."""
        size = 2 if _paired(unit) else 1
        places, count = self._places(unit, size, taken, barred), unit[0].demand
        ends = self._places(unit, 1, taken, barred) if count % size else []
        frames = {place[0][0].frame for place in (*places, *ends)}
        one_frame = any(need.wanted is not None and need.wanted.one_frame for need in unit)
        for within in [{frame} for frame in sorted(frames)] if one_frame else [frames]:
            own = [place for place in places if place[0][0].frame in within]
            if count % size == 0:
                yield from self._chosen(unit, own, taken, count // size)
                continue
            for last in (place for place in ends if place[0][0].frame in within and place[0][0].number % 2):
                before = [place for place in own if _at(place) < _at(last)]
                for ways in self._chosen(unit, before, taken, count // size):
                    yield tuple((*way, *one) for way, one in zip(ways, last, strict=True))


def _at(place: Place) -> tuple[int, int]:
    """The frame and the number of a place."""
    return place[0][0].frame, place[0][0].number


def _paired(unit: Unit) -> bool:
    """Whether the channels of a unit come in pairs."""
    return any(need.wanted is not None and need.wanted.pairs for need in unit)


def _apart(need: Need) -> bool:
    """Whether it is to share no card with some other need."""
    return need.wanted is not None and bool(need.wanted.apart or need.wanted.apart_from_it)


def _barred(need: Need, held: Iterable[tuple[str, Card]]) -> set[Card]:
    """The cards of needs that one is to share none with."""
    if need.wanted is None or not _apart(need):
        return set()
    others = {*need.wanted.apart, *need.wanted.apart_from_it}
    return {card for name, card in held if name in others}


def _spread(need: Need, way: Way) -> bool:
    """Whether no card has more channels of a need than it asks for."""
    most = need.wanted and need.wanted.on_a_card
    return not most or max(Counter(spot.card for spot in way).values(), default=0) <= most


def _most_alike(unit: Unit) -> int:
    """So many places on one card at most."""
    size = 2 if _paired(unit) else 1
    most = [need.wanted.on_a_card for need in unit if need.wanted and need.wanted.on_a_card]
    return min(most, default=MOST_CHANNELS) // size


def _may_have(need: Need, way: Way, size: int, taken: frozenset[Line]) -> bool:
    """Whether so many spots next to each other are there, free, for its signal, and on one card if they are a pair."""
    if len(way) < size or any(spot.line in taken or need.ask not in spot.line.line_type.asks for spot in way):
        return False
    assert need.wanted is not None
    return not need.wanted.pairs or len({spot.card for spot in way}) == 1


def _listed(need: Need) -> tuple[int, ...]:
    """The numbers that a need asks for, channel by channel."""
    return () if need.wanted is None else need.wanted.numbers(need.demand)


def _keeps(need: Need, way: Way) -> bool:
    """Whether spots are as many as a need asks for, for its signal, and as it asks for them."""
    wanted = need.wanted
    assert wanted is not None
    if len(way) < need.demand or any(need.ask not in spot.line.line_type.asks for spot in way):
        return False
    numbers = [spot.number for spot in way]
    if _listed(need) and (wanted.frame, tuple(numbers)) != (way[0].frame, _listed(need)):
        return False
    if wanted.consecutive and (numbers[0] - 1) % wanted.bank:
        return False
    if wanted.consecutive and any(after != before + 1 for before, after in pairwise(numbers)):
        return False
    if wanted.consecutive and wanted.one_card and len({spot.card for spot in way}) > 1:
        return False
    return _spread(need, way) and (not wanted.pairs or _in_pairs(way))


def _in_pairs(way: Way) -> bool:
    """Whether each two channels have an odd number and the next one on one card; an odd last one an odd number."""
    pairs = list(zip(way[::2], [*way[1::2], None] if len(way) % 2 else way[1::2], strict=True))
    return all(
        first.number % 2 == 1 and (second is None or (second.number == first.number + 1 and second.card == first.card))
        for first, second in pairs
    )
