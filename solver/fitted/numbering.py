"""Which lines serve which needs where some ask for certain numbers: lists, runs, pairs; exact, with no solver.

First lists of numbers, then runs, then pairs, each in order of the needs' names, are given every way that there is;
the other needs get what is left. What is short comes first, then few holes, then few other signals given up, then low
numbers. Where not all that is asked of the numbers can be kept with all needs met that have to be, as many needs as can
be get theirs in the order of their names, and the others are served as if they asked for none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush

from solver.fitted.allotting import NOTHING, Short, allot
from solver.fitted.serving import Line, levels_of, serve
from solver.room.survey import LineType, Need
from solver.room.words import DIRECTIONS, MOST_CHANNELS, MOST_ITEMS, Direction

Served = dict[str, list[tuple[Line, tuple[int, ...]]]]
"""By need the lines that serve it, with those of their channels that do."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A number of a frame, with the line and the card channel that answer it."""

    frame: int
    number: int
    line: Line
    channel: int

    @property
    def card(self) -> tuple[int, int]:
        """The card that it is on."""
        return self.frame, self.line.card


Way = tuple[Spot, ...]
"""The spots of a need's channels, in their order."""


@dataclass(frozen=True)
class _Placed:
    """Where needs have their channels, and what that leaves short and gives up with all other needs."""

    ways: tuple[Way, ...]
    short: Short
    misfit: int


def serve_numbered(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    *,
    plain_first: bool = False,
) -> Served:
    """Let lines serve needs of which some ask for certain numbers; the arguments are those of `serving.serve`."""
    found: Served = {}
    for direction in DIRECTIONS:
        asked = [need for need in needs if need.direction == direction]
        own = [line for line in lines if line.direction == direction]
        known = None if ends is None else ends.get(direction, {})
        found |= _Side(asked, own, holes.get(direction, {}), known, plain_first=plain_first).served()
    return found


class _Side:
    """Needs and lines of one direction."""

    def __init__(
        self,
        needs: Sequence[Need],
        lines: Sequence[Line],
        holes: Mapping[tuple[int, int], int],
        ends: Mapping[int, int] | None,
        *,
        plain_first: bool,
    ) -> None:
        self.needs = sorted((need for need in needs if need.demand), key=lambda need: need.name)
        self.asking = [need for need in self.needs if need.wanted is not None]
        signals = {need.signal for need in self.needs}
        self.lines = [
            line
            for line in lines
            if line.line_type.signals & signals and (ends is None or line.slot <= ends.get(line.frame, 0))
        ]
        self.holes = holes
        self.settled = ends is not None or plain_first
        self.plain_first = plain_first
        self.frames = sorted({line.frame for line in self.lines})
        self.levels = [levels_of(f, [x for x in self.lines if x.frame == f], holes) for f in self.frames]

    def served(self) -> Served:
        """By need the lines and channels that serve it."""
        kept = self.asking
        found = self._best(kept)
        if found is None:
            kept = []
            for need in self.asking:
                more = self._best([*kept, need])
                if more is not None:
                    kept, found = [*kept, need], more
        if found is None:
            return self._rest(self.needs, self.lines, {})
        placed, ends = found
        ways = dict(zip((need.name for need in _in_turn(kept)), placed.ways, strict=True))
        taken = {spot.line for way in ways.values() for spot in way}
        left = [line for line in self.lines if line not in taken and line.slot <= ends[line.frame]]
        reached = dict.fromkeys(self.frames, 0)
        for line in taken:
            reached[line.frame] = max(reached[line.frame], line.slot)
        rest = self._rest([need for need in self.needs if need.name not in ways], left, reached)
        return {**rest, **{name: _by_line(way) for name, way in ways.items()}}

    def _rest(self, needs: Sequence[Need], lines: Sequence[Line], reached: Mapping[int, int]) -> Served:
        """The needs that ask for no numbers; holes below what is in use already are there anyway."""
        if not needs:
            return {}
        direction = needs[0].direction
        there = {frame: self.holes.get((frame, slot), 0) for frame, slot in reached.items()}
        holes = {
            (frame, slot): 0 if slot <= reached.get(frame, 0) else max(0, count - there.get(frame, 0))
            for (frame, slot), count in self.holes.items()
        }
        plain = [replace(need, wanted=None) for need in needs]
        found = serve(plain, lines, {direction: holes}, plain_first=self.plain_first)
        return {name: [(line, line.channels[:count]) for line, count in own] for name, own in found.items()}

    def _best(self, kept: Sequence[Need]) -> tuple[_Placed, dict[int, int]] | None:
        """The best way to place some needs by their numbers, with the last slot in use; None where there is none."""
        must = allot(self.needs, Counter(line.line_type for line in self.lines)).short.channels
        top = tuple(len(own) - 1 for own in self.levels)
        found = self._placed(kept, top, Short(must, MOST_CHANNELS * MOST_ITEMS, MOST_ITEMS))
        if found is None or self.settled:
            return None if found is None else (found, self._ends(top))
        return self._lowest(kept, found, top) if len(self.frames) == 1 else self._least(kept, found)

    def _lowest(self, kept: Sequence[Need], best: _Placed, top: tuple[int, ...]) -> tuple[_Placed, dict[int, int]]:
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

    def _least(self, kept: Sequence[Need], best: _Placed) -> tuple[_Placed, dict[int, int]]:
        """The same in several frames: ever more holes, until so few are enough."""
        least: tuple[_Placed, dict[int, int]] | None = None
        waiting = [(0, (0,) * len(self.frames))]
        seen = {waiting[0][1]}
        most: int | None = None
        while waiting:
            holes, at = heappop(waiting)
            if most is not None and holes > most:
                break
            found = self._placed(kept, at, best.short)
            if found is not None and (least is None or found.misfit < least[0].misfit):
                least, most = (found, self._ends(at)), holes
            for frame, own in enumerate(self.levels):
                after = (*at[:frame], at[frame] + 1, *at[frame + 1 :])
                if at[frame] + 1 < len(own) and after not in seen:
                    seen.add(after)
                    heappush(waiting, (holes + own[at[frame] + 1].holes - own[at[frame]].holes, after))
        assert least is not None  # all lines are enough
        return least

    def _ends(self, at: Sequence[int]) -> dict[int, int]:
        return {frame: own[n].end for frame, own, n in zip(self.frames, self.levels, at, strict=True)}

    def _placed(self, kept: Sequence[Need], at: Sequence[int], most: Short) -> _Placed | None:
        ends = self._ends(at)
        lines = [line for line in self.lines if line.slot <= ends[line.frame]]
        return _Trial(self.needs, kept, lines, most).best()


def _by_line(way: Way) -> list[tuple[Line, tuple[int, ...]]]:
    by_line: dict[Line, list[int]] = {}
    for spot in way:
        by_line.setdefault(spot.line, []).append(spot.channel)
    return [(line, tuple(sorted(channels))) for line, channels in by_line.items()]


def _in_turn(kept: Sequence[Need]) -> list[Need]:
    """The needs in the order in which they are placed: those with least choice first."""

    def turn(need: Need) -> int:
        assert need.wanted is not None
        return 0 if need.wanted.numbers(1) else 1 if need.wanted.consecutive else 2

    return sorted(kept, key=lambda need: (turn(need), need.name))


class _Trial:
    """Every way to place some needs by their numbers on some lines, while no more is short than may be."""

    def __init__(self, needs: Sequence[Need], kept: Sequence[Need], lines: Sequence[Line], most: Short) -> None:
        self.order = _in_turn(kept)
        names = {need.name for need in kept}
        self.others = [need for need in needs if need.name not in names]
        self.most = most
        self.supply = Counter(line.line_type for line in lines)
        self.spots = {
            (line.frame, line.first + n): Spot(line.frame, line.first + n, line, channel)
            for line in lines
            for n, channel in enumerate(line.channels)
        }
        self._ways: dict[str, list[Way]] = {}
        self._pairs_touched = Counter(
            line
            for (frame, number), first in self.spots.items()
            if number % 2 and (second := self.spots.get((frame, number + 1))) and first.card == second.card
            for line in {first.line, second.line}
        )
        self._alike = all(need.demand % 2 == 0 for need in self.order if need.wanted and need.wanted.pairs)
        self._seen: set[tuple[int, frozenset[Line]]] = set()
        self._shorts: dict[tuple[int, frozenset[tuple[LineType, int]]], Short] = {}
        self._best: _Placed | None = None
        self._floor = (NOTHING, 0)

    def best(self) -> _Placed | None:
        """The way that gives up the fewest other signals, of equals the one with the lowest numbers."""
        floor = allot([*self.order, *self.others], self.supply)
        self._floor = floor.short, floor.misfit
        if floor.short <= self.most:
            self._descend((), frozenset())
        return self._best

    def _descend(self, ways: tuple[Way, ...], taken: frozenset[Line]) -> None:
        at = len(ways)
        if (at, taken) in self._seen:
            return
        self._seen.add((at, taken))
        misfit = sum(line.line_type.misfit for line in taken)
        left = self.supply - Counter(line.line_type for line in taken)
        least = self._short(at, left)
        if least > self.most or (self._best is not None and (least, misfit) >= (self._best.short, self._best.misfit)):
            return
        if at == len(self.order):
            deal = allot(self.others, left)
            if self._best is None or (deal.short, misfit + deal.misfit) < (self._best.short, self._best.misfit):
                self._best = _Placed(ways, deal.short, misfit + deal.misfit)
            return
        for way in self._open_to(self.order[at], taken):
            self._descend((*ways, way), taken | {spot.line for spot in way})
            if self._best is not None and (self._best.short, self._best.misfit) == self._floor:
                return

    def _short(self, at: int, left: Mapping[LineType, int]) -> Short:
        """What the lines that are left leave short at least: as if what is not yet placed asked for no numbers."""
        key = at, frozenset(left.items())
        if key not in self._shorts:
            self._shorts[key] = allot([*self.order[at:], *self.others], left).short
        return self._shorts[key]

    def _open_to(self, need: Need, taken: frozenset[Line]) -> Iterator[Way]:
        """The ways of a need that others leave open, low numbers first."""
        assert need.wanted is not None
        if need.wanted.numbers(1) or need.wanted.consecutive:
            if need.name not in self._ways:
                self._ways[need.name] = list(self._runs(need))
            for way in self._ways[need.name]:
                if not any(spot.line in taken for spot in way):
                    yield way
        elif self._alike:
            yield from self._pairs(need, self._pair_places(need, taken), need.demand // 2)
        else:
            yield from self._any_pairs(need, taken)

    # Lists and runs

    def _runs(self, need: Need) -> Iterator[Way]:
        """Each way to give a need the numbers that it lists, or a run of them."""
        wanted, count = need.wanted, need.demand
        assert wanted is not None
        listed = wanted.numbers(count)
        if listed:
            asked = [(wanted.frame or 0, listed)]
        else:
            asked = [
                (frame, tuple(range(first, first + count)))
                for frame, first in sorted(self.spots)
                if (first - 1) % wanted.bank == 0
            ]
        for frame, numbers in asked:
            way = tuple(self.spots[frame, n] for n in numbers if (frame, n) in self.spots)
            if len(way) == count and all(need.signal in spot.line.line_type.signals for spot in way):
                cards = {spot.card for spot in way}
                if (len(cards) == 1 or not wanted.one_card) and (not wanted.pairs or _paired(way)):
                    yield way

    # Pairs

    def _pair_places(self, need: Need, taken: frozenset[Line]) -> list[tuple[Spot, Spot]]:
        """An odd number and the next one on one card, both free and for the need's signal; low numbers first."""
        found = []
        for (frame, number), first in sorted(self.spots.items()):
            second = self.spots.get((frame, number + 1))
            if number % 2 and second is not None and first.card == second.card:
                lines = {first.line, second.line}
                if not lines & taken and all(need.signal in line.line_type.signals for line in lines):
                    found.append((first, second))
        return found

    def _pairs(self, need: Need, places: Sequence[tuple[Spot, Spot]], count: int) -> Iterator[Way]:
        """So many pairs: of places whose lines are alike and in no other place, the lowest; of others any."""
        classes: dict[object, list[tuple[Spot, Spot]]] = {}
        for first, second in places:
            lines = (first.line, second.line)
            alike = self._alike and all(self._pairs_touched[line] == 1 for line in lines)
            key: object = (first.frame, first.number)
            if alike:
                key = lines[0].line_type, lines[1].line_type, lines[0] == lines[1]
            classes.setdefault(key, []).append((first, second))

        def chosen(own: Sequence[Sequence[tuple[Spot, Spot]]], left: int) -> Iterator[list[tuple[Spot, Spot]]]:
            if not own:
                if not left:
                    yield []
                return
            if sum(map(len, own)) < left:
                return
            for number in range(min(left, len(own[0])), -1, -1):
                for others in chosen(own[1:], left - number):
                    yield [*own[0][:number], *others]

        for pairs in chosen(list(classes.values()), count):
            ordered = sorted(pairs, key=lambda pair: (pair[0].frame, pair[0].number))
            yield tuple(spot for pair in ordered for spot in pair)

    def _any_pairs(self, need: Need, taken: frozenset[Line]) -> Iterator[Way]:
        """Pairs, and for an odd count the last channel on an odd number beyond them."""
        places = self._pair_places(need, taken)
        if need.demand % 2 == 0:
            yield from self._pairs(need, places, need.demand // 2)
            return
        for (frame, number), last in sorted(self.spots.items()):
            if number % 2 and last.line not in taken and need.signal in last.line.line_type.signals:
                before = [place for place in places if (place[0].frame, place[0].number) < (frame, number)]
                for way in self._pairs(need, before, need.demand // 2):
                    yield (*way, last)


def _paired(way: Way) -> bool:
    """Whether each two channels have an odd number and the next one on one card; an odd last one an odd number."""
    pairs = list(zip(way[::2], [*way[1::2], None] if len(way) % 2 else way[1::2], strict=True))
    return all(
        first.number % 2 == 1 and (second is None or (second.number == first.number + 1 and second.card == first.card))
        for first, second in pairs
    )
