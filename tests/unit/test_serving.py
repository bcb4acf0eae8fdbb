"""What serves what, where a build does not say: against trying every way, on thousands of small frames."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from itertools import product

import numpy
from amounts import some_or_all
from pace import within
from scipy.optimize import Bounds, LinearConstraint, milp

from solver.fitted.numbering import serve_numbered
from solver.fitted.serving import Line, serve
from solver.room.kind import LineType
from solver.room.survey import Need, Wanted

SIGNALS = ("aes3", "line", "mic")

Holes = dict[tuple[int, int], int]
"""The holes below a slot, by frame and slot."""


def _case(seed: int) -> tuple[list[Need], list[Line], Holes]:
    """Up to four needs, up to six lines in up to three frames, and the holes below each slot."""
    draw = random.Random(seed)
    signals = SIGNALS[: draw.randint(1, 3)]
    names = draw.sample("abcd", 4)  # whatever they are called
    needs = [
        Need(names[i], "in", draw.choice(signals), draw.randint(0, 3), draw.randint(0, 1), i, draw.random() < 0.5)
        for i in range(draw.randint(1, 4))
    ]
    kinds = [
        LineType(frozenset(draw.sample(signals, draw.randint(1, len(signals)))), draw.choice((1, 1, 1, 2, 3)))
        for _ in range(draw.randint(1, 3))
    ]
    lines: list[Line] = []
    holes: Holes = {}
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


def _value(
    needs: Sequence[Need], holes: Holes, taken: Mapping[str, Sequence[Line]], plain_first: bool
) -> tuple[int, ...]:
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


def _best(needs: Sequence[Need], lines: Sequence[Line], holes: Holes, plain_first: bool) -> tuple[int, ...]:
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


def _follow_the_files(needs: Sequence[Need], found: Mapping[str, Sequence[tuple[Line, int]]]) -> None:
    """Of two needs the first in the files has the lower lines of each type."""
    for n, before in enumerate(needs):
        for after in needs[n + 1 :]:
            for line, _ in found[before.name]:
                later = [other for other, _ in found[after.name] if other.line_type == line.line_type]
                assert all((line.frame, line.slot, line.channels) < (x.frame, x.slot, x.channels) for x in later)


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
        _follow_the_files(needs, found)
        own = _value(needs, holes, {name: [x for x, _ in lines] for name, lines in found.items()}, plain_first)
        best = _best(needs, lines, holes, plain_first)
        assert own == best, (seed, plain_first, own, best)
        seen += [best[0] > 0, best[1] > 0, best[3 + plain_first] > 0, best[4 - plain_first] > 0]
    return tuple(seen)


@some_or_all("cases", 600, 3000)
def test_no_way_of_serving_is_better_than_the_one_that_is_found(cases: int) -> None:
    seen = [_compare(seed) for seed in range(cases)]
    often = [sum(marks) for marks in zip(*seen, strict=True)]
    assert min(often) > cases // 15, often


def _larger_case(seed: int) -> tuple[list[Need], list[Line], Holes]:
    """Frames of up to eight slots with blocks of eight, up to a dozen needs, and lines that are seldom enough."""
    draw = random.Random(seed)
    signals = [f"s{n}" for n in range(draw.randint(1, 4))]
    grains = draw.choice(((1,), (1,), (2,), (1, 2), (1, 2, 4)))
    kinds = [
        LineType(frozenset(draw.sample(signals, draw.randint(1, min(3, len(signals))))), draw.choice(grains))
        for _ in range(draw.randint(1, 5))
    ]
    lines: list[Line] = []
    holes: Holes = {}
    for frame in range(draw.randint(1, 4)):
        below = 0
        for slot in range(1, draw.randint(3, 8)):
            holes[frame, slot] = below
            kind, channels = draw.choice(kinds), draw.choice((0, 4, 4, 8))
            for at in range(1, channels + 1, kind.grain):
                lines.append(Line(frame, "in", slot, tuple(range(at, at + kind.grain)), kind, 8 * slot + at))
            below += 8 - channels
    asked = sum(len(line.channels) for line in lines) * draw.choice((0.4, 0.7, 1.0, 1.3))
    count = draw.randint(1, 12)
    needs = [
        Need(
            f"n{i:02}",
            "in",
            draw.choice(signals),
            draw.randint(1, 1 + int(2 * asked / count)),
            0,
            i,
            draw.random() < 0.5,
        )
        for i in range(count)
    ]
    return needs, lines, holes


def _by_programme(needs: Sequence[Need], lines: Sequence[Line], holes: Holes, plain_first: bool) -> tuple[int, ...]:
    """The same definition as one integer programme for HiGHS, each figure minimised in turn."""
    groups: dict[tuple[int, int, LineType], int] = {}
    for line in lines:
        key = line.frame, line.slot, line.line_type
        groups[key] = groups.get(key, 0) + 1
    places = sorted({(f, s) for f, s, _ in groups})
    frames = sorted({f for f, _ in places})
    flows = [(g, n) for g in groups for n in needs if n.signal in g[2].signals]
    width = len(flows) + 2 * len(needs) + len(places) + len(frames)
    short, lacks = len(flows), len(flows) + len(needs)
    used, left = lacks + len(needs), lacks + len(needs) + len(places)
    rows, low, high = [], [], []

    def row(entries: dict[int, float], least: float, most: float) -> None:
        rows.append([entries.get(column, 0) for column in range(width)])
        low.append(least)
        high.append(most)

    for group, count in groups.items():
        own = {i: 1.0 for i, (g, _) in enumerate(flows) if g == group}
        row({**own, used + places.index(group[:2]): -count}, -numpy.inf, 0)
    for index, need in enumerate(needs):
        row(
            {short + index: 1, **{i: g[2].grain for i, (g, n) in enumerate(flows) if n == need}}, need.demand, numpy.inf
        )
        row({short + index: 1, lacks + index: -need.demand}, -numpy.inf, 0)
    for index, (frame, slot) in enumerate(places):
        row({left + frames.index(frame): 1, used + index: -holes[frame, slot]}, 0, numpy.inf)
    whole = numpy.ones(width)
    whole[short:lacks] = 0
    whole[left:] = 0
    top = numpy.full(width, numpy.inf)
    top[lacks:left] = 1
    aims = [
        {short + i: 1.0 for i, n in enumerate(needs) if not n.nice},
        {short + i: 1.0 for i, n in enumerate(needs) if n.nice},
        {lacks + i: 1.0 for i in range(len(needs))},
        {left + i: 1.0 for i in range(len(frames))},
        {i: float(g[2].grain * (len(g[2].signals) - 1)) for i, (g, _) in enumerate(flows)},
    ]
    found = []
    for aim in aims[:3] + (aims[:2:-1] if plain_first else aims[3:]):
        objective = numpy.array([aim.get(column, 0.0) for column in range(width)])
        solved = milp(
            objective,
            constraints=LinearConstraint(numpy.array(rows), low, high),
            bounds=Bounds(numpy.zeros(width), top),
            integrality=whole,
        )
        assert solved.status == 0
        found.append(round(solved.fun))
        row(aim, -numpy.inf, found[-1])
    return tuple(found)


@some_or_all("cases", 24, 60)
def test_larger_frames_agree_with_an_integer_programme(cases: int) -> None:
    seen = []
    for seed in range(cases):
        needs, lines, holes = _larger_case(seed)
        plain_first = bool(seed % 2)
        found = serve(needs, lines, {"in": holes}, plain_first=plain_first)
        own = _value(needs, holes, {name: [x for x, _ in lines] for name, lines in found.items()}, plain_first)
        best = _by_programme(needs, lines, holes, plain_first) if lines else own
        assert own == best, (seed, own, best)
        seen.append([value > 0 for value in best])
    often = [sum(marks) for marks in zip(*seen, strict=True)]
    assert min(often) >= cases // 4, often


def test_hundreds_of_lines_are_dealt_within_a_second() -> None:
    """Three frames of twenty slots, 500 needs of four signals, and a third more asked for than there is."""
    draw = random.Random(1)
    signals = ["aes3", "instrument", "line", "mic"]
    kinds = [LineType(frozenset(draw.sample(signals, draw.choice((1, 1, 2, 3)))), 1) for _ in range(6)]
    lines = [
        Line(frame, "in", slot, (channel,), kind, 8 * slot + channel)
        for frame in range(3)
        for slot in range(1, 21)
        for kind in [draw.choice(kinds)]
        for channel in range(1, draw.choice((4, 8, 8)) + 1)
    ]
    holes = {(frame, slot): 3 * slot for frame in range(3) for slot in range(1, 21)}
    needs = [
        Need(f"n{i:03}", "in", draw.choice(signals), draw.randint(0, 2), draw.randint(0, 1), i, draw.random() < 0.5)
        for i in range(500)
    ]
    assert len(lines) > 350
    with within(1):
        serve(needs, lines, {"in": holes})


def test_of_one_card_a_need_has_any_channel_that_others_leave() -> None:
    """One of a pair that another need takes, or the single one behind it: so many on a card is asked of neither."""
    pair, single = LineType(frozenset({"aes3", "line"}), 2), LineType(frozenset({"aes3"}), 1)
    lines = [Line(0, "in", 1, (1, 2), pair, 1, 1), Line(0, "in", 1, (3,), single, 3, 1)]
    few = Need("few", "in", "aes3", 1, 0, 0, wanted=Wanted(most_on_card=1))
    served, given_up = serve_numbered([few, Need("pair", "in", "line", 2, 0, 1)], lines, {"in": {}})
    assert ([line.first for line, _ in served["few"]], given_up) == ([3], 0)
