"""Which lines serve which needs where some ask for certain numbers: lists, runs, pairs; exact, with no solver.

First lists of numbers, then runs, then pairs, then what only has to come back on its own numbers, each in order of the
needs' names, are given every way that there is; a need that comes back on another is placed together with it. The other
needs get what is left. What is short comes first, then few holes, then few other signals given up, then low numbers.
Where not all that is asked of the numbers can be kept with all needs met that have to be, as many needs as can be get
theirs in the order of their names, and the others are served as if they asked for none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import pairwise

from solver.fitted.allotting import NOTHING, Short, allot
from solver.fitted.serving import Line, levels_of, serve
from solver.room.survey import LineType, Need
from solver.room.words import DIRECTIONS, MOST_CHANNELS, MOST_ITEMS, Direction

Served = dict[str, list[tuple[Line, tuple[int, ...]]]]
"""By need the lines that serve it, with those of their channels that do."""

Side = tuple[Direction, int]
"""A direction of a frame."""

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
class _Placed:
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


def serve_numbered(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    *,
    plain_first: bool = False,
    patience: Patience | None = None,
) -> Served:
    """Let lines serve needs of which some ask for certain numbers; the arguments are those of `serving.serve`.

    Where patience is over, needs may be left without their numbers though there is a way to have them all.
    """
    found: Served = {}
    for directions in _together(needs):
        asked = [need for need in needs if need.direction in directions]
        own = [line for line in lines if line.direction in directions]
        there = {(d, *place): count for d in directions for place, count in holes.get(d, {}).items()}
        known = None if ends is None else {(d, f): end for d in directions for f, end in ends.get(d, {}).items()}
        found |= _Sides(asked, own, there, known, patience or Patience(None), plain_first=plain_first).served()
    return found


def _together(needs: Sequence[Need]) -> list[tuple[Direction, ...]]:
    """The directions, each by itself unless a need of one comes back on one of the other, or shares no card with it."""
    ways = {need.name: need.direction for need in needs}
    apart = [(need.direction, ways.get(other)) for need in needs if need.wanted for other in need.wanted.apart]
    if any(len(unit) > 1 for unit in _units(needs)) or any(way not in (None, own) for own, way in apart):
        return [DIRECTIONS]
    return [(direction,) for direction in DIRECTIONS]


def _units(needs: Sequence[Need]) -> list[Unit]:
    """Needs that ask for certain numbers, each with the one that is to have the same, in order of their names."""
    asking = {need.name: need for need in sorted(needs, key=lambda need: need.name) if need.wanted is not None}
    found: dict[Unit, None] = {}
    for need in asking.values():
        partner = asking.get((need.wanted and need.wanted.partner) or "")
        found[(need,) if partner is None else (min(need, partner, key=_name), max(need, partner, key=_name))] = None
    return list(found)


def _name(need: Need) -> str:
    return need.name


def _allotted(needs: Sequence[Need], supply: Mapping[tuple[Direction, LineType], int]) -> tuple[Short, int]:
    """What is short and what is given up where needs of one or both directions get lines, whatever their numbers."""
    short, misfit = NOTHING, 0
    for direction in DIRECTIONS:
        own = [need for need in needs if need.direction == direction]
        if own:
            found = allot(own, {kind: count for (side, kind), count in supply.items() if side == direction})
            short, misfit = short.plus(found.short), misfit + found.misfit
    return short, misfit


def _supply(lines: Iterable[Line]) -> Counter[tuple[Direction, LineType]]:
    return Counter((line.direction, line.line_type) for line in lines)


class _Sides:
    """Needs and lines of one direction, or of both where they depend on each other."""

    def __init__(
        self,
        needs: Sequence[Need],
        lines: Sequence[Line],
        holes: Mapping[tuple[Direction, int, int], int],
        ends: Mapping[Side, int] | None,
        patience: Patience,
        *,
        plain_first: bool,
    ) -> None:
        self.patience = patience
        self.needs = sorted((need for need in needs if need.demand), key=_name)
        self.asking = _units(self.needs)
        asks = {(need.direction, need.ask) for need in self.needs}
        self.lines = [
            line
            for line in lines
            if any((line.direction, ask) in asks for ask in line.line_type.asks)
            and (ends is None or line.slot <= ends.get((line.direction, line.frame), 0))
        ]
        self.holes = holes
        self.settled = ends is not None or plain_first
        self.plain_first = plain_first
        self.sides = sorted({(line.direction, line.frame) for line in self.lines})
        self.levels = [
            levels_of(
                frame, [x for x in self.lines if (x.direction, x.frame) == (direction, frame)], self._in(direction)
            )
            for direction, frame in self.sides
        ]

    def _in(self, direction: Direction) -> dict[tuple[int, int], int]:
        return {(frame, slot): count for (own, frame, slot), count in self.holes.items() if own == direction}

    def served(self) -> Served:
        """By need the lines and channels that serve it."""
        kept = self.asking
        found = self._best(kept)
        if found is None:
            kept = []
            for unit in self.asking:
                more = self._best([*kept, unit])
                if more is not None:
                    kept, found = [*kept, unit], more
        if found is None:
            return self._rest(self.needs, self.lines, {})
        placed, ends = found
        ways = dict(zip((need.name for unit in _in_turn(kept) for need in unit), placed.ways, strict=True))
        taken = {spot.line for way in ways.values() for spot in way}
        left = [line for line in self.lines if line not in taken and line.slot <= ends[line.direction, line.frame]]
        reached = dict.fromkeys(self.sides, 0)
        for line in taken:
            side = line.direction, line.frame
            reached[side] = max(reached[side], line.slot)
        rest = self._rest([need for need in self.needs if need.name not in ways], left, reached)
        return {**rest, **{name: _by_line(way) for name, way in ways.items()}}

    def _rest(self, needs: Sequence[Need], lines: Sequence[Line], reached: Mapping[Side, int]) -> Served:
        """The needs that ask for no numbers; holes below what is in use already are there anyway."""
        if not needs:
            return {}
        there = {side: self.holes.get((*side, slot), 0) for side, slot in reached.items()}
        holes: dict[Direction, dict[tuple[int, int], int]] = {direction: {} for direction in DIRECTIONS}
        for (direction, frame, slot), count in self.holes.items():
            side = direction, frame
            more = 0 if slot <= reached.get(side, 0) else max(0, count - there.get(side, 0))
            holes[direction][frame, slot] = more
        plain = [replace(need, wanted=None) for need in needs]
        found = serve(plain, lines, holes, plain_first=self.plain_first)
        return {name: [(line, line.channels[:count]) for line, count in own] for name, own in found.items()}

    def _best(self, kept: Sequence[Unit]) -> tuple[_Placed, dict[Side, int]] | None:
        """The best way to place some needs by their numbers, with the last slot in use; None where there is none."""
        must = _allotted(self.needs, _supply(self.lines))[0].channels
        top = tuple(len(own) - 1 for own in self.levels)
        found = self._placed(kept, top, Short(must, MOST_CHANNELS * MOST_ITEMS, MOST_ITEMS))
        if found is None or self.settled:
            return None if found is None else (found, self._ends(top))
        return self._lowest(kept, found, top) if len(self.sides) == 1 else self._least(kept, found)

    def _lowest(self, kept: Sequence[Unit], best: _Placed, top: tuple[int, ...]) -> tuple[_Placed, dict[Side, int]]:
        """The same with the fewest holes, in one frame, where more lines are never in the way."""
        low, high = 0, top[0]
        while low < high:
            middle = (low + high) // 2
            found = self._placed(kept, (middle,), best.short)
            if found is None:
                low = middle + 1
            else:
                best, high = found, middle
        return best, self._ends((high,))

    def _least(self, kept: Sequence[Unit], best: _Placed) -> tuple[_Placed, dict[Side, int]]:
        """The same in several frames or both directions: ever more holes, until so few are enough."""
        least: tuple[_Placed, dict[Side, int]] | None = None
        waiting = [(0, (0,) * len(self.sides))]
        seen = {waiting[0][1]}
        most: int | None = None
        while waiting:
            holes, at = heappop(waiting)
            if most is not None and holes > most:
                break
            found = self._placed(kept, at, best.short)
            if found is not None and (least is None or found.misfit < least[0].misfit):
                least, most = (found, self._ends(at)), holes
            for side, own in enumerate(self.levels):
                after = (*at[:side], at[side] + 1, *at[side + 1 :])
                if at[side] + 1 < len(own) and after not in seen:
                    seen.add(after)
                    heappush(waiting, (holes + own[at[side] + 1].holes - own[at[side]].holes, after))
        if least is None:  # all lines are enough, but patience was over before it was tried again
            return best, self._ends(tuple(len(own) - 1 for own in self.levels))
        return least

    def _ends(self, at: Sequence[int]) -> dict[Side, int]:
        return {side: own[n].end for side, own, n in zip(self.sides, self.levels, at, strict=True)}

    def _placed(self, kept: Sequence[Unit], at: Sequence[int], most: Short) -> _Placed | None:
        ends = self._ends(at)
        lines = [line for line in self.lines if line.slot <= ends[line.direction, line.frame]]
        return _Trial(self.needs, kept, lines, most, self.patience).best()


def _by_line(way: Way) -> list[tuple[Line, tuple[int, ...]]]:
    by_line: dict[Line, list[int]] = {}
    for spot in way:
        by_line.setdefault(spot.line, []).append(spot.channel)
    return [(line, tuple(sorted(channels))) for line, channels in by_line.items()]


def _in_turn(kept: Sequence[Unit]) -> list[Unit]:
    """The needs in the order in which they are placed: those with least choice first."""

    def turn(need: Need) -> int:
        assert need.wanted is not None
        return 0 if need.wanted.numbers(1) else 1 if need.wanted.consecutive else 2 if need.wanted.pairs else 3

    return sorted(kept, key=lambda unit: (min(map(turn, unit)), unit[0].name))


def _last_alike(order: Sequence[Unit]) -> list[int | None]:
    """For each unit the place of the last need before it that differs in its name alone; of lists and runs alone."""
    found: list[int | None] = []
    last: dict[Need, int] = {}
    place = 0
    for unit in order:
        wanted, like = unit[0].wanted, None
        if len(unit) == 1 and wanted is not None and wanted.consecutive:
            nature = replace(unit[0], name="", index=0, names=())
            like, last[nature] = last.get(nature), place
        found.append(like)
        place += len(unit)
    return found


def _begin(way: Way) -> tuple[int, int]:
    return way[0].frame, way[0].number


class _Trial:
    """Every way to place some needs by their numbers on some lines, while no more is short than may be."""

    def __init__(
        self, needs: Sequence[Need], kept: Sequence[Unit], lines: Sequence[Line], most: Short, patience: Patience
    ) -> None:
        self.order = _in_turn(kept)
        self._patience = patience
        self._dive = DIVE * len(self.order)
        self._like = _last_alike(self.order)
        names = {need.name for unit in kept for need in unit}
        self.others = [need for need in needs if need.name not in names]
        self.most = most
        self.supply = _supply(lines)
        self.spots = {
            (line.direction, line.frame, line.first + n): Spot(line.frame, line.first + n, line, channel)
            for line in lines
            for n, channel in enumerate(line.channels)
        }
        self._directions = sorted({line.direction for line in lines})
        self._ways: dict[Unit, list[Place]] = {}
        self._alike = all(unit[0].demand % 2 == 0 for unit in self.order if _paired(unit))
        self._by_card = any(need.wanted and (_apart(need) or need.wanted.most_on_card) for need in self._from(0))
        self._seen: set[tuple[int, frozenset[Line], frozenset[tuple[str, Card]]]] = set()
        self._shorts: dict[tuple[int, frozenset[tuple[tuple[Direction, LineType], int]]], Short] = {}
        self._best: _Placed | None = None
        self._floor = (NOTHING, 0)

    def best(self) -> _Placed | None:
        """The way that gives up the fewest other signals, of equals the one with the lowest numbers."""
        self._floor = _allotted([*self._from(0), *self.others], self.supply)
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
        left = self.supply - _supply(taken)
        least = self._short(at, left)
        if least > self.most or (self._best is not None and (least, misfit) >= (self._best.short, self._best.misfit)):
            return
        if at == len(self.order):
            short, more = _allotted(self.others, left)
            if self._best is None or (short, misfit + more) < (self._best.short, self._best.misfit):
                self._best = _Placed(ways, short, misfit + more)
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

    def _short(self, at: int, left: Mapping[tuple[Direction, LineType], int]) -> Short:
        """What the lines that are left leave short at least: as if what is not yet placed asked for no numbers."""
        key = at, frozenset(left.items())
        if key not in self._shorts:
            self._shorts[key] = _allotted([*self._from(at), *self.others], left)[0]
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

    def _chosen(self, unit: Unit, places: Sequence[Place], taken: frozenset[Line], count: int) -> Iterator[Place]:
        """So many places, as ways: of those that are alike the lowest."""
        classes: dict[object, list[Place]] = {}
        for place in places:
            alike = self._alike or not _paired(unit)  # no pairs are placed any more then
            key = self._nature(place, taken) if alike else _at(place)
            classes.setdefault(key, []).append(place)

        most = _most_alike(unit)

        def chosen(own: Sequence[Sequence[Place]], left: int) -> Iterator[list[Place]]:
            if not own:
                if not left:
                    yield []
                return
            if sum(map(len, own)) < left:
                return
            for number in range(min(left, len(own[0])), -1, -1):
                for others in chosen(own[1:], left - number):
                    yield [*own[0][:number], *others]

        for found in chosen([own[:most] for own in classes.values()], count):
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
    most = need.wanted and need.wanted.most_on_card
    return not most or max(Counter(spot.card for spot in way).values(), default=0) <= most


def _most_alike(unit: Unit) -> int:
    """So many places on one card at most."""
    size = 2 if _paired(unit) else 1
    most = [need.wanted.most_on_card for need in unit if need.wanted and need.wanted.most_on_card]
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
