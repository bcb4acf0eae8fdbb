"""`strapwork diff`: what changes hands between two builds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, days_option, load_change, table_option
from cli.printing import print_table

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("old", type=FILE)
@click.argument("new", type=FILE)
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@days_option
@table_option
def diff(
    scenario: Path, old: Path, new: Path, room: str | None, asked: When | None, since: When | None, form: str
) -> int:
    """Say what build NEW of SCENARIO has otherwise than build OLD: cards, straps, numbers, which lid comes off.

    Exit code 1 says that the new build is faulty, which is said at the top too; beside CSV it is said on
    standard error.
    """
    from solver.answers.diff import diff

    change = load_change(scenario, old, new, asked, since)
    assert change.old is not None
    document = diff(change.loaded, change.old, change.new, room, change.earlier)

    def draw() -> None:
        from cli.screen.diff import show_difference

        show_difference(document)

    return print_table(document, form, draw)
