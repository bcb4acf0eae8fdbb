"""Which lines serve which needs where these ask for numbers, for traits of lines, or for lines that are alike."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from solver.fitted.numbering import serve_numbered
from solver.fitted.placing import Patience
from solver.fitted.serving import Line, serve
from solver.room.survey import Need
from solver.room.traits import OneOf, Trait
from solver.room.words import Direction

Served = Mapping[str, Sequence[tuple[Line, tuple[int, ...]]]]
"""By need the lines that serve it, with those of their channels that do."""

MOST_TRIED = 400
"""So many ways to be alike are tried at most where patience has an end."""


@dataclass(frozen=True)
class Held:
    """By need frames' indices and numbers that serve it, whatever serves the rest, and the channels that it lacks."""

    numbers: Mapping[str, Sequence[tuple[int, int]]] = field(default_factory=dict)
    lacking: Mapping[str, int] = field(default_factory=dict)


def serve_however(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    ends: Mapping[Direction, Mapping[int, int]] | None,
    patience: Patience,
    *,
    held: Held,
    plain_first: bool,
    strictly: bool,
) -> Served:
    """Let lines serve needs, whatever these ask for; the arguments are those of `serving.serve`.

    Parameters
    ----------
    held
        What is said of what serves what already.
    strictly
        Whether what is short then stays so; else lines that are otherwise than asked for serve it.
    """
    own = _on_numbers(needs, lines, held.numbers)
    taken = {id(line) for lines_of in own.values() for line, _ in lines_of}
    others = [line for line in lines if id(line) not in taken] if taken else lines
    given = {name: sum(len(c) for _, c in lines_of) for name, lines_of in own.items()}
    rest = _less(needs, {name: count + held.lacking.get(name, 0) for name, count in given.items()})
    ways = _Ways(others, holes, ends, patience, plain_first)
    served = _joined(own, serve_alike(rest, ways.serve, patience, own))
    asking = any(need.traits or need.one_of for need in needs)
    return _however_set(needs, lines, holes, served) if asking and not strictly else served


@dataclass(frozen=True)
class _Ways:
    """How lines of silent frames may serve."""

    lines: Sequence[Line]
    holes: Mapping[Direction, Mapping[tuple[int, int], int]]
    ends: Mapping[Direction, Mapping[int, int]] | None
    patience: Patience
    plain_first: bool

    def serve(self, needs: Sequence[Need]) -> tuple[Served, object]:
        """By need the lines that serve it, and what that comes to: short, numbers asked for in vain, holes, misfit."""
        given_up = 0
        if any(need.wanted is not None for need in needs):
            served, given_up = serve_numbered(
                needs, self.lines, self.holes, self.ends, plain_first=self.plain_first, patience=self.patience
            )
        else:
            found = serve(needs, self.lines, self.holes, self.ends, plain_first=self.plain_first)
            served = {name: [(line, line.channels[:count]) for line, count in own] for name, own in found.items()}
        lacks = [(need, need.demand - sum(len(c) for _, c in served.get(need.name, ()))) for need in needs]
        short = (
            sum(lack for need, lack in lacks if not need.nice),
            given_up,
            sum(lack for need, lack in lacks if need.nice),
            sum(lack > 0 for _, lack in lacks),
        )
        return served, (short, *self._left_over([line for own in served.values() for line, _ in own]))

    def _left_over(self, taken: Sequence[Line]) -> tuple[int, int]:
        """Holes and other signals that lines give up, what counts first before the other."""
        ends: dict[tuple[Direction, int], int] = {}
        for line in taken:
            ends[line.direction, line.frame] = max(line.slot, ends.get((line.direction, line.frame), 0))
        below = 0 if self.ends else sum(self.holes[d].get((frame, slot), 0) for (d, frame), slot in ends.items())
        misfit = sum(line.line_type.misfit for line in taken)
        return (misfit, below) if self.plain_first else (below, misfit)


def _however_set(
    needs: Sequence[Need],
    lines: Sequence[Line],
    holes: Mapping[Direction, Mapping[tuple[int, int], int]],
    served: Served,
) -> Served:
    """The same with what is short served by lines that are set otherwise than asked for."""
    short = [(need, need.demand - sum(len(c) for _, c in served.get(need.name, ()))) for need in needs]
    rest = [
        replace(need, channels=lacks, spare=0, wanted=None, traits=(), one_of=())
        for need, lacks in short
        if lacks and (need.traits or need.one_of)
    ]
    taken = {line for own in served.values() for line, _ in own}
    more = serve(rest, [line for line in lines if line not in taken], holes) if rest else {}
    beside = {name: [(line, line.channels[:count]) for line, count in own] for name, own in more.items()}
    return _joined(served, beside)


def _on_numbers(needs: Sequence[Need], lines: Sequence[Line], held: Mapping[str, Sequence[tuple[int, int]]]) -> Served:
    """The lines that answer numbers which serve needs."""
    at = {
        (line.direction, line.frame, line.first + place): (line, channel)
        for line in lines
        for place, channel in enumerate(line.channels)
    }
    found: dict[str, list[tuple[Line, tuple[int, ...]]]] = {}
    for need in needs:
        by_line: dict[int, tuple[Line, list[int]]] = {}
        for line, channel in (at[need.direction, frame, number] for frame, number in held.get(need.name, ())):
            by_line.setdefault(id(line), (line, []))[1].append(channel)
        found[need.name] = [(line, tuple(channels)) for line, channels in by_line.values()]
    return found


def _less(needs: Sequence[Need], served: Mapping[str, int]) -> list[Need]:
    """What is left of needs where so many of their channels are served, or are not to be."""
    return [
        replace(need, channels=need.demand - served[need.name], spare=0, wanted=None) if served[need.name] else need
        for need in needs
        if served[need.name] < need.demand
    ]


def _joined(one: Served, other: Served) -> Served:
    """What serves needs, of both."""
    return {name: [*one.get(name, ()), *other.get(name, ())] for name in {**one, **other}}


def serve_alike(
    needs: Sequence[Need], serve: Callable[[Sequence[Need]], tuple[Served, Any]], patience: Patience, before: Served
) -> Served:
    """Serve needs with lines that are alike where that is asked for; the best way, of equal ones the first.

    Parameters
    ----------
    serve
        Serves needs as if their lines need not be alike, and says what that comes to: the less, the better.
    before
        What serves needs already.

    Notes
    -----
    What a need is served by when it may be mixed is no worse than any one way, so only what comes out mixed is decided.
    """
    every = list(dict.fromkeys(one for need in needs for one in need.one_of))
    best: tuple[Any, Served] | None = None
    waiting: list[dict[OneOf, Trait]] = [{}]
    tried = 0
    while waiting:
        if patience.left is not None and tried == MOST_TRIED and best is not None:
            patience.over = True
            break
        decided, tried = waiting.pop(), tried + 1
        served, value = serve([need.decided(*(decided[o] for o in need.one_of if o in decided)) for need in needs])
        if best is not None and value >= best[0]:
            continue
        both = _joined(before, served)
        mixed = next((one for one in every if one not in decided and not _ways_of(one, needs, both)), None)
        if mixed is None:
            best = value, served
        else:
            ways = _ways_of(mixed, needs, before) or mixed.ways
            waiting.extend({**decided, mixed: way} for way in reversed(ways))
    assert best is not None  # once all are decided, none is mixed
    return best[1]


def _ways_of(one: OneOf, needs: Sequence[Need], served: Served) -> list[Trait]:
    """The ways in which all lines of the needs that are to be alike are so."""
    lines = [line for need in needs if one in need.one_of for line, _ in served.get(need.name, ())]
    return [way for way in one.ways if all(way in line.line_type.traits for line in lines)]
