"""`strapwork blocks`: every legal setting of a board and the numbers that it gives each slot."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import FILE, Rate, format_option


@click.command()
@click.argument("hardware", type=FILE)
@click.option("--chassis", metavar="ID", help="Only this chassis.")
@click.option("--board", metavar="ID", help="Only this board.")
@click.option("--rate", type=Rate(), default=48000, show_default=True, help="Sample rate, in hertz or kilohertz.")
@format_option
def blocks(hardware: Path, chassis: str | None, board: str | None, rate: int, form: str) -> int:
    """Show what each strap setting of HARDWARE numbers."""
    import json

    from solver.files.reading import load_hardware
    from solver.reports.describe import blocks_document
    from solver.reports.report import file_warnings
    from solver.room.faults import nearest, render
    from solver.room.silent import changes_numbers
    from solver.room.straps import Layout, layouts
    from solver.room.words import SAMPLE_RATES

    found, warnings = load_hardware([hardware])
    if warnings:
        click.echo(render(warnings), err=True)
    for hint, asked, known in (
        ("--chassis", chassis, [c.id for c in found.chassis]),
        ("--board", board, [b.id for b in found.board]),
    ):
        if asked is not None and asked not in known:
            near = nearest(asked, known)
            also = f'; did you mean "{near}"?' if near else ""
            raise click.BadParameter(f'"{asked}" is not in {hardware}{also}', param_hint=hint)
    boards = {b.id: b for b in found.board}
    sections: list[tuple[str, str, int, list[Layout]]] = [
        (c.id, name, rate, layouts(boards[name], c.slot_count, SAMPLE_RATES[rate]))
        for c in found.chassis
        for name in c.boards
        if name in boards and chassis in (None, c.id) and board in (None, name)
    ]
    if form == "json":
        told = [warning.model_dump() for warning in file_warnings(warnings)]
        click.echo(json.dumps({**blocks_document(sections), "warnings": told}, indent=2))
        return 0
    from cli.screen.blocks import show_blocks

    silent = {b.id: [g.name for g in b.strap_group if not changes_numbers(g)] for b in found.board}
    runs = {b.id: SAMPLE_RATES[rate] in b.limits for b in found.board}
    show_blocks(sections, silent, runs)
    return 0
