"""`strapwork labels`: texts for the labels of a build."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, Whole, day_option, load_day, table_option
from cli.printing import print_table
from solver.answers.asking import LABEL_WIDTH, LEAST_LABEL, MOST_LABEL

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option(
    "--width",
    type=Whole(LEAST_LABEL, MOST_LABEL),
    default=LABEL_WIDTH,
    show_default=True,
    help="Characters that a label has room for.",
)
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@day_option
@table_option
def labels(scenario: Path, build: Path, width: int, room: str | None, asked: When | None, form: str) -> int:
    """Make texts for the labels of a BUILD file of SCENARIO: rows of bays, slots, both ends of looms.

    Exit code 1 says that the build or one of its bays is faulty, which is said at the top too; beside CSV
    it is said on standard error.
    """
    from solver.answers.labels import labels

    document = labels(*load_day(scenario, build, asked), room, width)

    def draw() -> None:
        from cli.screen.labels import show_labels

        show_labels(document)

    return print_table(document, form, draw)
