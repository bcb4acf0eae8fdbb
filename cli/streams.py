"""Standard output and error that may be closed, full, or too poor for a letter."""

from __future__ import annotations

import codecs
import io
import os
import sys
from typing import Any, TextIO

PLAIN = "plain-ascii"
"""Another name for ASCII: click takes a stream that calls itself ASCII for a mistake, and writes UTF-8 to it."""


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
    codecs.register(_plain)
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
                stream.reconfigure(encoding=_named(stream.encoding), errors="backslashreplace")


def _plain(name: str) -> codecs.CodecInfo | None:
    """The codec of `PLAIN`."""
    if name.replace("_", "-") != PLAIN:
        return None
    ascii = codecs.lookup("ascii")
    return codecs.CodecInfo(
        ascii.encode,
        ascii.decode,
        streamreader=ascii.streamreader,
        streamwriter=ascii.streamwriter,
        incrementalencoder=ascii.incrementalencoder,
        incrementaldecoder=ascii.incrementaldecoder,
        name=PLAIN,
    )


def _named(encoding: str) -> str:
    """An encoding by the name that its stream gets; one that Python has no codec of cannot be that of a stream."""
    return PLAIN if codecs.lookup(encoding).name == "ascii" else encoding


def _wrapped(number: int, stream: TextIO | None) -> io.TextIOWrapper:
    """The same stream over an `Outlet`; a stream that was closed at the start of the process is None."""
    return io.TextIOWrapper(
        io.BufferedWriter(Outlet(number, "w", closefd=False)),
        encoding="utf-8" if stream is None else _named(stream.encoding),
        errors="backslashreplace",
        line_buffering=number == 2 or (stream is not None and stream.isatty()),
    )
