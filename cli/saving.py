"""Files that a command writes: never one that it has read, never over one of another kind."""

from __future__ import annotations

import errno
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.stop import stop

if TYPE_CHECKING:
    from solver.files.reading import Loaded
    from solver.reports.pack import Manifest
    from solver.room.build import Build

READ = "strapwork.read"
"""Where the command's context keeps what it has read."""

WRITTEN = "strapwork.written"
"""Where it keeps what it is going to write."""

DUMP_HEADER = "# A model of the search, as --dump-model writes it."


class NotSaved(click.ClickException):
    """The answer is out, and a file that was to be written with it is not."""


def has_read(files: Mapping[Path, str]) -> None:
    """Keep in mind what this command has read, each with what it is to it: it is never written to."""
    click.get_current_context().meta.setdefault(READ, {}).update(files)


def check_build(path: Path, force: bool) -> None:
    """See that a build file may be written, before the search; call it when the command's files have been read.

    Raises
    ------
    OSError
        As `solver.files.writing.check_target`.
    """
    from solver.files.kinds import no_build
    from solver.files.writing import check_target

    check_target(path, force, read=read(), foreign=no_build)
    _once(path, "a build")


def one_of(count: int, show: int | None, what: str = "build") -> None:
    """See that what --show names is there, where anything was found.

    Raises
    ------
    click.BadParameter
        If it is not.
    """
    if count and show is not None and show > count:
        many = f"there are {count} {what}s" if count > 1 else f"there is one {what}"
        raise click.BadParameter(many, param_hint="--show")


def check_scenario(path: Path, force: bool) -> None:
    """The same for a scenario file."""
    from solver.files.kinds import no_scenario
    from solver.files.writing import check_target

    check_target(path, force, read=read(), foreign=no_scenario)
    _once(path, "a scenario")


def check_dump(path: Path, force: bool) -> None:
    """The same for a model."""
    from solver.files.writing import check_target

    check_target(path, force, read=read(), foreign=no_dump)
    _once(path, "a model")


def check_pack(path: Path, force: bool) -> None:
    """The same for the folder of a pack."""
    from solver.files.folder import check_folder
    from solver.reports.pack import no_pack

    check_folder(path, force, read=read(), foreign=no_pack)


def _once(path: Path, what: str) -> None:
    """Keep in mind what this command is going to write where: one file is not written twice, whatever names it has.

    Raises
    ------
    FileExistsError
        If it would be.
    """
    from solver.files.writing import same_file

    written: dict[Path, str] = click.get_current_context().meta.setdefault(WRITTEN, {})
    for other, first in written.items():
        if same_file(path, other):
            raise FileExistsError(
                errno.EEXIST, f"is where {first} is to be written already; name another file", str(path)
            )
    written[path] = what


def save(build: Build, path: Path, force: bool, loaded: Loaded) -> OSError | None:
    """Write a build file; why it could not be, since what took long to find is shown first."""
    from solver.answers.standing_rooms import questions
    from solver.files.buildfile import write_build

    try:
        with stop.held():
            write_build(build, path, force, read(), questions(loaded, build))
    except OSError as error:
        return error
    return None


def save_scenario(text: str, path: Path, force: bool) -> None:
    """Write a scenario file.

    Raises
    ------
    OSError
        As `solver.files.writing.write_whole`.
    """
    from solver.files.kinds import no_scenario
    from solver.files.writing import write_whole

    write_whole(path, text, force, read=read(), foreign=no_scenario)


def save_pack(path: Path, manifest: Manifest, files: Mapping[str, bytes], force: bool) -> None:
    """Write the folder of a pack, its manifest beside the files.

    Raises
    ------
    FileExistsError, OSError
        As `solver.files.folder.write_folder`.
    """
    from solver.files.folder import write_folder
    from solver.reports.pack import MANIFEST, no_pack

    whole = {**files, MANIFEST: manifest.as_json().encode()}
    write_folder(path, whole, force, read=read(), foreign=no_pack)


def tell(unsaved: OSError | None) -> None:
    """Say that a build was not saved, when the answer is out.

    Raises
    ------
    NotSaved
        If it was not.
    """
    if unsaved is not None:
        raise NotSaved(f"{unsaved.filename}: {unsaved.strerror}")


def no_dump(path: Path) -> str | None:
    """What a file is, if it is no model that was dumped."""
    with path.open("rb") as stream:
        begins = stream.read(len(DUMP_HEADER))
    return None if begins.strip() in (b"", DUMP_HEADER.encode()) else "is no model; --force overwrites models only"


def read() -> dict[Path, str]:
    """What this command has read, each with what it is to it."""
    context = click.get_current_context(silent=True)
    return {} if context is None else context.meta.get(READ, {})
