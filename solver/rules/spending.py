"""A port that takes other signals too is not spent where a plainer one is free at no cost to the build.

A preamp that also takes line signals serves a line need only when no line input is idle that could do it
without a new hole below it: the exchange would leave every figure of the build as it is.
"""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place
from solver.standing import Standing
from solver.survey import Survey

CODE = "spending"


def limits(survey: Survey) -> Iterator[Limit]:
    """For each need: no channel spent that a plainer one could spare."""
    for need in survey.needs:
        yield Limit(CODE, Place(subject=need.name, direction=need.direction), 0, "channels")


def used(survey: Survey, standing: Standing, limit: Limit) -> int:
    """Lines that serve the need while a plainer idle line of the same grain could, one for one."""
    need = next(n for n in survey.needs if n.name == limit.place.subject)
    spent = [
        use.channel.line_type for _, use in standing.uses(need) if use.channel and use.index == use.channel.line[0]
    ]
    free = []
    for frame in standing.frames:
        busy = {(u.slot, u.channel.line) for u in frame.uses if u.channel and u.need.direction == need.direction}
        top = max((u.number for u in frame.uses if u.number and u.need.direction == need.direction), default=0)
        answered = frame.answered(need.direction)
        while top + 1 in answered:
            top += 1
        free += [
            line.line_type
            for line in frame.lines(need.direction)
            if line.first <= top and (line.slot, line.channels) not in busy and need.signal in line.line_type.signals
        ]
    found = 0
    for line_type in sorted(spent, key=lambda t: -t.misfit):
        plainer = [t for t in free if t.misfit < line_type.misfit and t.grain == line_type.grain]
        if plainer:
            found += 1
            free.remove(min(plainer, key=lambda t: t.misfit))
    return found


def constrain(draft: Draft, limit: Limit) -> None:
    """Among builds of equal rank the search takes the one that spends the fewest other signals."""
    need = next(n for n in draft.survey.needs if n.name == limit.place.subject)
    draft.prefer_plain(need)
