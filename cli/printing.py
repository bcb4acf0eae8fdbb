"""What is said of a build that was given, printed in the form that was asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Protocol

import click

from cli.codes import FAULTY, FOUND
from cli.telling import say_faulty

if TYPE_CHECKING:
    from solver.reports.element import BrokenLimit


class Document(Protocol):
    """What is said of a build."""

    @property
    def faults(self) -> Sequence[BrokenLimit]:
        """What is wrong with the build."""
        ...

    def as_json(self) -> str:
        """The document for programs."""
        ...


class Table(Document, Protocol):
    """The same where it can be had in rows."""

    def as_csv(self) -> str:
        """The rows for spreadsheets."""
        ...


def print_document(document: Document, form: str, draw: Callable[[], None]) -> int:
    """Print a document as JSON, or draw it; the code that its build has."""
    if form == "json":
        click.echo(document.as_json(), nl=False)
    else:
        draw()
    return FAULTY if document.faults else FOUND


def print_table(document: Table, form: str, draw: Callable[[], None]) -> int:
    """The same, or CSV: what is faulty is told beside it, where no row has a place for it."""
    if form != "csv":
        return print_document(document, form, draw)
    click.echo(document.as_csv(), nl=False)
    say_faulty(document.faults)
    return FAULTY if document.faults else FOUND
