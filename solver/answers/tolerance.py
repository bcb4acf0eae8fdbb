"""Which builds are the best where prices, needs, air or heat are not sure, and which is never far from it."""

from __future__ import annotations

from dataclasses import replace

from solver.answers.why import answer_or_why
from solver.files.reading import Loaded
from solver.fitted.standing import build_of, set_for_needs, stand
from solver.judge.criteria import figures
from solver.reports.assumed import assumed
from solver.reports.describe import describe_build, shortage_notes
from solver.reports.element import file_warnings
from solver.reports.report import BuildReport, Report, ToleranceReport
from solver.reports.tolerance import graded_figure, tolerance_report, whatever_comes
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.graded import grades
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask.grading import Grading, Held, standing_at
from solver.search.ask.tolerance import tolerate
from solver.search.solve.clock import Clock


def check_unsure(loaded: Loaded) -> None:
    """See that a scenario says of something that it is not sure.

    Raises
    ------
    WrongQuestion
        If it does not.
    """
    if loaded.scenario.tolerance is None or not loaded.scenario.tolerance.anything:
        raise WrongQuestion(f"{loaded.name} says of nothing that it is not sure; add a [[tolerance.price]]")


class _Shown:
    """The builds of an answer, each once, as documents have them: with their figures of today where they work today."""

    def __init__(self, today: Survey) -> None:
        self.today = today
        self.builds: list[Build] = []
        self.told: list[BuildReport] = []
        self.not_today: list[int] = []

    def number(self, survey: Survey, build: Build) -> int:
        """The number of a build that was found in this room."""
        stands = [{f.name: (f.board, f.straps, f.cards) for f in each.frame} for each in (*self.builds, build)]
        number = stands.index(stands[-1]) + 1
        if number > len(self.builds):
            self._show(survey, build, number)
        return number

    def _show(self, survey: Survey, build: Build, number: int) -> None:
        standing = stand(survey, build)
        if survey is not self.today:
            today = replace(self.today, budget=None)
            now = standing_at(today, build)
            if now is None:
                self.not_today.append(number)
            else:
                survey, standing = today, set_for_needs(now)
        self.told.append(describe_build(survey, standing, figures(survey, standing), number, True))
        self.builds.append(build_of(standing, survey.title))

    def number_of(self, held: Held) -> int | None:
        """The number of the best build at some figures, if there is any."""
        return None if held.build is None else self.number(held.survey, held.build.build)


def tolerance(loaded: Loaded, workers: int, clock: Clock) -> tuple[Report, list[Build]]:
    """The report of what may come, and its builds with their figures where each is shown first."""
    asked = survey_room(loaded.scenario, loaded.hardware)
    found, clash = answer_or_why(asked, lambda room: tolerate(room, workers, clock), workers, clock)
    survey, shown = found.survey, _Shown(found.survey)
    choices = [*found.choices]
    if found.steadiest is not None and found.steadiest not in choices:
        choices.append(found.steadiest)
    for choice in choices:
        shown.number(survey, choice.build)
    told = tolerance_report(found, choices)
    sure = found.outcome != "unknown"
    if told is not None and grades(loaded.scenario):
        told = _graded(told, Grading(loaded.scenario, loaded.hardware, workers, clock), shown)
        sure = sure and all(figure.proven for figure in told.figures)
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=found.outcome,
        proven=sure,
        complete=sure,
        criteria=list(survey.rank),
        builds=shown.told,
        tolerance=told,
        clash=clash,
        notes=shortage_notes(shown.told),
        assumed=assumed(loaded.scenario, loaded.hardware),
        warnings=file_warnings(loaded.warnings),
    )
    return report, shown.builds


def _graded(told: ToleranceReport, grading: Grading, shown: _Shown) -> ToleranceReport:
    """The same with what becomes of needs, air and heat."""
    every = grades(grading.scenario)
    along = [grading.along(grade) for grade in every]
    worst, proven = grading.best([(grade, grade.high) for grade in every])
    numbers = [[shown.number_of(held) for held in each.held] for each in along]
    last = whatever_comes(worst, shown.number_of(worst)) if proven else None
    return told.model_copy(
        update={
            "figures": [graded_figure(each, own) for each, own in zip(along, numbers, strict=True)],
            "whatever_comes": last,
            "not_today": shown.not_today,
        }
    )
