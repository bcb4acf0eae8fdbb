"""`strapwork blocks`: every legal setting of a board and the numbers that it gives each slot."""

from __future__ import annotations

from pathlib import Path

import click

from cli.command import Command
from cli.options import FILE, Rate, format_option
from cli.telling import say_faults


@click.command(cls=Command)
@click.argument("hardware", type=FILE)
@click.option("--chassis", metavar="ID", help="Only this chassis.")
@click.option("--board", metavar="ID", help="Only this board.")
@click.option("--rate", type=Rate(), default=48000, show_default=True, help="Sample rate, in hertz or kilohertz.")
@format_option
def blocks(hardware: Path, chassis: str | None, board: str | None, rate: int, form: str) -> int:
    """Show what each strap setting of HARDWARE numbers."""
    from solver.answers.blocks import blocks, fitted
    from solver.files.reading import load_hardware

    found, warnings = load_hardware([hardware])
    if warnings:
        say_faults(warnings)
    boards = fitted(found, str(hardware), chassis, board, rate)
    if form == "json":
        click.echo(blocks(boards, warnings).as_json(), nl=False)
    else:
        from cli.screen.blocks import show_blocks

        show_blocks(boards)
    return 0
