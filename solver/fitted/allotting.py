"""How many lines of each type serve each need: exact, by counts alone.

Needs of one signal differ only in what they ask for, and lines of one type are alike. So it is settled first how many
lines of each grain go to each signal, and then of which types they are: among lines of one grain, taking the plainest
first and exchanging where that lets one more be taken gives up the fewest other signals (they form a matroid). A signal
is told here with what else is asked of a line.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import accumulate, combinations, pairwise
from math import ceil

from solver.fitted.one_signal import NOTHING, Asker, Lines, Short
from solver.room.kind import LineType
from solver.room.survey import Need
from solver.room.traits import Ask

MOST_SIGNALS = 6
"""Signals that share lines; beyond that sets of them are too many to look at each."""


@dataclass(frozen=True, slots=True)
class Allotment:
    """For each need the lines of each type that serve it, what is short, and how many other signals are given up."""

    shares: tuple[Mapping[LineType, int], ...]
    short: Short
    misfit: int


def allot(needs: Sequence[Need], supply: Mapping[LineType, int]) -> Allotment:
    """Meet needs from lines: least short, then the plainest lines.

    Parameters
    ----------
    needs
        Needs of one direction. Among equal ways, those that stand first are met first.
    supply
        Lines on hand by type.
    """
    found = _allot(needs, supply, whole=False)
    assert found is not None  # nothing at all for anybody is a way too
    return found


def allot_whole(needs: Sequence[Need], supply: Mapping[LineType, int]) -> Allotment | None:
    """The same where every need can be met; else None, which is quicker to say."""
    return _allot(needs, supply, whole=True)


def _allot(needs: Sequence[Need], supply: Mapping[LineType, int], *, whole: bool) -> Allotment | None:
    types = sorted((t for t in supply if supply[t]), key=lambda t: (t.misfit, t.key))
    shares: dict[str, dict[LineType, int]] = {}
    short, misfit = NOTHING, 0
    for signals in _linked(needs, types):
        own = [t for t in types if t.asks & signals]
        askers = [Asker([n for n in needs if n.ask == s and n.demand], own, supply) for s in sorted(signals)]
        found = _shared_out(askers, own, supply, whole=whole)
        if found is None:
            return None
        short, misfit = short.plus(found.short), misfit + found.misfit
        for asker, lines, taken in zip(askers, found.lines, found.taken(), strict=True):
            for need, own_lines in zip(asker.needs, asker.spread(lines), strict=True):
                shares[need.name] = _of_types(asker.grains, own_lines, taken)
    return Allotment(tuple(shares.get(need.name, {}) for need in needs), short, misfit)


def _linked(needs: Sequence[Need], types: Sequence[LineType]) -> list[set[Ask]]:
    """The signals asked for, parted where no type of line takes signals of two parts."""
    parts = [{signal} for signal in sorted({n.ask for n in needs if n.demand})]
    for line_type in types:
        hit = [part for part in parts if part & line_type.asks]
        if len(hit) > 1:
            parts = [part for part in parts if part not in hit] + [set().union(*hit)]
    return parts


def _of_types(grains: Sequence[int], lines: Lines, left: dict[LineType, int]) -> dict[LineType, int]:
    """Types for a need's lines of each grain, taken from what its signal was given."""
    share: dict[LineType, int] = {}
    for grain, count in zip(grains, lines, strict=True):
        open_lines = count
        for line_type in [t for t in left if t.grain == grain]:
            take = min(open_lines, left[line_type])
            if take:
                share[line_type] = take
                left[line_type] -= take
                open_lines -= take
    return share


@dataclass(frozen=True)
class _Matching:
    """Lines of each type that go to each signal."""

    lines: Mapping[Ask, Mapping[LineType, int]]

    @property
    def count(self) -> int:
        return sum(n for own in self.lines.values() for n in own.values())

    @property
    def misfit(self) -> int:
        return sum(n * t.misfit for own in self.lines.values() for t, n in own.items())


def _match(types: Sequence[LineType], supply: Mapping[LineType, int], wanted: Mapping[Ask, int]) -> _Matching:
    """As many lines of one grain as can be, the plainest first; `types` are in that order."""
    given: dict[Ask, dict[LineType, int]] = {signal: {} for signal in wanted}
    open_to = dict(wanted)
    for line_type in types:
        left = supply[line_type]
        while left:
            chain = _chain(line_type, given, open_to)
            if chain is None:
                break
            amount = min(left, open_to[chain[-1][1]], *(given[b][t] for (_, b), (t, _) in pairwise(chain)))
            for n, (mover, signal) in enumerate(chain):
                given[signal][mover] = given[signal].get(mover, 0) + amount
                if n:
                    given[chain[n - 1][1]][mover] -= amount
            open_to[chain[-1][1]] -= amount
            left -= amount
    return _Matching(given)


def _chain(
    line_type: LineType, given: Mapping[Ask, Mapping[LineType, int]], open_to: Mapping[Ask, int]
) -> list[tuple[LineType, Ask]] | None:
    """Who goes where so that one more line of a type is in use: it itself first, the one that moves on last."""
    reached: dict[Ask, tuple[LineType, Ask | None]] = dict.fromkeys(
        sorted(line_type.asks & given.keys()), (line_type, None)
    )
    queue = list(reached)
    for signal in queue:
        if open_to[signal]:
            chain: list[tuple[LineType, Ask]] = []
            at: Ask | None = signal
            while at is not None:
                mover, before = reached[at]
                chain.append((mover, at))
                at = before
            return chain[::-1]
        for mover, count in given[signal].items():
            if count:
                for other in sorted(mover.asks & given.keys() - reached.keys()):
                    reached[other] = (mover, signal)
                    queue.append(other)
    return None


class _Room:
    """Lines of one grain that signals are given one amount after another; what is given may still be exchanged."""

    def __init__(self, types: Sequence[LineType], supply: Mapping[LineType, int], signals: Sequence[Ask]) -> None:
        self._left = [supply[t] for t in types]
        self._taking = {s: [n for n, t in enumerate(types) if s in t.asks] for s in signals}
        self._given: list[dict[Ask, int]] = [{} for _ in types]

    def grow(self, signal: Ask, amount: int) -> int:
        """Give a signal so many lines more, or as many as can be; how many those are."""
        grown = 0
        while grown < amount:
            chain = self._chain(signal)
            if chain is None:
                break
            step = min(amount - grown, self._left[chain[-1][1]])
            for (_, line_type), (other, _) in pairwise(chain):
                step = min(step, self._given[line_type][other])
            for n, (taker, line_type) in enumerate(chain):
                own = self._given[line_type]
                own[taker] = own.get(taker, 0) + step
                if n + 1 < len(chain):
                    own[chain[n + 1][0]] -= step
            self._left[chain[-1][1]] -= step
            grown += step
        return grown

    def _chain(self, signal: Ask) -> list[tuple[Ask, int]] | None:
        """Who takes which type of line, each from the next, the last from what is left."""
        before: dict[Ask, tuple[Ask, int] | None] = {signal: None}
        queue = [signal]
        for at in queue:
            for line_type in self._taking[at]:
                if self._left[line_type]:
                    chain = [(at, line_type)]
                    while (link := before[chain[-1][0]]) is not None:
                        chain.append(link)
                    return chain[::-1]
            for line_type in self._taking[at]:
                for other, count in self._given[line_type].items():
                    if count and other not in before:
                        before[other] = (at, line_type)
                        queue.append(other)
        return None


@dataclass(frozen=True)
class _Deal:
    """For each asker its numbers of lines, and the matching of each grain."""

    short: Short
    misfit: int
    lines: tuple[Lines, ...] = ()
    matchings: tuple[_Matching, ...] = field(default=(), compare=False)
    signals: tuple[Ask, ...] = ()

    def taken(self) -> Iterator[dict[LineType, int]]:
        """What each asker is given, by type, the plainest first."""
        for signal in self.signals:
            merged = {t: n for m in self.matchings for t, n in m.lines.get(signal, {}).items() if n}
            yield dict(sorted(merged.items(), key=lambda item: (item[0].misfit, item[0].key)))


def _shared_out(
    askers: Sequence[Asker], types: Sequence[LineType], supply: Mapping[LineType, int], *, whole: bool
) -> _Deal | None:
    """Lines for signals that share types of line: least short, then least misfit; None if not `whole` where asked."""
    sharing = _Sharing(askers, types, supply)
    found = sharing.best([asker.met for asker in askers]) if all(asker.met for asker in askers) else None
    if found is not None or whole:
        return found
    if all(asker.even for asker in askers):
        return sharing.least_lacking()
    return sharing.best([asker.partly for asker in askers])


class _Sharing:
    """The search over what each signal is given; bounds on what is left keep it short."""

    def __init__(self, askers: Sequence[Asker], types: Sequence[LineType], supply: Mapping[LineType, int]) -> None:
        self.askers = askers
        self.supply = supply
        self.grains = sorted({t.grain for t in types}, reverse=True)
        self.types = [[t for t in types if t.grain == g] for g in self.grains]
        self.signals = tuple(asker.signal for asker in askers)

    def best(self, options: Sequence[Sequence[tuple[Short, Lines]]]) -> _Deal | None:
        """The best of all ways to take one option for each asker; None where none can be dealt."""
        floors = [NOTHING]
        for own in reversed(options):
            floors.insert(0, floors[0].plus(own[0][0]))
        best: _Deal | None = None

        def descend(chosen: tuple[Lines, ...], short: Short) -> None:
            nonlocal best
            at = len(chosen)
            if best is not None and short.plus(floors[at]) > best.short:
                return
            if not all(self._can_be(grain, chosen) for grain in self.grains):
                return
            if best is not None:
                least = max(short.plus(floors[at]), self._bound(chosen, short))
                if (least, self._least_misfit(best.short)) >= (best.short, best.misfit):
                    return
            if at == len(self.askers) or (best is not None and least == best.short):
                matchings = tuple(self._matching(grain, chosen) for grain in self.grains)
                misfit = sum(m.misfit for m in matchings)
                if best is not None and (least, misfit) >= (best.short, best.misfit):
                    return
                if at == len(self.askers):
                    best = _Deal(short, misfit, chosen, matchings, self.signals)
                    return
            for own, lines in options[at]:
                if best is not None and short.plus(own).plus(floors[at + 1]) > best.short:
                    break
                descend((*chosen, lines), short.plus(own))

        descend((), NOTHING)
        return best

    def least_lacking(self) -> _Deal:
        """The best where every line counts in full; what has to be met and what is nice then part.

        Channels that can be served form a matroid too. Whatever part of it is settled can be filled up to the most
        channels: so it is enough to find needs that are spared, as many as can be, which the largest never are while
        a smaller one of their signal is not. All fillings use equally many lines, so none has more misfit.
        """
        given = dict.fromkeys(self.signals, 0)
        for nice in (False, True):
            asked = {a.signal: a.largest(nice=nice) for a in self.askers}
            before = given if not nice else {a.signal: sum(a.largest(nice=False)) for a in self.askers}
            kept = self._spared(asked, before)
            given = {s: given[s] + kept[s] for s in self.signals}
            for s in self.signals:
                wanted = given | {s: given[s] + sum(asked[s]) - kept[s]}
                given[s] += self._room(0, wanted) - sum(given.values())
        lines = tuple((given[s],) for s in self.signals)
        matching = _match(self.types[0], self.supply, given)
        short = NOTHING
        for asker, own in zip(self.askers, lines, strict=True):
            short = short.plus(asker.short(own))
        return _Deal(short, matching.misfit, lines, (matching,), self.signals)

    def _room(self, grain: int, wanted: Mapping[Ask, int]) -> int:
        """How many lines of a grain can be matched to what is wanted: by Hall's theorem where sets of signals are few.

        `grain` is its place among the grains.
        """
        if len(self.signals) > MOST_SIGNALS:
            room = _Room(self.types[grain], self.supply, self.signals)
            return sum(room.grow(signal, amount) for signal, amount in wanted.items())
        return min(lines + sum(wanted[s] for s in others) for lines, others in self._sets[grain])

    @cached_property
    def _sets(self) -> list[list[tuple[int, tuple[Ask, ...]]]]:
        """By grain, for every set of signals the lines that take any of them, and the signals outside it."""
        return [
            [
                (
                    sum(self.supply[t] for t in types if t.asks & set(inside)),
                    tuple(s for s in self.signals if s not in inside),
                )
                for size in range(len(self.signals) + 1)
                for inside in combinations(self.signals, size)
            ]
            for types in self.types
        ]

    def _spared(self, asked: Mapping[Ask, Sequence[int]], before: Mapping[Ask, int]) -> dict[Ask, int]:  # noqa: C901 - one search
        """Lines that each signal keeps, so that as few needs as can be give way; what is before them comes first."""
        base = self._room(0, before)
        kept = [[sum(asked[s][k:]) for k in range(len(asked[s]) + 1)] for s in self.signals]
        sizes = sorted({(size, n) for n, s in enumerate(self.signals) for size in asked[s]})

        def lines(ways: Sequence[int]) -> dict[Ask, int]:
            own = {s: kept[n][ways[n]] if n < len(ways) else 0 for n, s in enumerate(self.signals)}
            return {s: before[s] + own[s] for s in self.signals}

        def fits(ways: Sequence[int]) -> bool:
            wanted = lines(ways)
            return self._room(0, wanted) - base == sum(wanted.values()) - sum(before.values())

        def fewest(ways: tuple[int, ...]) -> int:
            low, high = 0, len(kept[len(ways)]) - 1
            while low < high:
                middle = (low + high) // 2
                low, high = (low, middle) if fits((*ways, middle)) else (middle + 1, high)
            return low

        def at_least(ways: tuple[int, ...]) -> int:
            """Needs that give way at least: as if parts of needs could be spared, the smallest first."""
            room, spared = _Room(self.types[0], self.supply, self.signals), Fraction(0)
            for signal, amount in lines(ways).items():
                room.grow(signal, amount)
            for size, n in sizes:
                if n >= len(ways) and size:
                    signal = self.signals[n]
                    spared += Fraction(room.grow(signal, size * asked[signal].count(size)), size)
            return sum(ways) + ceil(sum(len(asked[s]) for s in self.signals[len(ways) :]) - spared)

        def within(ways: tuple[int, ...], most: int) -> tuple[int, ...] | None:
            at = len(ways)
            if at == len(kept):
                return ways
            near = False
            for way in range(fewest(ways), min(len(kept[at]), most - sum(ways) + 1)):
                if at_least((*ways, way)) > most:
                    if near:  # what gives way at least first falls, then rises with each need more that does
                        break
                    continue
                near = True
                found = within((*ways, way), most)
                if found is not None:
                    return found
            return None

        most = at_least(())
        while (found := within((), most)) is None:
            most += 1
        return {s: kept[n][way] for n, (s, way) in enumerate(zip(self.signals, found, strict=True))}

    def _wanted(self, grain: int, chosen: Sequence[Lines], nice: bool | None = None) -> dict[Ask, int]:
        """Lines of one grain for what is chosen, and for all that others could use where `nice` is given."""
        wanted = dict.fromkeys(self.signals, 0)
        for place, asker in enumerate(self.askers):
            if place < len(chosen):
                wanted[asker.signal] = chosen[place][asker.grains.index(grain)] if grain in asker.grains else 0
            elif nice is not None:
                wanted[asker.signal] = self._useful[nice][place, grain]
        return wanted

    @cached_property
    def _useful(self) -> dict[bool, dict[tuple[int, int], int]]:
        return {
            nice: {
                (n, grain): asker.useful(grain, nice=nice)
                for n, asker in enumerate(self.askers)
                for grain in self.grains
            }
            for nice in (False, True)
        }

    def _can_be(self, grain: int, chosen: Sequence[Lines]) -> bool:
        wanted = self._wanted(grain, chosen)
        return self._room(self.grains.index(grain), wanted) == sum(wanted.values())

    def _matching(self, grain: int, chosen: Sequence[Lines]) -> _Matching:
        return _match(self.types[self.grains.index(grain)], self.supply, self._wanted(grain, chosen))

    def _bound(self, chosen: Sequence[Lines], short: Short) -> Short:
        """What is short at least with these choices: channels that the lines left over cannot have."""
        rest = self.askers[len(chosen) :]
        had = sum(
            g * n
            for asker, lines in zip(self.askers, chosen, strict=False)
            for g, n in zip(asker.grains, lines, strict=True)
        )
        most = [
            sum(g * self._room(n, self._wanted(g, chosen, nice)) for n, g in enumerate(self.grains)) - had
            for nice in (False, True)
        ]
        sure = short.channels + max(0, sum(a.asked_for_sure for a in rest) - most[0])
        both = short.channels + short.nice + max(0, sum(a.asked for a in rest) - most[1])
        return Short(sure, max(short.nice, both - sure), short.needs + self._lacking_at_least(len(chosen), most[1]))

    def _lacking_at_least(self, place: int, channels: int) -> int:
        """Needs of the askers from a place on that lack something, when the smallest of all are met first."""
        demands = self._demands[place]
        return len(demands) - bisect_right(list(accumulate(demands)), channels)

    @cached_property
    def _demands(self) -> list[list[int]]:
        return [sorted(n.demand for a in self.askers[at:] for n in a.needs) for at in range(len(self.askers) + 1)]

    def _least_misfit(self, short: Short) -> int:
        """Other signals given up at least by all channels that are served: as if each took the plainest line left."""
        left = sum(asker.asked for asker in self.askers) - short.channels - short.nice
        found = 0
        for line_type in sorted((t for types in self.types for t in types), key=lambda t: len(t.signals)):
            channels = min(left, self.supply[line_type] * line_type.grain)
            found += channels * (len(line_type.signals) - 1)
            left -= channels
        return found
