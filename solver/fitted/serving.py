"""Which lines serve which needs: as little short as can be, as few holes as can be, the plainest lines; all exact."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.fitted.allotting import Allotment, allot, allot_whole
from solver.fitted.one_signal import NOTHING
from solver.room.kind import LineType
from solver.room.survey import Need
from solver.room.traits import Ask
from solver.room.words import DIRECTIONS, Direction


@dataclass(frozen=True, slots=True)
class Line:
    """A line that can serve: all its channels are numbered.

    `channels` count along the slot, `first` is a number, `card` the first slot of the card.
    """

    frame: int
    direction: Direction
    slot: int
    channels: tuple[int, ...]
    line_type: LineType
    first: int
    card: int = 0


def _within(lines: Sequence[Line], ends: Mapping[int, int]) -> list[Line]:
    return [line for line in lines if line.slot <= ends.get(line.frame, 10**6)]


@dataclass(frozen=True)
class Level:
    """The lines of a frame up to a slot, and the holes that use of that slot leaves."""

    end: int
    holes: int
    supply: Mapping[LineType, int]


def levels_of(frame: int, lines: Sequence[Line], holes: Mapping[tuple[int, int], int]) -> list[Level]:
    """For each number of holes that a frame may be left with, the furthest that its lines can then be used."""
    found = [Level(0, 0, {})]
    supply: Counter[LineType] = Counter()
    for slot in sorted({line.slot for line in lines}):
        supply.update(line.line_type for line in lines if line.slot == slot)
        level = Level(slot, holes.get((frame, slot), 0), dict(supply))
        if level.holes <= found[-1].holes:
            found.pop()
        found.append(level)
    return found


class _Ends:
    """Where the lines in use end in each frame: the fewest holes that leave needs no shorter than all lines would."""

    def __init__(
        self,
        needs: Sequence[Need],
        lines: Sequence[Line],
        holes: Mapping[tuple[int, int], int],
        *,
        plain_first: bool,
    ) -> None:
        self.needs = [n for n in needs if n.demand]
        self.plain_first = plain_first
        self.frames = sorted({line.frame for line in lines})
        self.levels = [levels_of(f, [x for x in lines if x.frame == f], holes) for f in self.frames]
        self._known: dict[tuple[int, ...], Allotment | None] = {}
        self.top = tuple(len(own) - 1 for own in self.levels)
        self.aim = allot(self.needs, self._supply(self.top))
        self._known[self.top] = self.aim

    def lowest(self) -> dict[int, int]:
        """The last slot that may serve, by frame: fewest holes, then least misfit, or the other way round."""
        best: tuple[int, int] | None = None
        taken = self.top
        floors = _Floors(self)

        def descend(before: tuple[int, ...], holes: int) -> None:
            nonlocal best, taken
            at = len(before)
            if best is not None:
                least = holes + floors.of(before)
                if least > best[0] or (least == best[0] and best[1] == self.aim.misfit):
                    return
            if at == len(self.frames):
                found = self._allotment(before)
                if found is not None and (best is None or (holes, found.misfit) < best):
                    best, taken = (holes, found.misfit), before
                return
            for level in range(self._lowest_that_does(before), len(self.levels[at])):
                descend((*before, level), holes + self.levels[at][level].holes)

        if self._does((0,) * len(self.frames)) and not any(own[0].holes for own in self.levels):
            taken = (0,) * len(self.frames)
        else:
            descend((), 0)
        return {f: own[n].end for f, own, n in zip(self.frames, self.levels, taken, strict=True)}

    def _lowest_that_does(self, before: tuple[int, ...]) -> int:
        """The lowest level of the next frame with which the needs are no shorter, the frames after it used freely."""
        at = len(before)
        low, high = 0, self.top[at]
        while low < high:
            middle = (low + high) // 2
            if self._does((*before, middle, *self.top[at + 1 :])):
                high = middle
            else:
                low = middle + 1
        return low

    def _does(self, levels: tuple[int, ...]) -> bool:
        found = self._allotment(levels)
        if found is None or found.short != self.aim.short:
            return False
        return not self.plain_first or found.misfit == self.aim.misfit

    def _allotment(self, levels: tuple[int, ...]) -> Allotment | None:
        if levels not in self._known:
            within = allot_whole if self.aim.short == NOTHING else allot
            self._known[levels] = within(self.needs, self._supply(levels))
        return self._known[levels]

    def _supply(self, levels: tuple[int, ...]) -> Counter[LineType]:
        supply: Counter[LineType] = Counter()
        for own, level in zip(self.levels, levels, strict=True):
            supply.update(own[level].supply)
        return supply


class _Floors:
    """Holes that frames leave at least, seen for one signal at a time and for all together.

    Lines that take a signal must bring as many channels as are served now, less those that other signals ask for.
    """

    def __init__(self, ends: _Ends) -> None:
        self.channels: list[list[list[int]]] = []
        """For each set of signals, frame and level the channels of lines that take one of them."""
        self.tables: list[list[list[int]]] = []
        """For each set of signals and place among the frames, the fewest holes for so many channels or more."""
        self.goals: list[int] = []
        asked = sum(n.demand for n in ends.needs)
        served = asked - ends.aim.short.channels - ends.aim.short.nice
        signals = sorted({n.ask for n in ends.needs})
        for own in [set(signals), *({signal} for signal in signals)]:
            goal = served - sum(n.demand for n in ends.needs if n.ask not in own)
            if goal > 0:
                channels = [
                    [sum(n * t.grain for t, n in level.supply.items() if t.asks & own) for level in levels]
                    for levels in ends.levels
                ]
                self.goals.append(goal)
                self.channels.append(channels)
                self.tables.append(self._table(ends, channels, goal))

    @staticmethod
    def _table(ends: _Ends, channels: list[list[int]], goal: int) -> list[list[int]]:
        never = 10**9
        table = [[0, *[never] * goal]]
        for levels, own in zip(reversed(ends.levels), reversed(channels), strict=True):
            after = table[-1]
            ways = [
                [level.holes + holes for holes in ([after[0]] * have + after)[: goal + 1]]
                for level, have in zip(levels, own, strict=True)
            ]
            table.append(ways[0] if len(ways) == 1 else list(map(min, *ways)))
        return table[::-1]

    def of(self, before: tuple[int, ...]) -> int:
        """Holes at least in the frames after those whose levels are given."""
        least = 0
        for goal, channels, table in zip(self.goals, self.channels, self.tables, strict=True):
            have = sum(own[level] for own, level in zip(channels, before, strict=False))
            least = max(least, table[len(before)][max(0, goal - have)])
        return least


def serve(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    ends: Mapping[Direction, Mapping[int, int]] | None = None,
    *,
    plain_first: bool = False,
) -> dict[str, list[tuple[Line, int]]]:
    """Let lines serve needs: line and how many of its channels are asked for, by need.

    First the needs that have to be met lack as few channels as can be, then those that are nice to have, then few
    needs lack anything; then few holes are left over all frames, then few other signals are given up.

    Parameters
    ----------
    needs
        Needs of both directions.
    lines
        All lines that can serve.
    holes
        By direction, then frame and slot: the holes that use of that slot would leave below it.
    ends
        By direction, then frame: the last slot that may serve, where it is known already.
    plain_first
        Whether giving up other signals counts before holes, as it does where holes are not ranked.

    Notes
    -----
    Among equal ways needs are met in the order of the files, from frames and slots in their order.
    """
    found: dict[str, list[tuple[Line, int]]] = {}
    for direction in DIRECTIONS:
        asked = [n for n in sorted(needs, key=in_file) if n.direction == direction]
        own = sorted((x for x in lines if x.direction == direction), key=lambda x: (x.frame, x.slot, x.channels))
        own = [x for x in own if any(n.ask in x.line_type.asks for n in asked)]
        if ends is not None:
            own = _within(own, ends.get(direction, {}))
        own = _within(own, _Ends(asked, own, holes.get(direction, {}), plain_first=plain_first).lowest())
        free: dict[LineType, list[Line]] = {}
        for line in own:
            free.setdefault(line.line_type, []).append(line)
        shares = allot(asked, {t: len(own_lines) for t, own_lines in free.items()}).shares
        used = sum((Counter(share) for share in shares), Counter[LineType]())
        lowest = [line for line_type, own_lines in free.items() for line in own_lines[: used[line_type]]]
        found |= dealt(asked, shares, lowest)
    return found


def in_file(need: Need) -> tuple[int, ...]:
    """Where a need begins among those of its room; for sorting."""
    return need.place_of(1)


def dealt(
    needs: Sequence[Need], shares: Sequence[Mapping[LineType, int]], lines: Iterable[Line]
) -> dict[str, list[tuple[Line, int]]]:
    """Deal lines in their order: each to the need whose next channel stands first in the files.

    Parameters
    ----------
    shares
        By need how many lines it gets of each type. Those of one grain are dealt among needs that ask for the same of a
        line, whatever their types.
    lines
        As many of each type as there are in all shares.
    """
    taken: Counter[tuple[Ask, LineType]] = Counter()
    left: Counter[tuple[str, int]] = Counter()
    for need, share in zip(needs, shares, strict=True):
        for line_type, count in share.items():
            taken[need.ask, line_type] += count
            left[need.name, line_type.grain] += count
    found: dict[str, list[tuple[Line, int]]] = {need.name: [] for need in needs}
    given = dict.fromkeys(found, 0)
    for line in sorted(lines, key=lambda line: (line.frame, line.slot, line.channels)):
        grain = line.line_type.grain
        open_to = [n for n in needs if left[n.name, grain] and taken[n.ask, line.line_type]]
        need = min(open_to, key=lambda n: n.place_of(given[n.name] + 1))
        left[need.name, grain] -= 1
        taken[need.ask, line.line_type] -= 1
        found[need.name].append((line, min(grain, need.demand - given[need.name])))
        given[need.name] += grain
    return found
