"""Being stopped: Ctrl-C, SIGTERM and a terminal that hangs up end every command in the same way, at any moment."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TypeVar

Answer = TypeVar("Answer")

SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")
"""What asks a command to end; a system may lack some, and what a parent process ignores stays ignored."""

WAIT_S = 0.1
"""How soon a search hears that it was asked to end, in seconds."""


class Stop:
    """What this process was asked, and what that does at present."""

    def __init__(self) -> None:
        self.number: int | None = None
        self.times = 0
        self._held = False

    @property
    def code(self) -> int:
        """The exit code of an interrupted command: 128 and the signal's number, so 130 for Ctrl-C."""
        return 128 + (self.number or signal.SIGINT)

    def watch(self) -> None:
        """From now on a signal raises `KeyboardInterrupt`, unless it is held."""
        for number in _known():
            signal.signal(number, self._take)

    def ignore(self) -> None:
        """From now on nothing is heard: the exit code is settled."""
        for number in _known():
            signal.signal(number, signal.SIG_IGN)

    def _take(self, number: int, _: FrameType | None) -> None:
        self.number = self.number or number
        self.times += 1
        if not self._held:
            raise KeyboardInterrupt

    @contextmanager
    def held(self) -> Iterator[None]:
        """For what must not be cut in the middle: a signal that comes within is raised at the end."""
        before = self.times
        self._held = True
        try:
            yield
        finally:
            self._held = False
        if self.times > before:
            raise KeyboardInterrupt

    def search(self, work: Callable[[], Answer], end: Callable[[], None]) -> tuple[Answer, bool]:
        """Run a search in a thread of its own.

        Parameters
        ----------
        work
            The search.
        end
            Makes it come back soon with the best so far; called once, when a first signal comes.

        Returns
        -------
        tuple
            The answer, and whether it was interrupted.

        Raises
        ------
        KeyboardInterrupt
            When a second signal comes before the search is back; it is left running, and the process has to end.
        """
        answers: list[Answer] = []
        errors: list[BaseException] = []
        ended = threading.Event()

        def run() -> None:
            try:
                answers.append(work())
            except BaseException as error:
                errors.append(error)
            finally:
                ended.set()

        told = False
        self._held = True
        try:
            threading.Thread(target=run, daemon=True).start()
            while not ended.wait(WAIT_S):
                if self.times and not told:
                    told = True
                    end()
                if self.times > 1:
                    raise KeyboardInterrupt
        finally:
            self._held = False
        if errors:
            raise errors[0]
        return answers[0], self.times > 0


def _known() -> list[signal.Signals]:
    known = [signal.Signals[name] for name in SIGNALS if hasattr(signal, name)]
    return [number for number in known if signal.getsignal(number) is not signal.SIG_IGN]


stop = Stop()
"""The one of this process."""
