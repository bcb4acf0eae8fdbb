"""Why the best build does not do something, or how much worse it is when it does."""

from __future__ import annotations

from typing import Literal

from solver.answers.why import explain_clash
from solver.judge.criteria import value
from solver.relax.suppose import Supposition, asked_wishes, does, suppose
from solver.reports.comparison import compare
from solver.reports.describe import describe_build
from solver.reports.explanation import WhyNot
from solver.reports.wording import money
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock
from solver.search.solve.stages import RankedBuild


def why_not(survey: Survey, supposed: Supposition, workers: int, clock: Clock) -> WhyNot:
    """The best build beside the best one that does what is asked for, or why there is none."""
    asked = supposed.text(survey, "" if supposed.cost is None else money(survey, supposed.cost))
    best = rank(survey, 1, workers=workers, clock=clock)
    shown = None
    if best.builds:
        one = best.builds[0]
        shown = describe_build(survey, one.standing, one.figures, 1, one.proven, dict(one.stages))
        if does(one.standing, supposed):
            return WhyNot(scenario=survey.title, currency=survey.currency, asked=asked, outcome="does", best=shown)
    elif best.outcome == "unknown":
        return WhyNot(scenario=survey.title, currency=survey.currency, asked=asked, outcome="unknown")
    changed = survey_room(suppose(survey, supposed), survey.hardware)
    other = rank(changed, 1, workers=workers, clock=clock)
    if other.builds:
        two = other.builds[0]
        instead = describe_build(changed, two.standing, two.figures, 1, two.proven, dict(two.stages))
        return WhyNot(
            scenario=survey.title,
            currency=survey.currency,
            asked=asked,
            outcome=_ranked(survey, two, best.builds[0]) if best.builds else "worse",
            best=shown,
            comparison=None if shown is None else compare(shown, instead),
        )
    clash = None
    if other.outcome == "impossible":
        clash, _ = explain_clash(changed, clock, workers, "work", asked_wishes(survey, supposed))
    return WhyNot(
        scenario=survey.title,
        currency=survey.currency,
        asked=asked,
        outcome="unknown" if clash is None else "impossible",
        best=shown,
        clash=clash,
    )


def _ranked(survey: Survey, one: RankedBuild, other: RankedBuild) -> Literal["better", "equal", "worse"]:
    """How a build ranks beside another, whatever slack would let pass."""
    ours, theirs = (
        (b.figures.short, b.figures.short_needs, *(value(survey, b.figures, c) for c in survey.rank))
        for b in (one, other)
    )
    return "equal" if ours == theirs else "better" if ours < theirs else "worse"
