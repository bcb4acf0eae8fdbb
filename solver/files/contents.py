"""What stands in a file, as bytes and as text, or why there is none."""

from __future__ import annotations

import stat
from pathlib import Path

from solver.room.faults import Fault

MOST_BYTES = 500_000
"""Larger files are refused unread."""

EMPTY, MISSING = "is empty", "there is no such file"


def read_bytes(file: str, path: Path) -> bytes | Fault:
    """The bytes of a file, or why there are none.

    Parameters
    ----------
    file
        What messages call it.
    """
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            return Fault(file, (), "is a folder, not a file")
        if not stat.S_ISREG(status.st_mode):
            return Fault(file, (), "is no ordinary file")
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        return Fault(file, (), MISSING)
    except PermissionError:
        return Fault(file, (), "may not be read: permission denied")
    except OSError as error:
        return Fault(file, (), f"cannot be read: {error.strerror or 'unknown reason'}")
    except ValueError:
        return Fault(file, (), "is no name that a file can have")
    if len(data) > MOST_BYTES:
        return Fault(file, (), f"is larger than {MOST_BYTES // 1000} kilobytes")
    return data


def read_text(file: str, path: Path) -> str | Fault:
    """The text of a file in UTF-8, or why there is none."""
    data = read_bytes(file, path)
    if isinstance(data, Fault):
        return data
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        return Fault(file, (), "is not UTF-8 text", f"byte 0x{data[error.start]:02x}", line=line)
    return text if text.strip() else Fault(file, (), EMPTY)
