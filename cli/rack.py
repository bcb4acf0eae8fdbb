"""`strapwork rack`: where everything goes in the racks of a scenario."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli import saving
from cli.codes import FAULTY
from cli.command import Command
from cli.options import FILE, format_option, load, load_both, search_options
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.rack import Racks
    from solver.room.build import Build
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE, required=False)
@click.option("--anew", is_flag=True, help="Find places for racks that BUILD draws too.")
@search_options
@click.option("--save", type=FILE, metavar="FILE", help="Write the build with its racks to a new build file.")
@click.option("--force", is_flag=True, help="Overwrite files that are there.")
@format_option
def rack(
    scenario: Path,
    build: Path | None,
    anew: bool,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    save: Path | None,
    force: bool,
    form: str,
) -> int:
    """Find a place for everything in the racks of SCENARIO, with a BUILD or the best plan in its frames.

    Racks that BUILD draws are checked and shown as they are drawn. Exit code 1 says that something has
    no place, proven, or that a drawn rack is faulty.
    """
    loaded, drawn = (load(scenario), None) if build is None else load_both(scenario, build)
    if save is not None:
        saving.check_build(save, force)

    def ask(clock: Clock) -> tuple[Racks, Build | None]:
        from solver.answers.rack import rack

        return rack(loaded, drawn, workers, clock, anew=anew)

    (document, placed), interrupted = search(ask, limit, dump_model, force)
    done = document.outcome in ("found", "faulty")
    unsaved = None if save is None or placed is None or not done else saving.save(placed, save, force, loaded)
    if form == "json":
        click.echo(document.as_json(), nl=False)
    else:
        from cli.screen.rack import show_racks

        show_racks(document)
    saving.tell(unsaved)
    if interrupted:
        return stop.code
    return FAULTY if document.outcome == "faulty" else OUTCOMES[document.outcome]
