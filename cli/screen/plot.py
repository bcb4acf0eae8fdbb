"""A picture of a front in characters: cost to the right, unused capacity upwards, a mark for each cooling step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MARKS = "ox*+#%=~"
"""Marks of cooling steps, the warmest first; further steps share the last."""

SEVERAL = "&"
"""Stands where marks of different steps fall on one place."""

LINES = 11
"""Lines of the picture without its axis."""


@dataclass(frozen=True)
class Dot:
    """A point: cost and unused capacity as they are shown, and the cooling step that it counts in."""

    cost: float
    unused: int
    step: str | None


def plot(dots: Sequence[Dot], room: int, currency: str) -> list[str]:
    """The lines of a picture.

    Parameters
    ----------
    dots
        Points, in any order.
    room
        Characters of a line.
    """
    steps = sorted({dot.step for dot in dots if dot.step is not None}, key=lambda step: float(step.split()[0]))
    marks = {step: MARKS[min(n, len(MARKS) - 1)] for n, step in enumerate(steps)}
    most, least = max(dot.unused for dot in dots), min(dot.unused for dot in dots)
    dear, cheap = max(dot.cost for dot in dots), min(dot.cost for dot in dots)
    label = len(str(most))
    width = room - label - 2
    grid = [[" "] * width for _ in range(LINES)]
    shared = False
    for dot in dots:
        x = round((dot.cost - cheap) / (dear - cheap) * (width - 1)) if dear > cheap else 0
        y = round((dot.unused - least) / (most - least) * (LINES - 1)) if most > least else 0
        mark = "." if dot.step is None else marks[dot.step]
        there = grid[LINES - 1 - y][x]
        grid[LINES - 1 - y][x] = mark if there in (" ", mark) else SEVERAL
        shared = shared or grid[LINES - 1 - y][x] == SEVERAL
    lines = ["unused"]
    for n, row in enumerate(grid):
        at = str(most) if n == 0 else str(least) if n == LINES - 1 and most > least else ""
        lines.append(f"{at:>{label}} |{''.join(row)}".rstrip())
    lines.append(f"{'':{label}} +{'-' * width}")
    ends = f"{cheap:.2f}", f"{dear:.2f}" if dear > cheap else ""
    lines.append(f"{'':{label}}  {ends[0]}{ends[1]:>{width - len(ends[0])}}")
    lines.append(f"{'cost ' + currency:>{room}}")
    key = [f"{mark} {step}" for step, mark in marks.items()]
    key += [". cooling not checked"] if any(dot.step is None for dot in dots) else []
    key += [f"{SEVERAL} several"] if shared else []
    return [*lines, *(f"{'':{label}}  {entry}" for entry in key)]
