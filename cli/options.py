"""Arguments and options that several commands share."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

import click

if TYPE_CHECKING:
    from solver.build import Build
    from solver.files import Loaded

Command = TypeVar("Command", bound=Callable[..., Any])

FILE = click.Path(path_type=Path)


def format_option(command: Command) -> Command:
    """``--format text|json``. With json, files that cannot be used are a document too, besides the text on stderr."""

    @wraps(command)
    def answer(*arguments: Any, form: str, **options: Any) -> Any:
        from solver.faults import FileFaults

        try:
            return command(*arguments, form=form, **options)
        except FileFaults as refused:
            if form == "json":
                from solver.report import Refused

                click.echo(Refused.of(refused).as_json(), nl=False)
            raise

    choice = click.Choice(["text", "json"])
    option = click.option("--format", "form", type=choice, default="text", show_default=True, help="What to print.")
    return cast(Command, option(answer))


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
    """``--limit SECONDS``, ``--workers N`` and ``--dump-model FILE`` of a search."""
    limit = click.option(
        "--limit", type=click.FloatRange(min=0.01), help="Seconds for the search; no limit without it."
    )
    dump = "After an internal error, write the model to FILE."
    return limit(workers_option(click.option("--dump-model", type=FILE, metavar="FILE", help=dump)(command)))


def load(path: Path) -> Loaded:
    """Read a scenario with its hardware; warnings go to stderr."""
    from solver.files import load_scenario

    return _told(load_scenario(path))


def load_both(scenario: Path, build: Path) -> tuple[Loaded, Build]:
    """Read a scenario with its hardware, and a build of it; warnings go to stderr."""
    from solver.files import load_drawn

    loaded, drawn = load_drawn(scenario, build)
    return _told(loaded), drawn


def _told(loaded: Loaded) -> Loaded:
    from solver.faults import render

    if loaded.warnings:
        click.echo(render(loaded.warnings), err=True)
    return loaded
