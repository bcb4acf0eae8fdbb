"""Needs that ask for the same of a line: how many lines of each grain meet them, and what fewer leave short."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from solver.room.kind import LineType
from solver.room.survey import Need

Lines = tuple[int, ...]
"""Numbers of lines, one for each grain that a signal can be served by."""


class Short(NamedTuple):
    """What is not met, the weightiest first.

    `channels` of needs that have to be met, `nice` channels of those that are nice to have, and how many `needs` of
    both sorts lack anything.
    """

    channels: int
    nice: int
    needs: int

    def plus(self, other: Short) -> Short:
        """Both together."""
        return Short(self.channels + other.channels, self.nice + other.nice, self.needs + other.needs)


NOTHING = Short(0, 0, 0)


class Asker:
    """All needs of one signal, and how many lines of each grain it could be given at most."""

    def __init__(self, needs: Sequence[Need], types: Sequence[LineType], supply: Mapping[LineType, int]) -> None:
        self.needs = needs
        self.signal = needs[0].ask
        own = [t for t in types if self.signal in t.asks]
        self.grains = sorted({t.grain for t in own}, reverse=True)
        self.most = tuple(sum(supply[t] for t in own if t.grain == g) for g in self.grains)
        self.asked = sum(n.demand for n in needs)
        self.asked_for_sure = sum(n.demand for n in needs if not n.nice)
        self.even = len(self.grains) == 1 and not any(n.demand % self.grains[0] for n in needs)
        """Whether every line counts in full: lines of one grain, and needs of whole lines."""

    def useful(self, grain: int, *, nice: bool) -> int:
        """Lines of a grain that could serve at most, with or without those needs that are nice to have."""
        if grain not in self.grains:
            return 0
        wanted = sum(-(-n.demand // grain) for n in self.needs if nice or not n.nice)
        return min(wanted, self.most[self.grains.index(grain)])

    @cached_property
    def met(self) -> list[tuple[Short, Lines]]:
        """The smallest numbers of lines that meet every need; none where all its lines are too few."""
        if self.even:
            lines = self.asked // self.grains[0]
            return [(NOTHING, (lines,))] if lines <= self.most[0] else []
        return [(short, lines) for lines, (short, _) in self._steps_to_all[-1].items()]

    @cached_property
    def partly(self) -> list[tuple[Short, Lines]]:
        """What is short at least with so many lines, least short first, where no line is superfluous."""
        if self.even:
            most = min(self.most[0], self.asked // self.grains[0])
            return sorted((self.short((n,)), (n,)) for n in range(most + 1))
        return sorted((short, lines) for lines, (short, _) in self._steps_to_any[-1].items())

    def spread(self, lines: Lines) -> list[Lines]:
        """The lines of each need, where all needs have so many together."""
        if self.even:
            return [((n.demand - left) // self.grains[0],) for n, left in self._left_by(lines)]
        steps = self._steps_to_all if lines in self._steps_to_all[-1] else self._steps_to_any
        found: list[Lines] = []
        for step in reversed(steps[1:]):
            cover = step[lines][1]
            found.append(cover)
            lines = tuple(a - b for a, b in zip(lines, cover, strict=True))
        return found[::-1]

    def largest(self, *, nice: bool) -> list[int]:
        """Whole lines that needs ask for which are nice to have, or which are not, the largest need first."""
        return sorted((n.demand // self.grains[0] for n in self.needs if n.nice == nice), reverse=True)

    def short(self, lines: Lines) -> Short:
        """What so many lines leave short, where every line counts in full."""
        left = self._left_by(lines)
        return Short(
            sum(n for need, n in left if not need.nice),
            sum(n for need, n in left if need.nice),
            sum(n > 0 for _, n in left),
        )

    def _left_by(self, lines: Lines) -> list[tuple[Need, int]]:
        """What so many lines leave unmet of each need: the largest needs give way, so that they are few."""
        channels = lines[0] * self.grains[0]
        left = [0] * len(self.needs)
        for nice in (False, True):
            own = [i for i, need in enumerate(self.needs) if need.nice == nice]
            asked = sum(self.needs[i].demand for i in own)
            short, channels = max(0, asked - channels), max(0, channels - asked)
            for i in sorted(own, key=lambda i: (-self.needs[i].demand, -i)):
                left[i] = min(short, self.needs[i].demand)
                short -= left[i]
        return list(zip(self.needs, left, strict=True))

    @cached_property
    def _steps_to_all(self) -> list[dict[Lines, tuple[Short, Lines]]]:
        return self._steps(whole=True)

    @cached_property
    def _steps_to_any(self) -> list[dict[Lines, tuple[Short, Lines]]]:
        return self._steps(whole=False)

    def _steps(self, *, whole: bool) -> list[dict[Lines, tuple[Short, Lines]]]:
        """Need by need, what is short at least with so many lines so far, and the lines of the latest need."""
        steps: list[dict[Lines, tuple[Short, Lines]]] = [{(0,) * len(self.grains): (NOTHING, ())}]
        for need in self.needs:
            covers = list(self._covers(need.demand, self.grains, whole=whole))
            shorts = [self._lacking(need, cover) for cover in covers]
            found: dict[Lines, tuple[Short, Lines]] = {}
            for lines, (short, _) in steps[-1].items():
                for cover, lacking in zip(covers, shorts, strict=True):
                    total = tuple(a + b for a, b in zip(lines, cover, strict=True))
                    if any(n > most for n, most in zip(total, self.most, strict=True)):
                        continue
                    entry = (short.plus(lacking), cover)
                    if total not in found or entry[0] < found[total][0]:
                        found[total] = entry
            steps.append(_no_superfluous(found))
        return steps

    def _lacking(self, need: Need, cover: Lines) -> Short:
        left = max(0, need.demand - sum(n * g for n, g in zip(cover, self.grains, strict=True)))
        return Short(0 if need.nice else left, left if need.nice else 0, int(left > 0))

    def _covers(self, demand: int, grains: Sequence[int], *, whole: bool) -> Iterator[Lines]:
        """Lines for one need with none superfluous, large ones first; only those that meet it, if `whole`."""
        if not grains:
            if demand <= 0 or not whole:
                yield ()
            return
        for count in range(max(0, -(-demand // grains[0])), -1, -1):
            rest = demand - count * grains[0]
            for others in self._covers(rest, grains[1:], whole=whole):
                spare = sum(n * g for n, g in zip(others, grains[1:], strict=True)) - rest
                used = [g for n, g in zip((count, *others), grains, strict=True) if n]
                if all(spare < g for g in used):
                    yield (count, *others)


def _no_superfluous(found: Mapping[Lines, tuple[Short, Lines]]) -> dict[Lines, tuple[Short, Lines]]:
    """Without the entries that are no better than one with fewer lines of the last grain and as many of each other."""
    kept: dict[Lines, tuple[Short, Lines]] = {}
    least: dict[Lines, Short] = {}
    for lines in sorted(found):
        others = lines[:-1]
        if others not in least or found[lines][0] < least[others]:
            least[others] = found[lines][0]
            kept[lines] = found[lines]
    return kept
