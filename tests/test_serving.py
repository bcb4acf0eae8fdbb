"""What serves what, where a build does not say: against trying every way, on thousands of small frames."""

from __future__ import annotations

import random
from itertools import product

from solver.serving import Line, serve
from solver.survey import LineType, Need

SIGNALS = ("aes3", "line", "mic")


def _case(seed: int) -> tuple[list[Need], list[Line], dict[tuple[int, int], int]]:
    """Up to four needs, up to six lines in up to three frames, and the holes below each slot."""
    draw = random.Random(seed)
    signals = SIGNALS[: draw.randint(1, 3)]
    needs = [
        Need(f"n{i}", "in", draw.choice(signals), draw.randint(0, 3), draw.randint(0, 1), i, draw.random() < 0.5)
        for i in range(draw.randint(1, 4))
    ]
    kinds = [
        LineType(frozenset(draw.sample(signals, draw.randint(1, len(signals)))), draw.choice((1, 1, 1, 2, 3)))
        for _ in range(draw.randint(1, 3))
    ]
    lines: list[Line] = []
    holes: dict[tuple[int, int], int] = {}
    most = draw.randint(0, 6)
    for frame in range(draw.randint(1, 3)):
        below, number = 0, 1
        for slot in range(1, draw.randint(2, 5)):
            below += draw.choice((0, 0, 1, 2))
            holes[frame, slot] = below
            at = 1
            for _ in range(draw.randint(0, 2)):
                kind = draw.choice(kinds)
                if len(lines) < most:
                    lines.append(Line(frame, "in", slot, tuple(range(at, at + kind.grain)), kind, number))
                at, number = at + kind.grain, number + kind.grain
    return needs, lines, holes


def _value(needs, holes, taken, plain_first):
    """What a way of serving is worth, by its definition: `taken` has the lines of each need."""
    channels = nice = lacking = misfit = 0
    top: dict[int, int] = {}
    for need in needs:
        left = need.channels + need.spare
        for line in taken.get(need.name, ()):
            if left > 0:
                top[line.frame] = max(top.get(line.frame, 0), line.slot)
            misfit += len(line.channels) * (len(line.line_type.signals) - 1)
            left -= len(line.channels)
        channels += max(0, left) * (not need.nice)
        nice += max(0, left) * need.nice
        lacking += left > 0
    left_below = sum(holes[place] for place in top.items())
    return channels, nice, lacking, *((misfit, left_below) if plain_first else (left_below, misfit))


def _best(needs, lines, holes, plain_first):
    """The best of every way to give each line to one need that it can serve, or to none."""
    choices = [[None, *(n.name for n in needs if n.signal in line.line_type.signals)] for line in lines]
    values = []
    for way in product(*choices):
        taken: dict[str, list[Line]] = {}
        for line, need in zip(lines, way, strict=True):
            if need is not None:
                taken.setdefault(need, []).append(line)
        values.append(_value(needs, holes, taken, plain_first))
    return min(values)


def _compare(seed: int) -> tuple[bool, ...]:
    needs, lines, holes = _case(seed)
    seen = []
    for plain_first in (False, True):
        found = serve(needs, lines, {"in": holes}, plain_first=plain_first)
        by_need = {n.name: {n.signal} for n in needs}
        used = [line for own in found.values() for line, _ in own]
        assert len(used) == len(set(used)), seed
        for need in needs:
            assert all(by_need[need.name] <= line.line_type.signals for line, _ in found[need.name]), seed
            offered = sum(len(line.channels) for line, _ in found[need.name])
            assert sum(n for _, n in found[need.name]) == min(need.demand, offered), seed
        own = _value(needs, holes, {name: [x for x, _ in lines] for name, lines in found.items()}, plain_first)
        best = _best(needs, lines, holes, plain_first)
        assert own == best, (seed, plain_first, own, best)
        seen += [best[0] > 0, best[1] > 0, best[3 + plain_first] > 0, best[4 - plain_first] > 0]
    return tuple(seen)


def test_no_way_of_serving_is_better_than_the_one_that_is_found():
    seen = [_compare(seed) for seed in range(3000)]
    assert all(sum(marks) > 200 for marks in zip(*seen, strict=True)), [sum(marks) for marks in zip(*seen, strict=True)]
