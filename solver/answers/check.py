"""A build held against every rule, room by room."""

from __future__ import annotations

from solver.files.reading import Loaded
from solver.reports.assumed import assumed
from solver.reports.checking import check_report, check_room
from solver.reports.report import Report, file_warnings
from solver.room.build import Build
from solver.room.survey import survey_room


def check(loaded: Loaded, drawn: Build) -> Report:
    """What is wrong with a build, as the report has it."""
    if len(loaded.scenario.rooms()) > 1:
        report = _campus(loaded, drawn)
    else:
        survey = survey_room(loaded.scenario, loaded.hardware)
        report = check_report(survey, check_room(survey, drawn))
    told = {"warnings": file_warnings(loaded.warnings), "assumed": assumed(loaded.scenario, loaded.hardware)}
    return report.model_copy(update=told)


def _campus(loaded: Loaded, drawn: Build) -> Report:
    from solver.judge.campus import survey_campus  # most checks are of one room, and are over in a blink
    from solver.reports.describe_campus import check_campus_report

    return check_campus_report(survey_campus(loaded.scenario, loaded.hardware), drawn)
