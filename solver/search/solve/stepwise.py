"""One model of several seatings, settled criterion by criterion: kinds of day on one seating, phases of buying."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Generic, Protocol, TypeVar

from solver.room.survey import Survey
from solver.rules.limit import Load
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.seating import Seating
from solver.search.model.services import expression
from solver.search.solve.clock import Clock, Outcome, Stopped
from solver.search.solve.solving import hint, solve


class Seatings(Protocol):
    """A model of several seatings. Its copies have the same variables."""

    model: Model

    def copy(self) -> Any:
        """The same on a copy of the model."""

    def keep(self, margin_mk: int) -> None:
        """Keep a cooling margin in every seating."""

    def order(self) -> list[Load]:
        """The first of equals, as numbers to be as small as can be."""

    def seatings(self, solver: cp_model.CpSolver) -> list[Seating]:
        """What a solve found."""


Room = TypeVar("Room", bound=Seatings)
Audited = TypeVar("Audited")


@dataclass
class Latest(Generic[Room]):
    """The last answer of a search, whose model it also holds to what is settled; `proven` by criterion.

    `found` is one assignment, so that a search which is left behind in its thread tears nothing apart.
    """

    clock: Clock
    proven: dict[str, bool] = field(default_factory=dict)
    values: dict[str, int] = field(default_factory=dict)
    found: tuple[Room, cp_model.CpSolver] | None = None

    def begin(self, room: Room) -> Outcome:
        """Find anything at all."""
        return self._solve(room, any_will_do=True)[0]

    def least(self, room: Room, objective: Any) -> tuple[bool, int]:
        """Hold a room to the least value of something, and to no more than is known; whether proven, and the value."""
        if isinstance(objective, int):
            return True, objective
        known = None
        if self.found is not None:
            known = self.found[1].value(objective)
            room.model.add(objective <= known)
        twin = room.copy()
        twin.model.minimize(objective)
        status, solver = self._solve(twin)
        if status not in ("proven", "found"):
            return False, known or 0
        value = solver.value(objective)
        room.model.add(objective <= value)
        hint(room.model, solver)
        return status == "proven", value

    def coolest(self, room: Room, survey: Survey) -> bool:
        """Hold a room to the greatest step of cooling that all seatings can keep; whether it is proven."""
        steps = [n * survey.step_mk for n in range(1, survey.top_level + 1) if n * survey.step_mk > survey.refuse_mk]
        low, high, proven = -1, len(steps), True
        while low + 1 < high:
            middle = (low + high) // 2
            twin = room.copy()
            twin.keep(steps[middle])
            status, _ = self._solve(twin, any_will_do=True)
            if status in ("proven", "found"):
                low = middle
            else:
                high, proven = middle, proven and status == "none"
        if low >= 0:
            room.keep(steps[low])
        return proven

    def settle(self, room: Room, survey: Survey, rank: Iterable[str], asked: Callable[[str], Sequence[Any]]) -> None:
        """Settle criterion by criterion; of each, what it asks for, the first first."""
        for criterion in rank:
            if criterion == "cooling":
                self.proven[criterion] = self.coolest(room, survey)
                continue
            each = [self.least(room, objective) for objective in asked(criterion)]
            self.proven[criterion] = all(proven for proven, _ in each)
            self.values[criterion] = each[-1][1]

    def first(self, room: Room, ties: Iterable[Any]) -> None:
        """Settle what breaks ties, and then which of equals is the first."""
        for objective in [*ties, *map(expression, room.order())]:
            self.least(room, objective)

    def audited(self, audit: Callable[[Latest[Room], Room, cp_model.CpSolver], Audited]) -> Audited | None:
        """What was found last, audited; None where nothing was found, or the clock leaves the audit behind."""
        if self.found is None:
            return None
        try:
            return self.clock.step(partial(audit, self, *self.found))
        except Stopped:
            return None

    def _solve(self, room: Room, *, any_will_do: bool = False) -> tuple[Outcome, cp_model.CpSolver]:
        status, solver = solve(room.model, self.clock, any_will_do=any_will_do)
        if status in ("proven", "found"):
            self.found = room, solver
        return status, solver


def smallest_clash(places: Iterable[int], model_of: Callable[[list[int]], Seatings], clock: Clock) -> tuple[int, ...]:
    """Seatings that cannot be had together, any one less of which can; none where the time was over first.

    Those that come first among `places` are left out first.
    """
    left = sorted(places := list(places))
    for index in places:
        fewer = [n for n in left if n != index]
        if not fewer:
            break
        try:
            room = clock.step(partial(model_of, fewer))
            status, _ = clock.step(partial(solve, room.model, clock, any_will_do=True))
        except Stopped:
            return ()
        if status == "none":
            left = fewer
        elif status not in ("proven", "found"):
            return ()
    return tuple(left)
