"""Every build of a room that no other beats, or why there is none."""

from __future__ import annotations

from collections.abc import Sequence

from solver.answers.why import answer_or_why
from solver.reports.describe import describe_build, shortage_notes
from solver.reports.report import Report
from solver.reports.surviving import surviving
from solver.reports.tradeoff import front_report
from solver.room.survey import Survey
from solver.search.ask import front as fronts
from solver.search.ask.readiness import readiness
from solver.search.solve.clock import Clock
from solver.search.solve.stages import RankedBuild


def front(asked: Survey, workers: int, clock: Clock) -> tuple[Report, Sequence[RankedBuild]]:
    """The front as the report has it, and its builds."""
    found, clash = answer_or_why(asked, lambda room: fronts.front(room, workers=workers, clock=clock), workers, clock)
    survey, points = found.survey or asked, found.points
    chosen = fronts.scenarios_choice(survey, points).figures if found.complete and points else None
    figures = [b.figures for b in points]
    builds = [
        describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages), b.bounds)
        for n, b in enumerate(points, start=1)
    ]
    notes = shortage_notes(builds)
    if found.complete:
        ready = readiness(survey, workers, clock)
        notes += [surviving(survey, ready).text] if ready is not None else []
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=found.outcome,
        proven=found.complete,
        complete=found.complete,
        criteria=list(survey.rank),
        builds=builds,
        front=front_report(survey, figures, chosen, complete=found.complete, below=found.complete_below)
        if points
        else None,
        clash=clash,
        notes=notes,
    )
    return report, points
