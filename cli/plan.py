"""`strapwork plan`: ranked builds of a scenario."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import FILE, format_option, load, workers_option

if TYPE_CHECKING:
    from solver.search.ranking import Ranking
    from solver.survey import Survey


@click.command()
@click.argument("scenario", type=FILE)
@click.option("--top", type=click.IntRange(1, 100), default=5, show_default=True, help="At most so many builds.")
@click.option("--show", type=click.IntRange(min=1), default=1, show_default=True, help="The build to show whole.")
@click.option("--limit", type=click.FloatRange(min=0.01), help="Seconds for the search; no limit without it.")
@workers_option
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
    from solver.survey import survey_room

    if show > top:
        raise click.BadParameter(f"only {top} builds are asked for; see --top", param_hint="--show")
    if save is not None and save.exists() and not force:
        raise click.ClickException(f"{save} exists; --force overwrites it")
    loaded = load(scenario)
    survey = survey_room(loaded.scenario, loaded.hardware)
    ranking, interrupted = _search(survey, top, limit, workers)
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
    if interrupted:
        return 130
    return {"found": 0, "impossible": 1, "unknown": 3}[ranking.outcome]


def _search(survey: Survey, top: int, limit: float | None, workers: int) -> tuple[Ranking, bool]:
    """Search in a thread, so that Ctrl-C ends it with the best so far."""
    from solver.search.clock import Clock
    from solver.search.ranking import rank

    clock = Clock(limit)
    answers: list[Ranking] = []
    errors: list[BaseException] = []
    ended = threading.Event()

    def work() -> None:
        try:
            answers.append(rank(survey, top, workers=workers, clock=clock))
        except BaseException as error:
            errors.append(error)
        finally:
            ended.set()

    thread = threading.Thread(target=work)
    thread.start()
    interrupted = False
    while not ended.is_set():
        try:
            ended.wait(0.2)
        except KeyboardInterrupt:
            interrupted = True
            clock.stop()
    if errors:
        raise errors[0]
    return answers[0], interrupted
