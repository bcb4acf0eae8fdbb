"""`strapwork channels`: every number of a build, and what it carries."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, day_option, load_day, table_option
from cli.printing import print_table
from solver.answers.asking import LISTED_BY

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option("--by", type=click.Choice(LISTED_BY), default="number", show_default=True, help="Order of the rows.")
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@day_option
@table_option
def channels(scenario: Path, build: Path, by: str, room: str | None, asked: When | None, form: str) -> int:
    """List every number of a BUILD file of SCENARIO: slot, card channel, and what it carries.

    Exit code 1 says that the build is faulty, which the list says at its top too; beside CSV it is said
    on standard error.
    """
    from solver.answers.channels import channels

    document = channels(*load_day(scenario, build, asked), room, LISTED_BY[by])

    def draw() -> None:
        from cli.screen.channels import show_channels

        show_channels(document)

    return print_table(document, form, draw)
