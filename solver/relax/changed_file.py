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

from solver.files.reading import beside, no_scenario
from solver.files.writing import write_whole
from solver.relax.document import apply
from solver.room.survey import Survey
from solver.room.wish import Change

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

    Hardware files that it names relative to itself are named relative to the new place.

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
        If the file cannot be read or written, or is there already without `force`.
    """
    old = path.read_bytes().decode("utf-8")
    mark = MARK if old.startswith(MARK) else ""
    document = tomlkit.parse(old.removeprefix(MARK).replace("\r\n", "\n"))
    apply(survey, document, changes, _number)
    here, there = path.parent.resolve(), to.parent.resolve()
    if here != there:
        for n, name in enumerate(document["hardware"]):
            if not Path(str(name)).is_absolute():
                document["hardware"][n] = _seen_from(beside(here / path.name, str(name)), there)
    new = _with_line_ends(tomlkit.dumps(document), old.removeprefix(MARK))
    write_whole(to, mark + new, force, read=read, foreign=no_scenario)


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
