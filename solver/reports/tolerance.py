"""What prices that are not sure come to, from what a search found to the part of the report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from typing import Literal

from solver.reports.report import GradedFigure, GradedStep, PriceStep, ToleranceReport, TolerantBuild, UnsurePrice
from solver.reports.wording import money
from solver.room.graded import Grade
from solver.room.survey import Survey
from solver.room.unsure import Purchase
from solver.search.ask.grading import Graded, Held
from solver.search.ask.regions import box, region
from solver.search.ask.tolerance import Choice, Tolerated

UNITS: Mapping[str, Literal["channels", "C", "%"]] = {"need": "channels", "inlet": "C", "heat": "%"}


def tolerance_report(found: Tolerated, shown: Sequence[Choice]) -> ToleranceReport | None:
    """What a search of unsure prices came to, of the builds that are `shown`; None where it came to nothing."""
    if found.steadiest is None:
        return None
    survey = found.survey
    return ToleranceReport(
        budget=None if survey.budget is None else money(survey, survey.budget),
        prices=[_price(found, n) for n in range(len(found.unsure))],
        builds=[_build(found, choice, n) for n, choice in enumerate(shown, 1)],
        steadiest=shown.index(found.steadiest) + 1,
        steadiest_proven=found.steadiest_proven,
    )


def graded_figure(graded: Graded, numbers: Sequence[int | None]) -> GradedFigure:
    """What becomes of the choice while a figure moves; `numbers` are those of the builds of its steps."""
    grade = graded.grade
    return GradedFigure(
        what=grade.name,
        unit=UNITS[grade.of],
        now=_figure(grade, grade.now),
        from_=_figure(grade, grade.low),
        to=_figure(grade, grade.high),
        proven=graded.proven,
        steps=[
            GradedStep(
                build=number,
                cost=None if held.build is None else money(held.survey, held.build.figures.cost),
                from_=_figure(grade, held.low),
                to=_figure(grade, held.high),
            )
            for held, number in zip(graded.held, numbers, strict=True)
        ],
    )


def whatever_comes(held: Held, number: int | None) -> GradedStep:
    """The best build with every figure at its highest, which has this number."""
    if held.build is None:
        return GradedStep(build=None, cost=None, from_="", to="")
    found = held.build.figures
    margin = None if found.margin_mk is None else found.margin_mk / 1000
    return GradedStep(build=number, cost=money(held.survey, found.cost), from_="", to="", margin_k=margin)


def _figure(grade: Grade, value: int) -> str:
    return f"{Decimal(value) / 1000:f}" if grade.of == "inlet" else str(value)


def _build(found: Tolerated, choice: Choice, number: int) -> TolerantBuild:
    survey = found.survey
    lows, highs = zip(*((each.low, each.high) for each in found.unsure), strict=True)
    least, most = (choice.purchase.cost(tuple(map(Fraction, ends))) for ends in (lows, highs))
    return TolerantBuild(
        number=number,
        least=_amount(survey, least),
        most=_amount(survey, most),
        excess=_amount(survey, choice.excess),
        excess_at=[_amount(survey, price) for price in choice.at],
        corners=[[_amount(survey, price) for price in corner.at] for corner in choice.region],
        over_budget=survey.budget is not None and most > survey.budget,
    )


def _price(found: Tolerated, index: int) -> UnsurePrice:
    """What becomes of the choice while one price moves and the others are as they are."""
    survey, own = found.survey, found.unsure[index]
    today = [each.offer.price for each in found.unsure]
    lines: dict[Purchase, int] = {}
    for number, choice in enumerate(found.choices, 1):
        taken = choice.purchase.taken
        others = sum(n * price for at, (n, price) in enumerate(zip(taken, today, strict=True)) if at != index)
        lines.setdefault(Purchase(choice.purchase.fixed + others, (taken[index],)), number)
    whole = box([(own.low, own.high)])
    steps = [(corners, number) for line, number in lines.items() if (corners := region(line, lines, whole))]
    steps.sort(key=lambda step: min(corner.at for corner in step[0]))
    first = next(iter(lines))
    stake = max(first.cost(corner.at) - min(line.cost(corner.at) for line in lines) for corner in whole)
    return UnsurePrice(
        item=own.offer.item,
        now=money(survey, own.offer.price),
        from_=money(survey, own.low),
        to=money(survey, own.high),
        at_stake=_amount(survey, stake),
        steps=[
            PriceStep(build=number, from_=money(survey, low), to=money(survey, high))
            for corners, number in steps
            for low, high in [(ceil(min(c.at[0] for c in corners)), floor(max(c.at[0] for c in corners)))]
            if low <= high
        ],
    )


def _amount(survey: Survey, minor: Fraction) -> str:
    """An amount rounded to minor units."""
    return money(survey, round(minor))
