"""When a search ends, and what it means when it goes wrong."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Literal, TypeAlias, TypeVar

from solver.room.errors import StrapworkError
from solver.search.model.cpsat import cp_model

Outcome: TypeAlias = Literal["proven", "found", "none", "open", "late"]

Found = TypeVar("Found")

GRACE_S = 0.3
"""How long a step of a search may go on when the clock is over, in seconds: solvers take a while to end."""

TURN_S = 0.05
"""How often it is looked whether a step has to be left, in seconds."""


class Stopped(Exception):
    """The clock was over before a step of a search had ended."""


class SearchError(StrapworkError):
    """The search and the audit disagree: a defect of this program, never of the files.

    `model` is the one that shows it, if it is known.
    """

    def __init__(self, message: str, model: cp_model.CpModel | None = None) -> None:
        super().__init__(message)
        self.model = model


class Clock:
    """When to stop: at a deadline, or when somebody asks. Safe to use from several threads."""

    def __init__(self, limit_s: float | None = None) -> None:
        self._deadline = None if limit_s is None else time.monotonic() + limit_s
        self.model: cp_model.CpModel | None = None
        """The model solved last: what to look at when a search goes wrong."""
        self.at = "searching"
        """Where the search is, in words for those who wait."""
        self._stopped = threading.Event()
        self._steps = threading.local()
        self._solvers: set[cp_model.CpSolver] = set()
        self._lock = threading.Lock()

    def stop(self) -> None:
        """End every running solve with what it has."""
        self._stopped.set()
        with self._lock:
            for solver in self._solvers:
                solver.stop_search()

    @property
    def remaining_s(self) -> float | None:
        """Seconds left, None for no limit."""
        return None if self._deadline is None else max(0.0, self._deadline - time.monotonic())

    @property
    def over(self) -> bool:
        """Whether the search has to end."""
        return self._stopped.is_set() or self.remaining_s == 0.0

    def check(self) -> None:
        """For work that takes long by itself, such as stating a large model: end it when the clock is over.

        Raises
        ------
        Stopped
            Then.
        """
        if self.over:
            raise Stopped

    def step(self, work: Callable[[], Found]) -> Found:
        """Do something that may not hear the clock, as a solver that loads a large model does not.

        It runs in a thread of its own and is left behind there when it is not back soon after the clock is over. What
        it is to keep for that case it must keep elsewhere.

        Raises
        ------
        Stopped
            If it was left, or said so itself.
        """
        if getattr(self._steps, "inside", False):
            return work()
        found: list[Found] = []
        errors: list[BaseException] = []
        ended = threading.Event()

        def run() -> None:
            self._steps.inside = True
            try:
                found.append(work())
            except BaseException as error:
                errors.append(error)
            finally:
                ended.set()

        threading.Thread(target=run, daemon=True).start()
        over_at: float | None = None
        while not ended.wait(TURN_S):
            if self.over:
                now = time.monotonic()
                over_at = over_at or now
                if now - over_at > GRACE_S:
                    raise Stopped
        if errors:
            raise errors[0]
        return found[0]

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> Outcome:
        """Solve within the time left: `late` where none was left to begin with."""
        if self.over:
            return "late"
        self.model = model
        if self.remaining_s is not None:
            solver.parameters.max_time_in_seconds = self.remaining_s
        with self._lock:
            self._solvers.add(solver)
        try:
            status = solver.solve(model)
        finally:
            with self._lock:
                self._solvers.discard(solver)
        if status == cp_model.OPTIMAL:
            return "proven"
        if status == cp_model.INFEASIBLE:
            return "none"
        if status == cp_model.FEASIBLE:
            return "found"
        if status == cp_model.MODEL_INVALID:
            raise SearchError(model.validate(), model)
        return "open"
