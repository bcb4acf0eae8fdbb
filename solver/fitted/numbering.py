"""Which lines serve which needs where some ask for certain numbers: lists, runs, pairs; exact, with no solver.

First lists of numbers, then runs, then pairs, then what only has to come back on its own numbers, each in the order of
the files, are given every way that there is; a need that comes back on another is placed together with it. The other
needs get what is left. What is short comes first, then few holes, then few other signals given up, then low numbers.
Where not all that is asked of the numbers can be kept with all needs met that have to be, as many needs as can be get
theirs in the order of the files, and the others are served as if they asked for none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from heapq import heappop, heappush
from itertools import chain

from solver.fitted.one_signal import NOTHING, Short
from solver.fitted.placing import (
    Patience,
    Placed,
    Trial,
    Unit,
    Way,
    allotted,
    in_turn,
    supply_of,
)
from solver.fitted.serving import Line, dealt, in_file, levels_of, serve
from solver.room.survey import Need, Wanted
from solver.room.words import DIRECTIONS, MOST_CHANNELS, MOST_ITEMS, Direction

Served = dict[str, list[tuple[Line, tuple[int, ...]]]]
"""By need the lines that serve it, with those of their channels that do."""

Side = tuple[Direction, int]
"""A direction of a frame."""

MOST_FEWER = 500
"""So many ways are tried to have fewer channels of needs that are nice to have, unless all are to be."""

SOON = 100
"""So many ways more are tried to have numbers in the order of the files."""


def serve_numbered(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    *,
    plain_first: bool = False,
    patience: Patience | None = None,
) -> tuple[Served, int]:
    """Let lines serve needs of which some ask for certain numbers; the arguments are those of `serving.serve`.

    Also how many of them are served as if they asked for none.

    Where patience is over, needs may be left without their numbers though there is a way to have them all.
    """
    found: Served = {}
    given_up = 0
    for directions in _together(needs):
        asked = [need for need in needs if need.direction in directions]
        own = [line for line in lines if line.direction in directions]
        there = {(d, *place): count for d in directions for place, count in holes.get(d, {}).items()}
        known = None if ends is None else {(d, f): end for d in directions for f, end in ends.get(d, {}).items()}
        sides = _Sides(asked, own, there, known, patience or Patience(None), plain_first=plain_first)
        found |= sides.served()
        given_up += sides.given_up
    return found, given_up


def _together(needs: Sequence[Need]) -> list[tuple[Direction, ...]]:
    """The directions, each by itself unless a need of one comes back on one of the other, or shares no card with it."""
    ways = {need.name: need.direction for need in needs}
    apart = [(need.direction, ways.get(other)) for need in needs if need.wanted for other in need.wanted.apart]
    if any(len(unit) > 1 for unit in _units(needs)) or any(way not in (None, own) for own, way in apart):
        return [DIRECTIONS]
    return [(direction,) for direction in DIRECTIONS]


def _units(needs: Sequence[Need]) -> list[Unit]:
    """Needs that ask for certain numbers, each with the one that is to have the same, in order of the files."""
    asking = {need.name: need for need in sorted(needs, key=in_file) if need.wanted is not None}
    found: dict[Unit, None] = {}
    for need in asking.values():
        partner = asking.get((need.wanted and need.wanted.partner) or "")
        found[(need,) if partner is None else tuple(sorted((need, partner), key=in_file))] = None
    return list(found)


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
        most: int | None = None,
    ) -> None:
        """`most` channels of needs that have to be met may be short; as many as it takes, if None."""
        self.patience = patience
        self.needs = sorted((need for need in needs if need.demand), key=in_file)
        self.asking = _units(self.needs)
        self.given_up = 0
        asks = {(need.direction, need.ask) for need in self.needs}
        self.lines = [
            line
            for line in lines
            if any((line.direction, ask) in asks for ask in line.line_type.asks)
            and (ends is None or line.slot <= ends.get((line.direction, line.frame), 0))
        ]
        self.holes, self.last = holes, ends
        self.settled = ends is not None or plain_first
        self.plain_first = plain_first
        self.most = allotted(self.needs, supply_of(self.lines))[0].channels if most is None else most
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
        return (self._fewer() or self)._served()

    def _fewer(self) -> _Sides | None:
        """The same with as few channels less as can be of needs that are nice to have and ask for certain numbers.

        What is left of those has to be met then. None where there are none, or where nothing less would help.
        """
        nice = [need for need in self.needs if need.nice and need.wanted is not None]
        supply = supply_of(self.lines)
        best: tuple[tuple[Short, int, int], Short, _Sides] | None = None
        for tried, lacking in enumerate(_shortages([need.demand for need in nice]) if nice else ()):
            lacks = Short(0, sum(lacking), sum(n > 0 for n in lacking))
            if best is not None and lacks > best[1]:
                break
            if tried > MOST_FEWER and self.patience.left is not None:
                self.patience.over = True
                break
            left = {need: need.demand - n for need, n in zip(nice, lacking, strict=True)}
            needs = [replace(n, channels=left[n], spare=0, nice=False) if n in left else n for n in self.needs]
            if allotted(needs, supply)[0].channels > self.most:
                continue
            sides = _Sides(
                needs, self.lines, self.holes, self.last, self.patience, plain_first=self.plain_first, most=self.most
            )
            found = sides._best(sides.asking)
            if found is None:
                continue
            placed, ends = found
            short = placed.short.plus(lacks)
            holes = 0 if self.settled else sum(self.holes.get((*side, end), 0) for side, end in ends.items())
            if best is None or (short, holes, placed.misfit) < best[0]:
                best = (short, holes, placed.misfit), short, sides
        return None if best is None else best[2]

    def _served(self) -> Served:
        kept = self.asking
        found = self._best(kept)
        if found is None:
            kept = []
            for unit in self.asking:
                more = self._best([*kept, unit])
                if more is not None:
                    kept, found = [*kept, unit], more
        self.given_up = len(self.asking) - len(kept)
        if found is None:
            return self._rest(self.needs, self.lines, {})
        placed, ends = found
        orderly = self._orderly(placed, ends) if not self.given_up and placed.short == NOTHING else None
        if orderly is not None:
            return orderly
        ways = dict(zip((need.name for unit in in_turn(kept) for need in unit), placed.ways, strict=True))
        taken = {spot.line for way in ways.values() for spot in way}
        left = [line for line in self.lines if line not in taken and line.slot <= ends[line.direction, line.frame]]
        reached = dict.fromkeys(self.sides, 0)
        for line in taken:
            side = line.direction, line.frame
            reached[side] = max(reached[side], line.slot)
        rest = self._rest([need for need in self.needs if need.name not in ways], left, reached)
        return {**rest, **{name: _by_line(way) for name, way in ways.items()}}

    def _orderly(self, placed: Placed, ends: Mapping[Side, int]) -> Served | None:
        """The same with the numbers in the order of the files, where a way to have that shows soon."""
        plain = [(replace(need, wanted=Wanted()),) for need in self.needs if need.wanted is None]
        units = sorted([*self.asking, *plain], key=lambda unit: in_file(unit[0]))
        order = sorted(units, key=lambda unit: not any(need.wanted and need.wanted.numbers(1) for need in unit))
        lines = self._up_to(ends)
        found = Trial(self.needs, order, lines, NOTHING, Patience(SOON), placed.misfit).best()
        if found is None:
            return None
        own = {need.name: _by_line(way) for need, way in zip(chain(*order), found.ways, strict=True)}
        lines_of = {need: [line for line, _ in own[need.name]] for (need,) in plain}
        if any(_superfluous(need, lines) for need, lines in lines_of.items()):
            return None
        for direction in {need.direction for need in lines_of}:
            needs = [need for need in lines_of if need.direction == direction]
            shares = [Counter(line.line_type for line in lines_of[need]) for need in needs]
            own |= _whole(dealt(needs, shares, chain(*(lines_of[need] for need in needs))))
        return own

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
        return _whole(serve(plain, lines, holes, plain_first=self.plain_first))

    def _best(self, kept: Sequence[Unit]) -> tuple[Placed, dict[Side, int]] | None:
        """The best way to place some needs by their numbers, with the last slot in use; None where there is none."""
        top = tuple(len(own) - 1 for own in self.levels)
        found = self._placed(kept, top, Short(self.most, MOST_CHANNELS * MOST_ITEMS, MOST_ITEMS))
        if found is None or self.settled:
            return None if found is None else (found, self._ends(top))
        return self._lowest(kept, found, top) if len(self.sides) == 1 else self._least(kept, found)

    def _lowest(self, kept: Sequence[Unit], best: Placed, top: tuple[int, ...]) -> tuple[Placed, dict[Side, int]]:
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

    def _least(self, kept: Sequence[Unit], best: Placed) -> tuple[Placed, dict[Side, int]]:
        """The same in several frames or both directions: ever more holes, until so few are enough."""
        least: tuple[Placed, dict[Side, int]] | None = None
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

    def _placed(self, kept: Sequence[Unit], at: Sequence[int], most: Short) -> Placed | None:
        return Trial(self.needs, in_turn(kept), self._up_to(self._ends(at)), most, self.patience).best()

    def _up_to(self, ends: Mapping[Side, int]) -> list[Line]:
        return [line for line in self.lines if line.slot <= ends[line.direction, line.frame]]


def _superfluous(need: Need, lines: Sequence[Line]) -> bool:
    """Whether a need could do without one of its lines."""
    grains = [line.line_type.grain for line in lines]
    return sum(grains) - need.demand >= min(grains)


def _whole(found: Mapping[str, Sequence[tuple[Line, int]]]) -> Served:
    """The first channels of lines that serve."""
    return {name: [(line, line.channels[:count]) for line, count in own] for name, own in found.items()}


def _shortages(demands: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """How much of each of some needs may be lacking: the fewest channels first, then the fewest needs."""
    waiting = [(0, 0, (0,) * len(demands))]
    while waiting:
        total, _, lacking = heappop(waiting)
        yield lacking
        last = max((n for n, lacks in enumerate(lacking) if lacks), default=0)
        for n in range(last, len(demands)):  # each is reached by what it lacks of its last need alone
            if lacking[n] < demands[n]:
                more = (*lacking[:n], lacking[n] + 1, *lacking[n + 1 :])
                heappush(waiting, (total + 1, sum(lacks > 0 for lacks in more), more))


def _by_line(way: Way) -> list[tuple[Line, tuple[int, ...]]]:
    by_line: dict[Line, list[int]] = {}
    for spot in way:
        by_line.setdefault(spot.line, []).append(spot.channel)
    return [(line, tuple(sorted(channels))) for line, channels in by_line.items()]
