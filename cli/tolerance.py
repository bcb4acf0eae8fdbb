"""`strapwork tolerance`: which build is best where prices are not sure, and which is never far from it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli import saving
from cli.command import Command
from cli.options import FILE, Whole, format_option, load, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.report import Report
    from solver.room.build import Build
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.option("--show", type=Whole(min=1), help="A build to show whole.")
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build of --show to a new build file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@format_option
def tolerance(
    scenario: Path,
    show: int | None,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say which build of SCENARIO is best wherever its unsure prices come to lie, and which is never far from it."""
    from solver.answers.tolerance import check_unsure

    if save is not None and show is None:
        raise click.UsageError("--save FILE writes the build of --show N; name one")
    loaded = load(scenario)
    check_unsure(loaded)
    if save is not None:
        saving.check_build(save, force)

    def ask(clock: Clock) -> tuple[Report, Sequence[Build]]:
        from solver.answers.tolerance import tolerance

        return tolerance(loaded, workers, clock)

    (report, builds), interrupted = search(ask, limit, dump_model, force)
    saving.one_of(len(builds), show)
    unsaved = None
    if save is not None and show is not None and builds:
        unsaved = saving.save(builds[show - 1], save, force, loaded)
    if form == "json":
        click.echo(report.as_json(), nl=False)
    else:
        from cli.screen.tolerance import show_tolerance

        show_tolerance(report, show)
    saving.tell(unsaved)
    return stop.code if interrupted else OUTCOMES[report.outcome]
