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
    """The stage of a search with its best value, its bound and the time, on a terminal and nowhere else.

    Parameters
    ----------
    worded
        A stage's value as people read it.
    """

    def __init__(self, worded: Callable[[str, int], str]) -> None:
        self._worded = worded
        self._start = time.monotonic()
        self._latest: tuple[str, int | None, int | None] | None = None
        self._width = 0
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def note(self, stage: str, best: int | None, bound: int | None) -> None:
        """Take down where the search is; called by the search's own thread."""
        before = self._latest
        if best is None and before is not None and before[0] == stage:
            best = before[1]
        self._latest = (stage, best, bound)

    def line(self) -> str:
        """Stage, best, bound and seconds since the start."""
        stage, best, bound = self._latest or ("start", None, None)
        said = [stage]
        said += [] if best is None else [f"best {self._worded(stage, best)}"]
        said += [] if bound is None else [f"bound {self._worded(stage, bound)}"]
        return f"{', '.join(said)}, {time.monotonic() - self._start:.0f} s"

    def _run(self) -> None:
        while not self._ended.wait(TURN_S):
            if time.monotonic() - self._start >= QUIET_S:
                line = self.line()
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
