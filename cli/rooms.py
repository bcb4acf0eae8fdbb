"""``--room NAME``: a question about one of several rooms, put twice: with what the others leave, and alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from cli.codes import IMPOSSIBLE, UNKNOWN

if TYPE_CHECKING:
    from solver.answers.asked import Answers, Document
    from solver.files.reading import Loaded

Command = TypeVar("Command", bound=Callable[..., object])


def room_option(command: Command) -> Command:
    """``--room NAME``."""
    told = "One of several rooms: with what the best plan of all rooms leaves for it, and alone with everything."
    return click.option("--room", "room", metavar="NAME", help=told)(command)


def code_of(answers: Answers[Any], found: int) -> int:
    """The exit code, where it is `found` by the first answer: never better than what the rooms together come to."""
    return {"impossible": IMPOSSIBLE, "unknown": UNKNOWN}.get(answers.together or "", found)


def tell(answers: Answers[Document], loaded: Loaded, path: Path, form: str, show: Callable[[Document], None]) -> None:
    """Print the one answer as its command does, or both, each with what the room may draw on."""
    from solver.answers.asked import as_document, with_defaults
    from solver.reports.share import RoomAnswers

    answers = with_defaults(answers, loaded)
    document = as_document(answers, loaded)
    if form == "json":
        click.echo(document.as_json(), nl=False)
    elif isinstance(document, RoomAnswers):
        from cli.screen.room import show_room_answers

        show_room_answers(document, path, [one.answer for one in answers.told], show)
    else:
        show(document)
