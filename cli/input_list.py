"""`strapwork list`: the lines of an input list with the numbers of a build."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.codes import CHANGED
from cli.command import Command
from cli.options import FILE, day_option, load_day, table_option
from cli.printing import print_table

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command("list", cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option("--check", type=FILE, metavar="OTHER", help="Say what this list, edited since, has otherwise.")
@click.option("--room", metavar="NAME", help="One of several rooms.")
@day_option
@table_option
def input_list(scenario: Path, build: Path, check: Path | None, room: str | None, asked: When | None, form: str) -> int:
    """Fill the numbers of a BUILD file into the input list of SCENARIO, ready to be sent back.

    Without a list, one is made of the scenario's needs. Exit code 1 says that the build is faulty, or that a list
    given with --check has something otherwise; beside CSV both are said on standard error.
    """
    from solver.answers.input_list import input_list

    document = input_list(*load_day(scenario, build, asked), room, check)

    def draw() -> None:
        from cli.screen.input_list import show_list

        show_list(document)

    code = print_table(document, form, draw)
    if form == "csv":
        from cli.screen.input_list import say_changes

        say_changes(document)
    return CHANGED if document.changes else code
