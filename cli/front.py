"""`strapwork front`: every build that no other beats, and what each step from one to the next buys."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import FILE, format_option, load, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--show", type=click.IntRange(min=1), help="A build to show whole.")
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build of --show to a new build file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@format_option
def front(
    scenario: Path,
    show: int | None,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    dump_model: Path | None,
    form: str,
) -> int:
    """Find every build of SCENARIO that no other beats on its criteria."""
    from solver.writing import check_target

    if save is not None and show is None:
        raise click.UsageError("--save FILE writes the build of --show N; name one")
    if save is not None:
        check_target(save, force)

    from cli.why import answer_or_why
    from solver.describe import describe_build
    from solver.report import Report, file_warnings
    from solver.search import front as fronts
    from solver.survey import survey_room
    from solver.tradeoff import front_report

    loaded = load(scenario)
    asked = survey_room(loaded.scenario, loaded.hardware)
    (survey, found, clash, notes), interrupted = search(
        lambda clock: answer_or_why(
            asked, lambda room: fronts.front(room, workers=workers, clock=clock), workers, clock
        ),
        limit,
        dump_model,
        force,
    )
    points = found.points
    if points and show is not None and show > len(points):
        raise click.BadParameter(f"there are {len(points)} builds", param_hint="--show")
    unsaved: OSError | None = None
    if save is not None and show is not None and points:
        from solver.files import write_build

        try:
            with stop.held():
                write_build(points[show - 1].build, save, force=force)
        except OSError as error:
            unsaved = error  # what took long to find is shown first
    chosen = fronts.scenarios_choice(survey, points).figures if found.complete and points else None
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=found.outcome,
        proven=found.complete,
        complete=found.complete,
        criteria=list(survey.rank),
        builds=[
            describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages))
            for n, b in enumerate(points, start=1)
        ],
        front=front_report(survey, [b.figures for b in points], chosen, complete=found.complete) if points else None,
        clash=clash,
        notes=notes,
        warnings=file_warnings(loaded.warnings),
    )
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.front import show_front

        show_front(report, show)
    if unsaved is not None:
        raise unsaved
    return stop.code if interrupted else OUTCOMES[report.outcome]
