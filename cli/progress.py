"""A line on stderr that says how far a long search is."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from typing import Self

import click

QUIET_S = 1.0
"""Searches that end within so many seconds say nothing."""

TURN_S = 0.2
"""How often the line is written anew, in seconds."""


class Meter:
    """Where a search is and the seconds since its start, on a terminal and nowhere else.

    Parameters
    ----------
    at
        Says where the search is.
    """

    def __init__(self, at: Callable[[], str]) -> None:
        self._at = at
        self._start = time.monotonic()
        self._width = 0
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def _run(self) -> None:
        while not self._ended.wait(TURN_S):
            seconds = time.monotonic() - self._start
            if seconds >= QUIET_S:
                line = f"{self._at()}, {seconds:.0f} s"
                click.echo(f"\r{line:<{self._width}}", nl=False, err=True)
                self._width = len(line)

    def __enter__(self) -> Self:
        if sys.stderr.isatty():
            self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join()
        if self._width:
            click.echo(f"\r{'':<{self._width}}\r", nl=False, err=True)
