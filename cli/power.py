"""`strapwork power`: what a build draws from the mains, and what its breakers carry."""

from __future__ import annotations

from pathlib import Path

import click

from cli.command import Command
from cli.options import FILE, format_option, load_both
from cli.printing import print_document


@click.command(cls=Command)
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@format_option
def power(scenario: Path, build: Path, form: str) -> int:
    """Say what a BUILD of SCENARIO draws from the mains, by frame and by breaker.

    Exit code 1 says that the build is faulty, or that an inlet, a breaker or a residual-current device may get
    too much.
    """
    from solver.answers.power import power

    document = power(*load_both(scenario, build))

    def draw() -> None:
        from cli.screen.power import show_power

        show_power(document)

    return print_document(document, form, draw)
