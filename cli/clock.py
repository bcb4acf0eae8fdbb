"""`strapwork clock`: which line feeds whom with one clock."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.codes import FAULTY
from cli.command import Command
from cli.options import FILE, format_option, limit_option, load, load_both
from cli.search import OUTCOMES, search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.clock_tree import ClockTrees
    from solver.search.solve.clock import Clock


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE, required=False)
@limit_option
@format_option
def clock(scenario: Path, build: Path | None, limit: float | None, form: str) -> int:
    """Find the best way to feed every device of SCENARIO with one clock, or check the lines that are drawn there.

    Of a BUILD it knows the boards of frames that SCENARIO leaves open, and which frames are used.
    Exit code 1 says that there is no way, proven, or that the drawn lines are faulty.
    """
    loaded, drawn = (load(scenario), None) if build is None else load_both(scenario, build)

    def ask(clock: Clock) -> ClockTrees:
        from solver.answers.clock_tree import clock_tree

        return clock_tree(loaded, clock, drawn)

    document, interrupted = search(ask, limit)
    if form == "json":
        click.echo(document.as_json(), nl=False)
    else:
        from cli.screen.clock import show_clock

        show_clock(document)
    if interrupted:
        return stop.code
    return FAULTY if document.outcome == "faulty" else OUTCOMES[document.outcome]
