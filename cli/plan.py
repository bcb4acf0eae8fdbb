"""`strapwork plan`: ranked builds of a scenario."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import FILE, format_option, load, search_options
from cli.search import OUTCOMES, search


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--top", type=click.IntRange(1, 100), default=5, show_default=True, help="At most so many builds.")
@click.option("--show", type=click.IntRange(min=1), default=1, show_default=True, help="The build to show whole.")
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build shown to a new build file.")
@click.option("--force", is_flag=True, help="Let --save overwrite a file.")
@format_option
def plan(
    scenario: Path,
    top: int,
    show: int,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    form: str,
) -> int:
    """Rank the builds that SCENARIO makes possible."""
    from solver.describe import clash_of, describe_build
    from solver.report import Report
    from solver.search.ranking import rank
    from solver.survey import survey_room

    if show > top:
        raise click.BadParameter(f"only {top} builds are asked for; see --top", param_hint="--show")
    if save is not None and save.exists() and not force:
        raise click.ClickException(f"{save} exists; --force overwrites it")
    loaded = load(scenario)
    survey = survey_room(loaded.scenario, loaded.hardware)
    ranking, interrupted = search(lambda clock: rank(survey, top, workers=workers, clock=clock), limit)
    builds = [
        describe_build(survey, b.standing, b.figures, n, b.proven, dict(b.stages))
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
        clash=clash_of(survey) if ranking.outcome == "impossible" else None,
    )
    if builds and show > len(builds):
        raise click.BadParameter(f"there are {len(builds)} builds", param_hint="--show")
    if save is not None and builds:
        from solver.files import write_build

        try:
            write_build(ranking.builds[show - 1].build, save, force=force)
        except FileExistsError as error:
            raise click.ClickException(f"{save} cannot be overwritten") from error
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.plan import show_plan

        show_plan(report, show)
    return 130 if interrupted else OUTCOMES[ranking.outcome]
