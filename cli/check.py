"""`strapwork check`: an independent audit of a build file."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import FILE, format_option, load_both


@click.command()
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@format_option
def check(scenario: Path, build: Path, form: str) -> int:
    """Check a BUILD file against SCENARIO, rule by rule."""
    from solver.reports.assumed import assumed
    from solver.reports.checking import check_report, check_room
    from solver.reports.report import file_warnings
    from solver.room.survey import survey_room

    loaded, drawn = load_both(scenario, build)
    if len(loaded.scenario.rooms()) > 1:
        from solver.judge.campus import survey_campus
        from solver.reports.describe_campus import check_campus_report

        campus = survey_campus(loaded.scenario, loaded.hardware)
        report = check_campus_report(campus, drawn)
    else:
        survey = survey_room(loaded.scenario, loaded.hardware)
        report = check_report(survey, check_room(survey, drawn))
    report = report.model_copy(
        update={"warnings": file_warnings(loaded.warnings), "assumed": assumed(loaded.scenario, loaded.hardware)}
    )
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.check import show_check

        show_check(report)
    return 1 if report.faults else 0
