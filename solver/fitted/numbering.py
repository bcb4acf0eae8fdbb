"""Which lines serve which needs where some ask for certain numbers: lists, runs, pairs; exact, with no solver.

First lists of numbers, then runs, then pairs, then what only has to come back on its own numbers, each in order of the
needs' names, are given every way that there is; a need that comes back on another is placed together with it. The other
needs get what is left. What is short comes first, then few holes, then few other signals given up, then low numbers.
Where not all that is asked of the numbers can be kept with all needs met that have to be, as many needs as can be get
theirs in the order of their names, and the others are served as if they asked for none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from heapq import heappop, heappush

from solver.fitted.allotting import Short
from solver.fitted.placing import (
    Patience,
    Placed,
    Trial,
    Unit,
    Way,
    allotted,
    by_name,
    in_turn,
    supply_of,
)
from solver.fitted.serving import Line, levels_of, serve
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, MOST_CHANNELS, MOST_ITEMS, Direction

Served = dict[str, list[tuple[Line, tuple[int, ...]]]]
"""By need the lines that serve it, with those of their channels that do."""

Side = tuple[Direction, int]
"""A direction of a frame."""


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
    """Needs that ask for certain numbers, each with the one that is to have the same, in order of their names."""
    asking = {need.name: need for need in sorted(needs, key=lambda need: need.name) if need.wanted is not None}
    found: dict[Unit, None] = {}
    for need in asking.values():
        partner = asking.get((need.wanted and need.wanted.partner) or "")
        found[(need,) if partner is None else (min(need, partner, key=by_name), max(need, partner, key=by_name))] = None
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
    ) -> None:
        self.patience = patience
        self.needs = sorted((need for need in needs if need.demand), key=by_name)
        self.asking = _units(self.needs)
        self.given_up = 0
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
        self.given_up = len(self.asking) - len(kept)
        if found is None:
            return self._rest(self.needs, self.lines, {})
        placed, ends = found
        ways = dict(zip((need.name for unit in in_turn(kept) for need in unit), placed.ways, strict=True))
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

    def _best(self, kept: Sequence[Unit]) -> tuple[Placed, dict[Side, int]] | None:
        """The best way to place some needs by their numbers, with the last slot in use; None where there is none."""
        must = allotted(self.needs, supply_of(self.lines))[0].channels
        top = tuple(len(own) - 1 for own in self.levels)
        found = self._placed(kept, top, Short(must, MOST_CHANNELS * MOST_ITEMS, MOST_ITEMS))
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
        ends = self._ends(at)
        lines = [line for line in self.lines if line.slot <= ends[line.direction, line.frame]]
        return Trial(self.needs, kept, lines, most, self.patience).best()


def _by_line(way: Way) -> list[tuple[Line, tuple[int, ...]]]:
    by_line: dict[Line, list[int]] = {}
    for spot in way:
        by_line.setdefault(spot.line, []).append(spot.channel)
    return [(line, tuple(sorted(channels))) for line, channels in by_line.items()]
