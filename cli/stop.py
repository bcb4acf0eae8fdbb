"""Being stopped: Ctrl-C, SIGTERM and a terminal that hangs up end every command in the same way, at any moment."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import NoReturn, TypeVar

from cli.codes import UNKNOWN

Answer = TypeVar("Answer")

SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")
"""What asks a command to end; a system may lack some, and what a parent process ignores stays ignored."""

WAIT_S = 0.1
"""How soon a search hears that it was asked to end, in seconds."""

READING_S = 0.5
"""What reading files may take before it counts as part of a limit, in seconds that the process runs."""

NO_LONGER_S = 0.6
"""A command whose files are still being read so long after its limit is ended, in seconds that the process runs."""


class Stop:
    """What this process was asked, and what that does at present.

    No exception is raised for a signal: packages that are just being imported may turn it into another one, or into
    none. What must not be cut in the middle is held; everything else can be left where it stands.
    """

    def __init__(self) -> None:
        self.number: int | None = None
        self.times = 0
        self._held = False
        self._watching = False
        self._alarm: threading.Timer | None = None
        self._limited = False

    @property
    def code(self) -> int:
        """The exit code of an interrupted command: 128 and the signal's number, so 130 for Ctrl-C."""
        return 128 + (self.number or signal.SIGINT)

    @property
    def spent_s(self) -> float:
        """What a command has taken from its limit before its search begins, where the process is its own."""
        return max(0.0, time.process_time() - READING_S) if self._watching else 0.0

    def limit(self, seconds: float) -> None:
        """From now on until a search begins, which keeps its limit itself, the process ends soon after its limit."""
        if self._watching:
            self._limited = True
            self._wait(seconds + NO_LONGER_S)

    def _wait(self, seconds: float) -> None:
        self._alarm = threading.Timer(seconds, self._look_again, (time.process_time() + seconds,))
        self._alarm.daemon = True
        self._alarm.start()

    def _look_again(self, due: float) -> None:
        """End the process, unless it was kept waiting by others in the meantime."""
        left = due - time.process_time()
        if self._held or not self._limited:
            return
        if left > 0:
            self._wait(left)
            return
        with suppress(OSError):
            os.write(2, b"the limit ended it before the search could begin\n")
        os._exit(UNKNOWN)

    def _unlimited(self) -> None:
        """The alarm has no more to say, even where it is just looking."""
        self._limited = False
        if self._alarm is not None:
            self._alarm.cancel()

    def watch(self) -> None:
        """From now on a signal ends the process with `code`, unless it is held."""
        self._watching = True
        for number in _known():
            signal.signal(number, self._take)

    def ignore(self) -> None:
        """From now on nothing is heard: the exit code is settled."""
        self._unlimited()
        for number in _known():
            signal.signal(number, signal.SIG_IGN)

    def _take(self, number: int, _: FrameType | None) -> None:
        self.number = self.number or number
        self.times += 1
        if not self._held:
            self._leave()

    def _leave(self) -> NoReturn:
        with suppress(OSError):
            os.write(2, b"interrupted\n")
        os._exit(self.code)

    @contextmanager
    def held(self) -> Iterator[None]:
        """For what must not be cut in the middle: a signal that comes within has its effect at the end."""
        before = self.times
        self._held = True
        try:
            yield
        finally:
            self._held = False
            if self.times > before:
                self._leave()

    def search(self, work: Callable[[], Answer], end: Callable[[], None]) -> tuple[Answer, bool]:
        """Run a search in a thread of its own.

        Parameters
        ----------
        work
            The search.
        end
            Makes it come back soon with the best so far; called again and again after a first signal, since a solver
            that has yet to begin does not hear it.

        Returns
        -------
        tuple
            The answer, and whether it was interrupted.

        A second signal before the search is back ends the process without an answer.
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

        self._held = True
        self._unlimited()
        try:
            threading.Thread(target=run).start()
            while not ended.wait(WAIT_S):
                if self.times:
                    end()
                if self.times > 1:
                    self._leave()
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
