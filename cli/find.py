"""`strapwork find`: what has a name in a build, and all that is on its path."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, day_option, load_day, table_option
from cli.printing import print_table

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.argument("what")
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@day_option
@table_option
def find(scenario: Path, build: Path, what: str, room: str | None, asked: When | None, form: str) -> int:
    """Find WHAT in a BUILD file of SCENARIO, and say all that is on its path.

    WHAT is a number (A:37), a need or its channel ("drum mics 3"), slot:A:5, card:ID, loom:NAME or
    bay:B14.

    Exit code 1 says that the build is faulty, which is said at the top too; beside CSV it is said on
    standard error.
    """
    from solver.answers.find import find

    document = find(*load_day(scenario, build, asked), what, room)

    def draw() -> None:
        from cli.screen.find import show_found

        show_found(document)

    return print_table(document, form, draw)
