"""`strapwork failed`: what is lost where something fails, and what mends it, the least work first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.codes import FAULTY, FOUND, UNKNOWN
from cli.command import Command
from cli.options import FILE, format_option, load_both, search_options
from cli.search import search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.failed import Failed
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.argument("what", nargs=-1, required=True)
@click.option("--room", metavar="NAME", help="One of several rooms; lines of the others may be borrowed.")
@search_options
@format_option
def failed(
    scenario: Path,
    build: Path,
    what: tuple[str, ...],
    room: str | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say what a BUILD of SCENARIO loses where WHAT fails, and how it is mended.

    WHAT is a name as `find` knows it: slot:A:5 or card:ID for a card, A:in:37 or A:5.3 for one channel,
    loom:NAME or bay:B14; or of a frame: frame:A for all of it, board:A, supply:A for one of its supplies,
    fan:A for one of its fans, or a rail such as rail:A:+5; or of a clock whose lines are drawn: clock:DEVICE,
    clock-line:1. Several fail together.

    Exit code 1 says that nothing mends all of it, that inputs lose phantom power and no file tells whether
    their sources need it, or that the build is faulty.
    """
    loaded, drawn = load_both(scenario, build)

    def ask(clock: Clock) -> Failed:
        from solver.answers.failed import failed

        return failed(loaded, drawn, what, workers, clock, room)

    document, interrupted = search(ask, limit, dump_model)
    if form == "json":
        click.echo(document.as_json(), nl=False)
    else:
        from cli.screen.failed import show_failed

        show_failed(document)
    if interrupted:
        return stop.code
    outcomes = {repair.outcome for repair in document.repairs}
    if document.faults or document.in_doubt or (outcomes and not outcomes & {"whole", "unknown"}):
        return FAULTY
    return FOUND if not outcomes or "whole" in outcomes else UNKNOWN
