"""Files written whole or not at all, over nothing that is there unless that is asked for, and never over an input."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import shutil
import stat
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeAlias

Foreign: TypeAlias = Callable[[Path], str | None]
"""What a file is, in words, if it is not of the kind that is to be written; None if it is, or is empty."""


def check_target(
    path: Path, force: bool = False, *, read: Mapping[Path, str] | None = None, foreign: Foreign | None = None
) -> None:
    """See that a file may be written, before much time is spent on what goes into it.

    Parameters
    ----------
    path
        Where to.
    force
        Whether an ordinary file that is there may be replaced.
    read
        Files that are only read, each with what it is: none of them is written to, whatever name leads to it.
    foreign
        What a file there is, if `force` does not replace it either.

    Raises
    ------
    FileExistsError
        If something is there, and `force` is not given, or it is no ordinary file or a foreign one. A link is none:
        it is not followed, since what it leads to was not named, and not replaced.
    PermissionError
        If it is one of those that are only read.
    OSError
        If there is no such folder, or nothing may be written into it.
    """
    for file, what in (read or {}).items():
        if same_file(path, file):
            leads = "" if os.path.abspath(path) == os.path.abspath(file) else f"leads to {file}, which "
            raise PermissionError(errno.EACCES, f"{leads}is {what}: never written to; name another file", str(path))
    if os.path.islink(path):
        raise FileExistsError(errno.EEXIST, "is a link; name the file itself", str(path))
    if os.path.lexists(path):
        if not stat.S_ISREG(path.stat().st_mode):
            raise FileExistsError(errno.EEXIST, "is no ordinary file", str(path))
        other = None if foreign is None else foreign(path)
        if other is not None:
            raise FileExistsError(errno.EEXIST, other, str(path))
        if not force:
            raise FileExistsError(errno.EEXIST, "exists; --force overwrites it", str(path))
    if not path.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "there is no such folder", str(path.parent))
    if not os.access(path.parent, os.W_OK):
        raise PermissionError(errno.EACCES, "nothing may be written into this folder", str(path.parent))


def same_file(one: Path, two: Path) -> bool:
    """Whether two names lead to one file: by links, by other letters or ways, or once that file is gone."""
    if os.path.realpath(one) == os.path.realpath(two):
        return True
    try:
        return os.path.samefile(one, two)
    except OSError:
        return False


def write_whole(
    path: Path,
    text: str,
    force: bool = False,
    *,
    read: Mapping[Path, str] | None = None,
    foreign: Foreign | None = None,
) -> None:
    """Write a UTF-8 text file: afterwards it holds all of the text, or is as it was.

    Parameters
    ----------
    path
        Where to.
    text
        What to write.
    force
        Replace an ordinary file that is there; the new one gets its permissions.
    read, foreign
        As for `check_target`.

    Raises
    ------
    FileExistsError, OSError
        As `check_target`, or if there is no room.
    """
    check_target(path, force, read=read, foreign=foreign)
    draft = path.parent / f".strapwork-{secrets.token_hex(6)}.new"
    try:
        try:
            with draft.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
            if force and path.exists():
                shutil.copymode(path, draft)
            if force:
                os.replace(draft, path)
            else:
                _name(draft, path)
        finally:
            with contextlib.suppress(FileNotFoundError):
                draft.unlink()
    except OSError as error:  # told with the name that was asked for, not the draft's
        raise type(error)(error.errno, error.strerror, str(path)) from error


def _name(draft: Path, path: Path) -> None:
    """Give a draft its name if nothing else got it meanwhile."""
    try:
        os.link(draft, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without a second name for a file
        path.touch(exist_ok=False)
        os.replace(draft, path)
