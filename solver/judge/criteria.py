"""What builds are ranked by: recomputed from a build, and as sums for the search. Lower is always better here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from solver.fitted.standing import Standing
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, parse_percent
from solver.rules.limit import Draft, Load


@dataclass(frozen=True, slots=True)
class Figures:
    """A build's own figures. Cost in minor units, margin in mK (None where it cannot be checked).

    `hottest` names the frame and the slots beside the gap with the least margin.
    """

    cost: int
    stranded: int
    holes: int
    idle: int
    margin_mk: int | None
    level: int
    hottest: tuple[str, tuple[int, ...]] | None
    misfit: int
    cards: int
    closed: int
    short: int = 0
    short_needs: int = 0
    """Channels that needs which are nice to have lack, and how many of them lack any."""

    @property
    def unused(self) -> int:
        """Stranded, holes and idle together."""
        return self.stranded + self.holes + self.idle


def figures(survey: Survey, standing: Standing) -> Figures:
    """Work out a build's figures from its cards, numbers and services alone."""
    stranded = holes = idle = misfit = 0
    margins: list[tuple[int, str, tuple[int, ...]]] = []
    for frame in standing.frames:
        for direction in DIRECTIONS:
            stranded += frame.stranded(direction)
            holes += len(frame.holes(direction))
            used = {u.number for u in frame.uses if u.need.direction == direction and u.number is not None}
            idle += len(frame.answered(direction) - used)
        served_lines = {
            (u.need.direction, u.slot, u.channel.line): u.channel.line_type for u in frame.uses if u.channel is not None
        }
        misfit += sum(line_type.misfit for line_type in served_lines.values())
        for gap, margin in frame.gap_margins():
            margins.append((margin, frame.site.name, tuple(s for s in (gap, gap + 1) if frame.occupant(s) is not None)))
    coolest = min(margins, default=None)
    short = standing.short()
    margin_mk = coolest[0] if coolest else None
    return Figures(
        cost=standing.cost,
        stranded=stranded,
        holes=holes,
        idle=idle,
        margin_mk=margin_mk,
        level=survey.level(margin_mk),
        hottest=coolest[1:] if coolest else None,
        misfit=misfit,
        cards=standing.cards.total(),
        closed=sum(frame.layout.closed for frame in standing.frames if frame.layout is not None),
        short=sum(short.values()),
        short_needs=len(short),
    )


def value(survey: Survey, found: Figures, criterion: str) -> int:
    """A criterion's value of a build, lower is better: cooling counts the levels missing from enough."""
    if criterion == "cooling":
        return survey.top_level - found.level
    return int(getattr(found, criterion))


def objective(draft: Draft, criterion: str) -> Load:
    """The same for the search. Cooling is no sum: the search keeps whole margins instead."""
    match criterion:
        case "cost":
            return draft.cost()
        case "stranded":
            return draft.stranded()
        case "holes":
            return draft.holes()
        case "idle":
            return draft.idle()
        case "unused":
            return [*draft.stranded(), *draft.holes(), *draft.idle()]
        case "short":
            return draft.short()
        case "short_needs":
            return draft.short_needs()
    raise ValueError(f"no criterion is called {criterion}")


def slack(survey: Survey, criterion: str, value: int, asked: Mapping[str, int | str] | None = None) -> int:
    """How far a criterion may be given up against its best value, in its own unit: minor units, channels, levels.

    `asked` takes the place of the scenario's own slack.
    """
    given = (survey.slack if asked is None else asked).get(criterion, 0)
    if isinstance(given, str):
        return value * parse_percent(given, 1000) // 100
    if criterion == "cooling":
        return given * 1000 // survey.step_mk
    return given * 10**survey.decimals if criterion == "cost" else given
