"""`strapwork looms`: the looms of a build, pin by pin."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, day_option, load_day, table_option
from cli.printing import print_table
from cli.telling import say

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@day_option
@table_option
def looms(scenario: Path, build: Path, room: str | None, asked: When | None, form: str) -> int:
    """List the looms of a BUILD file of SCENARIO: connectors, each line pin by pin, and the plugs they take.

    Exit code 1 says that the build is faulty, which is said at the top too; beside CSV it is said on
    standard error, and so is what is NOT WIRED.
    """
    from solver.answers.looms import looms

    document = looms(*load_day(scenario, build, asked), room)

    def draw() -> None:
        from cli.screen.looms import show_looms

        show_looms(document)

    code = print_table(document, form, draw)
    if form == "csv":
        for text in document.not_wired:
            say(f"NOT WIRED: {text}")
    return code
