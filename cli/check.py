"""`strapwork check`: an independent audit of a build file."""

from __future__ import annotations

from pathlib import Path

import click

from cli.options import FILE, format_option, load_both
from cli.printing import print_document


@click.command()
@click.argument("scenario", type=FILE)
@click.argument("build", type=FILE)
@format_option
def check(scenario: Path, build: Path, form: str) -> int:
    """Check a BUILD file against SCENARIO, rule by rule."""
    from solver.answers.check import check

    report = check(*load_both(scenario, build))

    def draw() -> None:
        if report.setups is not None:
            from cli.screen.setups import show_setups_check

            show_setups_check(report)
            return
        if report.phases is not None:
            from cli.screen.phases import show_phases_check

            show_phases_check(report)
            return
        from cli.screen.check import show_check

        show_check(report)

    return print_document(report, form, draw)
