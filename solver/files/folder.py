"""Folders written whole or not at all, over none that is there unless that is asked for and it is one of the kind."""

from __future__ import annotations

import errno
import os
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path

from solver.files.writing import Foreign, same_file


def check_folder(path: Path, force: bool, *, read: Mapping[Path, str], foreign: Foreign) -> None:
    """See that a folder may be written, before much time is spent on what goes into it.

    Parameters
    ----------
    path
        Where to.
    force
        Whether a folder that is there may be replaced, with all that is in it.
    read
        Files that are only read, each with what it is: a folder that has one of them in it is not replaced.
    foreign
        What a folder there is, if `force` does not replace it either.

    Raises
    ------
    FileExistsError
        If something is there, and `force` is not given, or it is no folder, a link or a foreign one.
    PermissionError
        If it has one of those that are only read in it.
    OSError
        If there is no folder to put it in, or nothing may be written there.
    """
    if os.path.islink(path):
        raise FileExistsError(errno.EEXIST, "is a link; name the folder itself", str(path))
    if os.path.lexists(path):
        if not path.is_dir():
            raise FileExistsError(errno.EEXIST, "is no folder", str(path))
        for file, what in read.items():
            if _within(file, path):
                raise PermissionError(errno.EACCES, f"has {what} in it; name another folder", str(path))
        other = foreign(path)
        if other is not None:
            raise FileExistsError(errno.EEXIST, other, str(path))
        if not force:
            raise FileExistsError(errno.EEXIST, "exists; --force replaces it", str(path))
    parent = path.parent
    if not parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "there is no such folder", str(parent))
    if not os.access(parent, os.W_OK):
        raise PermissionError(errno.EACCES, "nothing may be written into this folder", str(parent))


def _within(file: Path, folder: Path) -> bool:
    return any(same_file(parent, folder) for parent in Path(os.path.realpath(file)).parents)


def write_folder(
    path: Path, files: Mapping[str, bytes], force: bool, *, read: Mapping[Path, str], foreign: Foreign
) -> None:
    """Write a folder: afterwards it has all of the files and no other, or everything is as it was.

    Parameters
    ----------
    files
        What stands in each, by its name in the folder, with slashes.
    path, force, read, foreign
        As for `check_folder`.

    Raises
    ------
    FileExistsError, OSError
        As `check_folder`, or if there is no room.
    """
    check_folder(path, force, read=read, foreign=foreign)
    draft, older = (path.parent / f".strapwork-{secrets.token_hex(6)}.{kind}" for kind in ("new", "old"))
    try:
        try:
            draft.mkdir()
            for name, data in files.items():
                _write(draft / name, data)
            if os.path.lexists(path):
                _exchange(draft, path, older)
            else:
                os.rename(draft, path)
        finally:
            shutil.rmtree(draft, ignore_errors=True)
    except OSError as error:  # told with the name that was asked for, not the draft's
        raise type(error)(error.errno, error.strerror, str(path)) from error


def _exchange(draft: Path, path: Path, older: Path) -> None:
    """Put a folder in the place of another one, which is gone when the new one is there."""
    os.rename(path, older)
    try:
        os.rename(draft, path)
    except OSError:
        os.rename(older, path)
        raise
    shutil.rmtree(older, ignore_errors=True)


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
