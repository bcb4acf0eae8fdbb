"""`strapwork single-points`: what a build loses when one card, supply, board or frame fails, the worst first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.codes import UNKNOWN
from cli.command import Command
from cli.options import FILE, format_option, load_both, search_options
from cli.printing import print_document
from cli.search import search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.reports.failed import SinglePoints
    from solver.search.solve.clock import Clock


@click.command("single-points", cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option("--room", metavar="NAME", help="One of several rooms.")
@search_options
@format_option
def single_points(
    scenario: Path,
    build: Path,
    room: str | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say what a BUILD of SCENARIO loses when one card, supply, board, frame or part of the clock fails, worst first.

    Exit code 1 says that the build is faulty.
    """
    loaded, drawn = load_both(scenario, build)

    def ask(clock: Clock) -> SinglePoints:
        from solver.answers.single_points import single_points

        return single_points(loaded, drawn, clock, room)

    document, interrupted = search(ask, limit, dump_model)

    def draw() -> None:
        from cli.screen.failed import show_single_points

        show_single_points(document)

    code = print_document(document, form, draw)
    return stop.code if interrupted else code if document.complete else UNKNOWN
