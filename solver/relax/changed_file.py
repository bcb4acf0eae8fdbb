"""A scenario file with changes made, everything else left as it is written."""

from __future__ import annotations

import difflib
import errno
import os
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import tomlkit

from solver.files.kinds import no_scenario
from solver.files.reading import beside
from solver.files.writing import write_whole
from solver.relax.document import apply, room_in
from solver.room.faults import quote
from solver.room.survey import Survey
from solver.room.wish import Change, Document

MARK = "\ufeff"
"""The byte order mark that some editors put at the head of a UTF-8 file."""


def _number(value: Decimal) -> Any:
    return int(value) if value == int(value) else tomlkit.parse(f"n = {value:f}")["n"]


def write_changed(
    survey: Survey,
    path: Path,
    changes: Sequence[Change],
    to: Path,
    *,
    force: bool = False,
    read: Mapping[Path, str] | None = None,
) -> None:
    """Write a scenario file again with changes made; comments, order, line ends and a byte order mark stay.

    Hardware files and lists that it names relative to itself are named relative to the new place.

    Parameters
    ----------
    survey, changes
        What was planned, and what is to be otherwise.
    path
        The scenario file.
    to
        Where the changed one is written.
    force
        Replace a scenario that is there.
    read
        Files that are never written to, each with what it is.

    Raises
    ------
    OSError
        If the file cannot be read or written, is there already without `force`, or if a change is one of a list.
    """
    old = path.read_bytes().decode("utf-8")
    mark = MARK if old.startswith(MARK) else ""
    document = tomlkit.parse(old.removeprefix(MARK).replace("\r\n", "\n"))
    _see_that_it_is_there(survey, document, changes, to)
    apply(survey, document, changes, _number)
    here, there = path.parent.resolve(), to.parent.resolve()
    if here != there:
        rooms = [document, *document.get("room", [])]
        named = [(document["hardware"], n) for n in range(len(document["hardware"]))]
        for names, key in [*named, *((room, "needs_from") for room in rooms if "needs_from" in room)]:
            if not Path(str(names[key])).is_absolute():
                names[key] = _seen_from(beside(here / path.name, str(names[key])), there)
    new = _with_line_ends(tomlkit.dumps(document), old.removeprefix(MARK))
    write_whole(to, mark + new, force, read=read, foreign=no_scenario)


def _see_that_it_is_there(survey: Survey, document: Document, changes: Sequence[Change], to: Path) -> None:
    """Needs of a list are no part of the scenario's file, and a list has no lines that could be dropped unasked."""
    room = room_in(survey, document)
    for change in changes:
        table, index = ["", "", *change.wish.path(survey)][-3:-1]
        if table == "need" and isinstance(index, int) and index >= len(room.get("need", [])):
            need = next(need for need in survey.needs if need.index == index)
            text = f"is not written, since the change is one of {quote(need.name)} in {room['needs_from']}: do it there"
            if change.wish.unit == "channels":
                lines = f"{change.amount} line{'' if change.amount == 1 else 's'} of {quote(need.name)}"
                text = f"is not written, since the change takes {lines} out of {room['needs_from']}: do it there"
            raise OSError(errno.EINVAL, text, str(to))


def _with_line_ends(new: str, old: str) -> str:
    """A text whose lines end as they did in an older one; lines that were not in it end as most did."""
    ends = old.count("\r\n")
    if not ends:
        return new
    before = old.split("\n")
    after = new.split("\n")
    most = "\r" if 2 * ends >= old.count("\n") else ""
    bare = [line.removesuffix("\r") for line in before]
    ended = [most] * len(after)
    for block in difflib.SequenceMatcher(None, bare, after, autojunk=False).get_matching_blocks():
        for n in range(block.size):
            ended[block.b + n] = "\r" if before[block.a + n].endswith("\r") else ""
    return "\n".join(line + end for line, end in zip(after[:-1], ended, strict=False)) + "\n" + after[-1]


def _seen_from(target: Path, folder: Path) -> str:
    try:
        seen = Path(os.path.relpath(target.resolve(), folder))
    except ValueError:  # another drive
        seen = target.resolve()
    try:
        return os.fsencode(seen.as_posix()).decode()
    except UnicodeDecodeError as error:
        raise OSError(errno.EILSEQ, "has a name that no scenario can have: it is not UTF-8", str(target)) from error
