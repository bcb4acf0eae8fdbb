"""From the points of a front to the part of the report that says what each step buys."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from solver import criteria
from solver.causes import money
from solver.criteria import Figures
from solver.report import FrontReport, Mark, Point
from solver.survey import Survey

MARKS: dict[str, Mark] = {"cost": "cheapest", "cooling": "coolest", "unused": "fullest"}
"""What the best point of a criterion is called."""


def front_report(survey: Survey, points: Sequence[Figures], chosen: Figures | None, *, complete: bool) -> FrontReport:
    """What sets the points of a front apart, in their order.

    Parameters
    ----------
    points
        Figures of the builds in the order of the report's `builds`.
    chosen
        The figures of the point that the scenario's own order picks, where that is known.
    complete
        Whether it is proven that no point is missing.
    """
    found = []
    for place, figures in enumerate(points):
        marks: list[Mark] = [
            mark
            for criterion, mark in MARKS.items()
            if criterion in survey.rank and _value(survey, figures, criterion) == _least(survey, points, criterion)
        ]
        if figures is chosen:
            marks.append("the scenario's choice")
        found.append(
            Point(
                build=place + 1,
                values={criterion: _shown(survey, figures, criterion) for criterion in survey.rank},
                marks=marks,
                step=_step(survey, points[place - 1], figures) if place else None,
            )
        )
    return FrontReport(complete=complete, points=found)


def _value(survey: Survey, figures: Figures, criterion: str) -> int:
    return criteria.value(survey, figures, criterion)


def _least(survey: Survey, points: Sequence[Figures], criterion: str) -> int:
    return min(_value(survey, figures, criterion) for figures in points)


def _shown(survey: Survey, figures: Figures, criterion: str) -> str:
    if criterion == "cost":
        return money(survey, figures.cost)
    if criterion == "cooling":
        return f"step {figures.level} of {survey.top_level}"
    return str(getattr(figures, criterion))


def _step(survey: Survey, before: Figures, after: Figures) -> str:
    """What is given up against the point before, and what that buys."""
    losses: list[str] = []
    gains: list[str] = []
    for criterion in survey.rank:
        change = _value(survey, after, criterion) - _value(survey, before, criterion)
        if change:
            (losses if change > 0 else gains).append(_amount(survey, criterion, change))
    verb = "buys" if len(losses) == 1 and losses[0].startswith("+") else "buy"
    return f"{' and '.join(losses)} {verb} {' and '.join(gains)}"


def _amount(survey: Survey, criterion: str, change: int) -> str:
    if criterion == "cost":
        return f"+{money(survey, change)}" if change > 0 else f"{money(survey, -change)} less to spend"
    if criterion == "cooling":
        kelvin = Decimal(abs(change) * survey.step_mk) / 1000
        return f"{kelvin.normalize():f} K {'less' if change > 0 else 'more'} margin"
    return f"{abs(change)} {'more' if change > 0 else 'fewer'} {criterion}"
