"""`strapwork plan`: ranked builds of a scenario."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli import saving
from cli.command import Command
from cli.options import FILE, Whole, format_option, load, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop
from solver.answers.asking import MOST_BUILDS

if TYPE_CHECKING:
    from solver.answers.plan import Planned
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.option("--top", type=Whole(1, MOST_BUILDS), default=5, show_default=True, help="At most so many builds.")
@click.option("--show", type=Whole(min=1), default=1, show_default=True, help="The build to show whole.")
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build shown to a new build file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@format_option
def plan(
    scenario: Path,
    top: int,
    show: int,
    limit: float | None,
    workers: int,
    save: Path | None,
    force: bool,
    dump_model: Path | None,
    form: str,
) -> int:
    """Rank the builds that SCENARIO makes possible; of several rooms together, find the best."""
    from solver.answers.asked import surveyed

    if show > top:
        raise click.BadParameter(f"only {top} builds are asked for; see --top", param_hint="--show")
    loaded = load(scenario)
    if save is not None:
        saving.check_build(save, force)
    asked = surveyed(loaded)

    def planned(clock: Clock) -> Planned:
        from solver.answers.plan import plan

        return plan(asked, loaded, top, workers, clock)

    found, interrupted = search(planned, limit, dump_model, force)
    report, builds = found.report, found.builds
    saving.one_of(len(builds), show)
    unsaved = None if save is None or not builds else saving.save(builds[show - 1], save, force, loaded)
    if form == "json":
        click.echo(report.as_json(), nl=False)
    elif report.setups is not None:
        from cli.screen.setups import show_setups

        show_setups(report)
    elif report.phases is not None:
        from cli.screen.phases import show_phases

        show_phases(report)
    elif len(loaded.scenario.rooms()) > 1:
        from cli.screen.campus import show_campus

        show_campus(report)
    else:
        from cli.screen.plan import show_plan

        show_plan(report, show)
    saving.tell(unsaved)
    if interrupted:
        return stop.code
    return OUTCOMES[report.outcome]
