"""Arguments and options that several commands share."""

from __future__ import annotations

import os
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


def workers_option(command: Command) -> Command:
    """``--workers N``: a thread for each core that this process may use, up to four, without it."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return click.option(
        "--workers",
        type=click.IntRange(1, 64),
        default=min(4, cores),
        show_default="cores, at most 4",
        help="Threads of the search; a proven answer does not depend on it.",
    )(command)


def search_options(command: Command) -> Command:
    """``--limit SECONDS`` and ``--workers N`` of a search."""
    seconds = click.FloatRange(min=0.01)
    return click.option("--limit", type=seconds, help="Seconds for the search; no limit without it.")(
        workers_option(command)
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
