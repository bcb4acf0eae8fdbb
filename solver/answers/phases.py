"""The best way to buy in phases, and what more money in the first of them saves."""

from __future__ import annotations

from collections.abc import Sequence

from solver.answers.why import explain_clash
from solver.files.reading import Loaded
from solver.fitted.standing import Standing, build_of
from solver.reports.assumed import assumed
from solver.reports.element import file_warnings
from solver.reports.phased import front_report, planned_report
from solver.reports.report import Clash, Report
from solver.room.build import Build
from solver.room.phases import Bought, Phases, of_all_phases, phases_of, with_all_money
from solver.search.ask.ranking import rank
from solver.search.phases.front import front_of
from solver.search.phases.planning import plan_phases
from solver.search.phases.ways import ways_out
from solver.search.solve.clock import Clock


def plan_in_phases(phases: Phases, workers: int, clock: Clock) -> tuple[Report, tuple[Build, ...]]:
    """The report of the best way, and its builds as one build file has them."""
    found = plan_phases(phases, clock)
    if found.outcome == "impossible":
        ways, every = ways_out(phases, clock)
        clash = None if ways else _alone(phases, found.clash, workers, clock)
        return planned_report(phases, found, clash, ways, every), ()
    builds = () if found.best is None else (_built(phases, found.best.standings, found.best.bought),)
    return planned_report(phases, found, None), builds


def front_in_phases(loaded: Loaded, workers: int, clock: Clock) -> tuple[Report, tuple[Build, ...]]:
    """The report of every way that no other beats in both costs, and the builds of each as one."""
    phases = phases_of(loaded.scenario, loaded.hardware)
    found = front_of(phases, clock)
    if found.outcome == "impossible":
        ways, every = ways_out(phases, clock)
        clash = None if ways else _alone(phases, found.clash, workers, clock)
        report = front_report(phases, found, clash, ways, every)
    else:
        report = front_report(phases, found, None)
    told = {"assumed": assumed(loaded.scenario, loaded.hardware), "warnings": file_warnings(loaded.warnings)}
    builds = tuple(_built(phases, own.standings, own.bought) for own in found.trades)
    return report.model_copy(update=told), builds


def _built(phases: Phases, standings: Sequence[Standing], bought: Sequence[Bought]) -> Build:
    return of_all_phases(phases, [build_of(own, phases.first.title) for own in standings], bought)


def _alone(phases: Phases, clash: Sequence[int], workers: int, clock: Clock) -> Clash | None:
    """Why a phase cannot be served even by itself; None where it can be, or it is several that clash."""
    if len(clash) != 1:
        return None
    survey = with_all_money(phases, clash[0])
    if rank(survey, 1, workers=workers, clock=clock).outcome != "impossible":
        return None
    return explain_clash(survey, clock, workers, "work")[0]
