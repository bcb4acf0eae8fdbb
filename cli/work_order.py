"""`strapwork work-order`: from what stands to a build, step by step, with the test sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.command import Command
from cli.options import FILE, days_option, format_option, load_change
from cli.printing import print_document
from solver.answers.asking import TESTED

if TYPE_CHECKING:
    from solver.answers.on_day import When


@click.command("work-order", cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@click.option(
    "--from", "old", type=FILE, metavar="OLD", help="The build that stands; without it what the scenario says."
)
@click.option("--room", metavar="NAME", help="One of several rooms; all of them without it.")
@click.option(
    "--time",
    type=click.Choice(TESTED),
    default="all",
    show_default=True,
    help="Minutes that there are to test, or every check.",
)
@days_option
@format_option
def work_order(
    scenario: Path,
    build: Path,
    old: Path | None,
    room: str | None,
    time: str,
    asked: When | None,
    since: When | None,
    form: str,
) -> int:
    """Say what to do, in the safe order, until a BUILD file of SCENARIO stands, and how to test it.

    Exit code 1 says that the build is faulty, which the sheet says at its top too.
    """
    from solver.answers.work_order import work_order

    change = load_change(scenario, old, build, asked, since)
    document = work_order(change.loaded, change.new, change.old, room, TESTED[time], change.earlier)

    def draw() -> None:
        from cli.screen.work_order import show_work_order

        show_work_order(document)

    return print_document(document, form, draw)
