"""Ranked builds of a room, or the best one of several rooms together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.answers.drawn_clocks import drawn_clock_faults
from solver.answers.phases import plan_in_phases
from solver.answers.rooms import plan_rooms
from solver.answers.why import answer_or_why, explain_clash
from solver.answers.wired import wiring_faults
from solver.files.reading import Loaded
from solver.fitted.standing import build_of
from solver.judge.campus import Campus
from solver.reports.assumed import assumed
from solver.reports.checking import not_there
from solver.reports.describe import describe_build, shortage_notes, slack_notes
from solver.reports.describe_campus import campus_report
from solver.reports.element import file_warnings
from solver.reports.out_of_service import out_of_service
from solver.reports.report import Report
from solver.reports.setups import planned_report
from solver.room.build import Build
from solver.room.phases import Phases
from solver.room.setups import Setups, of_all_days
from solver.room.survey import Survey
from solver.search.ask.ranking import rank
from solver.search.days.planning import plan_days
from solver.search.solve.clock import Clock


@dataclass(frozen=True)
class Planned:
    """A report, and its builds as build files have them."""

    report: Report
    builds: tuple[Build, ...]


def plan(asked: Survey | Campus | Setups | Phases, loaded: Loaded, top: int, workers: int, clock: Clock) -> Planned:
    """The best `top` builds of a room, or the best of all rooms, for all kinds of day, or of all phases."""
    if isinstance(asked, Survey):
        planned = _room(asked, top, workers, clock)
    elif isinstance(asked, Setups):
        planned = _days(asked, workers, clock)
    elif isinstance(asked, Phases):
        planned = Planned(*plan_in_phases(asked, workers, clock))
    else:
        planned = _campus(asked, workers, clock)
    told = {
        "assumed": assumed(loaded.scenario, loaded.hardware),
        "warnings": file_warnings(loaded.warnings),
        "notes": [*planned.report.notes, *_unplanned(loaded, planned.builds)],
    }
    return Planned(planned.report.model_copy(update=told), planned.builds)


def _unplanned(loaded: Loaded, builds: Sequence[Build]) -> list[str]:
    """What is wrong with clock lines, bays and wires that no plan keeps to; of one build alone where not of all."""
    found: list[str] = []
    for called, faults_of in (
        ("the clock is drawn wrong", drawn_clock_faults),
        ("no plan keeps to this", wiring_faults),
    ):
        each = {n: [fault.text for fault in faults_of(loaded, build)] for n, build in enumerate(builds, 1)}
        for n, texts in each.items():
            for text in texts:
                always = all(text in others for others in each.values())
                said = f"{called}{'' if always else f' for build {n}'}, and every check will say so: {text}"
                found += [] if said in found else [said]
    return found


def _room(asked: Survey, top: int, workers: int, clock: Clock) -> Planned:
    ranking, clash = answer_or_why(asked, lambda room: rank(room, top, workers=workers, clock=clock), workers, clock)
    survey = ranking.survey or asked
    builds = [
        describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages), b.bounds)
        for n, b in enumerate(ranking.builds, start=1)
    ]
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=ranking.outcome,
        proven=ranking.outcome == "impossible" or (bool(builds) and all(b.proven for b in builds)),
        complete=ranking.complete,
        criteria=list(survey.rank),
        builds=builds,
        clash=clash,
        notes=[
            *out_of_service(survey.scenario),
            *not_there(survey),
            *shortage_notes(builds),
            *(slack_notes(survey) if builds else []),
        ],
    )
    return Planned(report, tuple(b.build for b in ranking.builds))


def _days(setups: Setups, workers: int, clock: Clock) -> Planned:
    found = plan_days(setups, clock)
    clash = None
    if len(found.clash) == 1:
        clash, _ = explain_clash(setups.days[found.clash[0]].survey, clock, workers, "work")
    report = planned_report(setups, found, clash)
    if found.best is None:
        return Planned(report, ())
    built = [
        (day.setup.name, build_of(own, setups.first.title))
        for day, own in zip(setups.days, found.best.standings, strict=True)
    ]
    return Planned(report, (of_all_days(built),))


def _campus(campus: Campus, workers: int, clock: Clock) -> Planned:
    found = plan_rooms(campus, workers, clock)
    report = campus_report(campus, found.outcome, found.best)
    return Planned(report, () if found.best is None else (found.best.build,))
