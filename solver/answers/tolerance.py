"""Which builds are the best where prices, needs, air or heat are not sure, and which is never far from it."""

from __future__ import annotations

from solver.answers.why import answer_or_why
from solver.files.reading import Loaded
from solver.fitted.standing import stand
from solver.judge.criteria import figures
from solver.reports.assumed import assumed
from solver.reports.describe import describe_build, shortage_notes
from solver.reports.element import file_warnings
from solver.reports.report import BuildReport, GradedStep, Report, ToleranceReport
from solver.reports.tolerance import graded_figure, tolerance_report
from solver.reports.wording import money
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.graded import grades
from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask.grading import Grading, Held
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
    """The builds of an answer, each once, as documents have them."""

    def __init__(self) -> None:
        self.builds: list[Build] = []
        self.told: list[BuildReport] = []

    def number(self, survey: Survey, build: Build) -> int:
        """The number of a build, with its figures in the room in which it is shown first."""
        stands = [{f.name: (f.board, f.straps, f.cards) for f in each.frame} for each in (*self.builds, build)]
        if stands.index(stands[-1]) == len(self.builds):
            standing = stand(survey, build)
            self.told.append(describe_build(survey, standing, figures(survey, standing), len(stands), True))
            self.builds.append(build)
        return stands.index(stands[-1]) + 1

    def number_of(self, held: Held) -> int | None:
        """The number of the best build at some figures, if there is any."""
        return None if held.build is None else self.number(held.survey, held.build.build)


def tolerance(loaded: Loaded, workers: int, clock: Clock) -> tuple[Report, list[Build]]:
    """The report of what may come, and its builds with their figures where each is shown first."""
    asked = survey_room(loaded.scenario, loaded.hardware)
    found, clash = answer_or_why(asked, lambda room: tolerate(room, workers, clock), workers, clock)
    survey, shown = found.survey, _Shown()
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
    cost = None if worst.build is None else money(worst.survey, worst.build.figures.cost)
    return told.model_copy(
        update={
            "figures": [graded_figure(each, [shown.number_of(held) for held in each.held]) for each in along],
            "whatever_comes": GradedStep(build=shown.number_of(worst), cost=cost, from_="", to="") if proven else None,
        }
    )
