"""A search that Ctrl-C ends with the best so far; shared by the commands that search."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from solver.search.clock import Clock

Answer = TypeVar("Answer")

OUTCOMES = {"found": 0, "impossible": 1, "unknown": 3}
"""Exit codes by what a search that was not interrupted came to."""


def search(ask: Callable[[Clock], Answer], limit_s: float | None) -> tuple[Answer, bool]:
    """Ask in a thread, under a clock that Ctrl-C stops; the answer, and whether it was stopped."""
    from solver.search.clock import Clock

    clock = Clock(limit_s)
    answers: list[Answer] = []
    errors: list[BaseException] = []
    ended = threading.Event()

    def work() -> None:
        try:
            answers.append(ask(clock))
        except BaseException as error:
            errors.append(error)
        finally:
            ended.set()

    thread = threading.Thread(target=work)
    thread.start()
    interrupted = False
    while not ended.is_set():
        try:
            ended.wait(0.2)
        except KeyboardInterrupt:
            interrupted = True
            clock.stop()
    if errors:
        raise errors[0]
    return answers[0], interrupted
