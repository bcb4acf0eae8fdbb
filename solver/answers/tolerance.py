"""Which builds are the best where prices are not sure, and which of them is never far from it."""

from __future__ import annotations

from collections.abc import Sequence

from solver.answers.why import answer_or_why
from solver.files.reading import Loaded
from solver.fitted.standing import stand
from solver.judge.criteria import figures
from solver.reports.assumed import assumed
from solver.reports.describe import describe_build, shortage_notes
from solver.reports.element import file_warnings
from solver.reports.report import Report
from solver.reports.tolerance import tolerance_report
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.ready import survey_room
from solver.search.ask.tolerance import tolerate
from solver.search.solve.clock import Clock


def check_unsure(loaded: Loaded) -> None:
    """See that a scenario says of a price that it is not sure.

    Raises
    ------
    WrongQuestion
        If it does not.
    """
    if loaded.scenario.tolerance is None or not loaded.scenario.tolerance.price:
        raise WrongQuestion(f"{loaded.name} says of no price that it is not sure; add a [[tolerance.price]]")


def tolerance(loaded: Loaded, workers: int, clock: Clock) -> tuple[Report, Sequence[Build]]:
    """The report of what unsure prices come to, and its builds with their figures at today's prices."""
    asked = survey_room(loaded.scenario, loaded.hardware)
    found, clash = answer_or_why(asked, lambda room: tolerate(room, workers, clock), workers, clock)
    survey = found.survey
    shown = list(found.choices)
    if found.steadiest is not None and found.steadiest not in shown:
        shown.append(found.steadiest)
    standings = [stand(survey, choice.build) for choice in shown]
    builds = [describe_build(survey, s, figures(survey, s), n, True) for n, s in enumerate(standings, 1)]
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=found.outcome,
        proven=found.outcome != "unknown",
        complete=found.outcome != "unknown",
        criteria=list(survey.rank),
        builds=builds,
        tolerance=tolerance_report(found, shown),
        clash=clash,
        notes=shortage_notes(builds),
        assumed=assumed(loaded.scenario, loaded.hardware),
        warnings=file_warnings(loaded.warnings),
    )
    return report, [choice.build for choice in shown]
