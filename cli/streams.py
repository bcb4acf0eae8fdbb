"""Standard output and error that may be closed, full, or too poor for a letter."""

from __future__ import annotations

import io
import os
import sys
from typing import Any, TextIO


class Outlet(io.FileIO):
    """A stream's file; once its reader has gone, what is written goes nowhere and nobody is troubled.

    Any other failure is raised once from standard output, so that the command can say it; standard error has nowhere
    to say it.
    """

    def write(self, data: Any) -> int:
        """Write, or let go."""
        try:
            return super().write(data)
        except OSError as error:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, self.fileno())
            os.close(nowhere)
            if self.fileno() != 2 and not isinstance(error, BrokenPipeError):
                raise
            return memoryview(data).nbytes


def guard() -> None:
    """Make the standard streams safe to write to: call once, before anything is written.

    A stream that is closed leads nowhere from then on, and its number cannot become that of a file. A letter that the
    stream's encoding lacks is written as its code, ``\\u03a9``.
    """
    if os.name == "posix":
        for number in range(3):
            try:
                os.fstat(number)
            except OSError:
                os.open(os.devnull, os.O_RDWR)  # the lowest number that is free, which is this one
        sys.stdout = _wrapped(1, sys.stdout)
        sys.stderr = _wrapped(2, sys.stderr)
    else:
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")


def _wrapped(number: int, stream: TextIO | None) -> io.TextIOWrapper:
    """The same stream over an `Outlet`; a stream that was closed at the start of the process is None."""
    return io.TextIOWrapper(
        io.BufferedWriter(Outlet(number, "w", closefd=False)),
        encoding="utf-8" if stream is None else stream.encoding,
        errors="backslashreplace",
        line_buffering=number == 2 or (stream is not None and stream.isatty()),
    )
