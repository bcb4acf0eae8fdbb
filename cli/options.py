"""Arguments and options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from solver.files import Loaded

Command = TypeVar("Command", bound=Callable[..., Any])

FILE = click.Path(path_type=Path)


def format_option(command: Command) -> Command:
    """``--format text|json``."""
    choice = click.Choice(["text", "json"])
    return click.option("--format", "form", type=choice, default="text", show_default=True, help="What to print.")(
        command
    )


def load(path: Path) -> Loaded:
    """Read a scenario with its hardware; warnings go to stderr."""
    from solver.faults import render
    from solver.files import load_scenario

    loaded = load_scenario(path)
    if loaded.warnings:
        click.echo(render(loaded.warnings), err=True)
    if len(loaded.scenario.rooms()) > 1:
        raise click.ClickException(
            "this scenario has several rooms; planning and checking several rooms together is still to come. "
            "Give each room a scenario of its own."
        )
    return loaded
