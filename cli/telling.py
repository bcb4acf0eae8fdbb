"""What is told on standard error: whole lines where a program reads it, wrapped to the width of a terminal."""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from solver.reports.element import BrokenLimit
    from solver.room.faults import Fault

LEAST_WIDTH = 20
"""A terminal that says it has fewer columns is not believed."""

KEPT = "\0"
"""Stands for a blank that no line may end at, while lines are made."""


def width() -> int | None:
    """The columns of the terminal that standard error is, or None if it is none; `COLUMNS` goes first."""
    if not sys.stderr.isatty():
        return None
    given = os.environ.get("COLUMNS", "")
    try:
        columns = int(given) if given.isdecimal() and int(given) else os.get_terminal_size(sys.stderr.fileno()).columns
    except OSError:
        columns = 0
    return max(columns or 80, LEAST_WIDTH)


def say(text: str, whole: Iterable[str] = ()) -> None:
    """Tell a text of one or more lines.

    Parameters
    ----------
    whole
        Names that are never parted, though they may have blanks in them.
    """
    columns = width()
    if columns is not None:
        for name in whole:
            text = text.replace(name, name.replace(" ", KEPT))
        text = "\n".join(_wrapped(line, columns) for line in text.split("\n")).replace(KEPT, " ")
    click.echo(text, err=True)


def _wrapped(line: str, columns: int) -> str:
    return textwrap.fill(line, columns, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)


def say_faults(faults: Iterable[Fault]) -> None:
    """Tell what is wrong with files, by file."""
    from solver.room.faults import render

    click.echo(render(faults, width() or 80), err=True)


def say_faulty(faults: Iterable[BrokenLimit]) -> None:
    """Tell what is wrong with a build, beside a table that has no place for it."""
    for fault in faults:
        say(f"FAULTY, {fault.rule}: {fault.text}")
