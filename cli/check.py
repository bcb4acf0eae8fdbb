"""`strapwork check`: an independent audit of a build file."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import FILE, format_option, load


@click.command()
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@format_option
def check(scenario: Path, build: Path, form: str) -> int:
    """Check a BUILD file against SCENARIO, rule by rule."""
    from solver.describe import check_report
    from solver.files import check_build_names, load_build
    from solver.standing import stand
    from solver.survey import survey_room

    loaded = load(scenario)
    drawn = load_build(build)
    check_build_names(build, drawn, loaded)
    survey = survey_room(loaded.scenario, loaded.hardware)
    report = check_report(survey, stand(survey, drawn))
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.check import show_check

        show_check(report)
    return 1 if report.faults else 0
