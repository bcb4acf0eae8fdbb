"""A scenario file with changes made, everything else left as it is written."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import tomlkit

from solver.survey import Survey
from solver.wishes import Change, apply
from solver.writing import write_whole


def _number(value: Decimal) -> Any:
    return int(value) if value == int(value) else tomlkit.parse(f"n = {value:f}")["n"]


def write_changed(survey: Survey, path: Path, changes: Sequence[Change], to: Path, *, force: bool = False) -> None:
    """Write a scenario file again with changes made; comments and order stay.

    Hardware files that it names relative to itself are named relative to the new place.

    Raises
    ------
    OSError
        If the file cannot be read or written, or is there already without `force`.
    """
    document = tomlkit.parse(path.read_text(encoding="utf-8-sig"))
    apply(survey, document, changes, _number)
    if to.resolve().parent != path.resolve().parent:
        here = path.resolve().parent
        names = tomlkit.array()
        for name in document["hardware"]:
            names.append(_seen_from(here / str(name), to.resolve().parent))
        document["hardware"] = names
    write_whole(to, tomlkit.dumps(document), force)


def _seen_from(target: Path, folder: Path) -> str:
    import os

    try:
        return Path(os.path.relpath(target.resolve(), folder)).as_posix()
    except ValueError:  # another drive
        return target.resolve().as_posix()
