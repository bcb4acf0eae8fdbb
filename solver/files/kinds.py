"""What kind of file one is: a scenario, hardware or a build, told by its keys."""

from __future__ import annotations

import os
from itertools import islice
from pathlib import Path
from typing import Any

from solver.files.contents import EMPTY, read_text
from solver.files.parsing import parse
from solver.room.build import Build, BuiltFrame
from solver.room.faults import Fault, near
from solver.room.hardware import Hardware
from solver.room.scenario import Frame, Scenario
from solver.room.words import Noun

MOST_NEIGHBOURS, MOST_NEAR = 2000, 4
"""Names of a folder that are compared with one that is missing, and the likest that are looked into."""

KINDS: tuple[tuple[str, type[Noun], type[Noun] | None], ...] = (
    ("a scenario", Scenario, Frame),
    ("a hardware file", Hardware, None),
    ("a build file", Build, BuiltFrame),
)
"""What a file can be, and what its frames are."""


def no_build(path: Path) -> str | None:
    """What a file is, in words, if it is plainly no build file."""
    return _foreign(path, Build)


def no_scenario(path: Path) -> str | None:
    """What a file is, in words, if it is plainly no scenario."""
    return _foreign(path, Scenario)


def _foreign(path: Path, wanted: type[Noun]) -> str | None:
    """What a file is, if it is not empty and has keys that the kind wanted has not."""
    (name,) = (name for name, model, _ in KINDS if model is wanted)
    only = f"--force overwrites {name.split(' ', 1)[1]}s only"
    text = read_text(str(path), path)
    if isinstance(text, Fault):
        return None if text.message == EMPTY else f"{text.message}; {only}"
    raw = parse(str(path), path)
    if isinstance(raw, Fault):
        return f"is other text; {only}"
    strange = {kind: _strange(raw, model, frame) for kind, model, frame in KINDS}
    if not strange[name] and "format" in raw:
        return None
    least = min(strange, key=lambda kind: strange[kind])
    plain = least != name and 3 * strange[least] <= strange[name] and "format" in raw
    return f"is {least if plain else 'no ' + name.split(' ', 1)[1]}; {only}"


def mistaken(raw: dict[str, Any], wanted: type[Noun]) -> tuple[str, str] | None:
    """What a file plainly is and what it should be, if it is another kind of file than the one wanted."""
    counts = [(_strange(raw, model, frame), model is not wanted, name) for name, model, frame in KINDS]
    mine, _, should = next(count for count in counts if not count[1])
    least, other, name = min(counts)
    return (name, should) if other and 3 * least <= mine else None


def _strange(raw: dict[str, Any], model: type[Noun], frame: type[Noun] | None) -> int:
    """How many keys a kind of file does not have, at the top and in frames."""
    frames = raw.get("frame")
    tables = [table for table in frames if isinstance(table, dict)] if isinstance(frames, list) else []
    inside = {key for table in tables for key in table}
    return len(raw.keys() - model.model_fields.keys()) + (len(inside - frame.model_fields.keys()) if frame else 0)


def neighbour(path: Path, model: type[Noun], written: str) -> str | None:
    """The likest name of a file of the kind wanted, written as the missing one is.

    It may have a name like the missing one's in the same folder, or the same name in a folder below it or in one with
    a like name.
    """
    folder = path.parent
    told = os.path.dirname(written)
    found = [(folder / name, os.path.join(told, name)) for name in near(path.name, _names(folder), MOST_NEAR)]
    if folder.is_dir():
        found += [(folder / name / path.name, os.path.join(told, name, path.name)) for name in _names(folder)]
    elif told:
        others = near(folder.name, _names(folder.parent), MOST_NEAR)
        above = os.path.dirname(told)
        found += [(folder.parent / name / path.name, os.path.join(above, name, path.name)) for name in others]
    return next((name for file, name in found if _is(file, model)), None)


def hardware_in(folder: Path) -> list[Path]:
    """The files of a folder that are plainly hardware files, in order of their names."""
    names = [name for name in _names(folder) if name.endswith(".toml")]
    return [folder / name for name in names if _is(folder / name, Hardware)]


def _names(folder: Path) -> list[str]:
    """Names in a folder, in order; none where it cannot be read."""
    try:
        with os.scandir(folder) as entries:
            return sorted(entry.name for entry in islice(entries, MOST_NEIGHBOURS))
    except OSError:
        return []


def _is(path: Path, model: type[Noun]) -> bool:
    """Whether a file can be read and is plainly of a kind."""
    if not path.is_file():
        return False
    raw = parse(str(path), path)
    return not isinstance(raw, Fault) and "format" in raw and mistaken(raw, model) is None
