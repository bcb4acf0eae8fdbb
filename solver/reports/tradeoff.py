"""From the points of a front to the part of the report that says what each step buys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from solver.judge import criteria
from solver.judge.criteria import Figures
from solver.reports.changing import moving_words
from solver.reports.report import FrontReport, Mark, Point
from solver.reports.wording import money
from solver.room.scenario import MOVING
from solver.room.survey import Survey
from solver.room.words import PART_WORDS

MARKS: dict[str, Mark] = {"cost": "cheapest", "cooling": "coolest", "unused": "least wasted"}
"""What the best point of a criterion is called."""


def front_report(
    survey: Survey,
    points: Sequence[Figures],
    chosen: Figures | None,
    *,
    complete: bool,
    below: tuple[str, int] | None = None,
) -> FrontReport:
    """What sets the points of a front apart, in their order.

    Parameters
    ----------
    points
        Figures of the builds in the order of the report's `builds`.
    chosen
        The figures of the point that the scenario's own order picks, where that is known.
    complete
        Whether it is proven that no point is missing.
    below
        A criterion, and an amount with less of which it is proven that none is.
    """
    found = []
    for place, figures in enumerate(points):
        marks = [
            _mark(survey, points, criterion)
            for criterion in MARKS
            if criterion in survey.rank and _first(survey, points, figures, criterion)
        ]
        if figures is chosen:
            marks.append("the scenario's choice")
        steps = _steps(survey, points[place - 1], figures) if place else []
        found.append(
            Point(
                build=place + 1,
                values={criterion: _shown(survey, figures, criterion) for criterion in survey.rank},
                counts_as=_counts_as(survey, figures) if "cooling" in survey.rank else None,
                marks=marks,
                step=_said(survey, steps) if place else None,
                changes={step.criterion: _signed(survey, step) for step in steps},
            )
        )
    step_k = _kelvin(survey, 1) if "cooling" in survey.rank else None
    shown = {c: money(survey, n) if c == "cost" else str(n) for c, n in [below]} if below else {}
    return FrontReport(complete=complete, points=found, complete_below=shown, cooling_step_k=step_k)


@dataclass(frozen=True)
class _Step:
    """How a criterion's value changes from one point to the next: minor units, channels, cooling levels missing.

    `kelvin` is the change of the margin that is shown; `known` is false where the margin of either cannot be checked.
    """

    criterion: str
    change: int
    known: bool
    kelvin: Decimal = Decimal(0)


def _first(survey: Survey, points: Sequence[Figures], figures: Figures, criterion: str) -> bool:
    """Whether no point is better in a criterion. A margin that is not checked is not called the best."""
    if not _known(figures, criterion):
        return False
    least = min(criteria.value(survey, other, criterion) for other in points)
    return criteria.value(survey, figures, criterion) == least


def _known(figures: Figures, criterion: str) -> bool:
    return criterion != "cooling" or figures.margin_mk is not None


def _shown(survey: Survey, figures: Figures, criterion: str) -> str | None:
    if criterion == "cost":
        return money(survey, figures.cost)
    if criterion == "cooling":
        return None if figures.margin_mk is None else f"{_margin(survey, figures.margin_mk):f}"
    return str(getattr(figures, criterion))


def _mark(survey: Survey, points: Sequence[Figures], criterion: str) -> Mark:
    """What the best of a criterion is called; margins that differ and count as one are said to be equal."""
    if criterion == "cooling":
        best = {_shown(survey, other, criterion) for other in points if _first(survey, points, other, criterion)}
        if len(best) > 1:
            return "coolest, equal within a step"
    return MARKS[criterion]


def _margin(survey: Survey, margin_mk: int) -> Decimal:
    """A margin as it is shown: in whole kelvin, or in tenths where steps are no whole kelvin; rounded down."""
    return Decimal(margin_mk // 1000) if survey.step_mk % 1000 == 0 else Decimal(margin_mk // 100) / 10


def _counts_as(survey: Survey, figures: Figures) -> str | None:
    """The margins that count as one with this one in the ranking."""
    if figures.margin_mk is None:
        return None
    if figures.level >= survey.top_level:
        return f"{_kelvin(survey, survey.top_level)} K and more"
    return f"{_kelvin(survey, figures.level)} to {_kelvin(survey, figures.level + 1)} K"


def _kelvin(survey: Survey, levels: int) -> str:
    return f"{(Decimal(levels * survey.step_mk) / 1000).normalize():f}"


def _steps(survey: Survey, before: Figures, after: Figures) -> list[_Step]:
    found = []
    for criterion in survey.rank:
        change = criteria.value(survey, after, criterion) - criteria.value(survey, before, criterion)
        if change:
            if criterion == "cooling" and before.margin_mk is not None and after.margin_mk is not None:
                kelvin = _margin(survey, after.margin_mk) - _margin(survey, before.margin_mk)
                found.append(_Step(criterion, change, True, kelvin))
            else:
                found.append(_Step(criterion, change, criterion != "cooling"))
    return found


def _said(survey: Survey, steps: Sequence[_Step]) -> str:
    """What is better than at the point before, and what is given up for it."""
    losses = [_amount(survey, step) for step in steps if step.change > 0]
    gains = [_amount(survey, step) for step in steps if step.change < 0]
    return f"{' and '.join(gains)} for {' and '.join(losses)}"


def _amount(survey: Survey, step: _Step) -> str:
    worse = step.change > 0
    if not step.known:
        return f"a margin that is {'' if worse else 'not '}checked"
    if step.criterion == "cost":
        return f"{money(survey, abs(step.change))} {'more' if worse else 'saved'}"
    if step.criterion == "cooling":
        return f"{abs(step.kelvin):f} K {'less' if worse else 'more'} margin"
    amount = f"{abs(step.change)} {'more' if worse else 'fewer'}"
    if step.criterion in MOVING:
        return f"{amount} {moving_words(step.criterion, abs(step.change))}"
    return f"{amount} {PART_WORDS.get(step.criterion, step.criterion).replace('no number', 'without a number')}"


def _signed(survey: Survey, step: _Step) -> str | None:
    """The change of what is shown: more kelvin are positive, though more levels missing are worse."""
    if not step.known:
        return None
    if step.criterion == "cooling":
        amount, higher = f"{abs(step.kelvin):f}", step.change < 0
    else:
        cost = step.criterion == "cost"
        amount, higher = money(survey, abs(step.change)) if cost else str(abs(step.change)), step.change > 0
    return f"{'+' if higher else '-'}{amount}"
