"""A build held against every rule, room by room."""

from __future__ import annotations

from solver.answers.drawn_clocks import drawn_clock_faults
from solver.answers.standing_rooms import campus_report
from solver.answers.wired import wiring_faults
from solver.files.reading import Loaded
from solver.reports.assumed import assumed
from solver.reports.checking import check_report, check_room
from solver.reports.element import BrokenLimit, file_warnings
from solver.reports.report import Report
from solver.room.build import Build
from solver.room.ready import survey_room


def check(loaded: Loaded, drawn: Build) -> Report:
    """What is wrong with a build, its points of bays, cables, clock and racks that it draws, as a report."""
    report = _judged(loaded, drawn)
    more: list[BrokenLimit] = [*drawn_clock_faults(loaded, drawn), *wiring_faults(loaded, drawn)]
    if drawn.rack:
        from solver.answers.racks import faults_of_racks  # few builds draw racks

        more += faults_of_racks(loaded, drawn)
    if not more:
        return report
    faults = [*report.faults, *more]
    return report.model_copy(update={"faults": faults, "outcome": "faulty"})


def _judged(loaded: Loaded, drawn: Build) -> Report:
    """What the rules say of a build."""
    if loaded.scenario.setup:
        from solver.reports.setups import check_setups_report
        from solver.room.setups import setups_of  # most scenarios have one kind of day

        report = check_setups_report(setups_of(loaded.scenario, loaded.hardware), drawn)
    elif loaded.scenario.phase:
        from solver.reports.phasing import check_phases_report
        from solver.room.phases import phases_of  # most scenarios are bought at once

        report = check_phases_report(phases_of(loaded.scenario, loaded.hardware), drawn)
    elif len(loaded.scenario.rooms()) > 1:
        report = campus_report(loaded, drawn)
    else:
        survey = survey_room(loaded.scenario, loaded.hardware)
        report = check_report(survey, check_room(survey, drawn))
    told = {"warnings": file_warnings(loaded.warnings), "assumed": assumed(loaded.scenario, loaded.hardware)}
    return report.model_copy(update=told)
