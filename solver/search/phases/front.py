"""What more money in the first phase saves: the ways to buy that no other beats in both costs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Literal

from solver.room.phases import Phases
from solver.search.phases.model import PhasesModel
from solver.search.phases.planning import Latest, Planned, audited, clash_of, found_in, least, settle
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.solving import solve

MOST_TRADES = 20
"""So many ways to buy are listed at most."""


@dataclass(frozen=True)
class PhasesFront:
    """Ways to buy, the dearest in all first; `complete` where it is proven that none is missing."""

    outcome: Literal["found", "impossible", "unknown"]
    trades: tuple[Planned, ...] = ()
    complete: bool = False
    clash: tuple[int, ...] = ()


def front_of(phases: Phases, clock: Clock) -> PhasesFront:
    """Find every least cost of all phases together that goes with a cost of the first one.

    Raises
    ------
    SearchError
        If the audit refuses what the search found: a defect.
    """
    found: list[Latest] = []
    outcome: Literal["found", "impossible", "unknown"] = "unknown"
    complete = False
    try:
        outcome = clock.step(partial(_search, phases, clock, found))
        complete = outcome != "unknown"
    except Stopped:
        pass
    if found:
        outcome = "found"
    if outcome == "impossible":
        return PhasesFront(outcome, complete=True, clash=clash_of(phases, clock))
    return PhasesFront(outcome, tuple(audited(phases, own) for own in reversed(found)), complete)


def _search(phases: Phases, clock: Clock, found: list[Latest]) -> Literal["found", "impossible", "unknown"]:
    """Ask for the least of all, then with less and less in the first phase; whether none is missing."""
    room = PhasesModel(phases)
    while len(found) < MOST_TRADES:
        own, latest = room.copy(), Latest()
        status, _ = answer = solve(own.model, clock, any_will_do=True)
        if status == "none":
            return "found" if found else "impossible"
        found_in(own, answer, latest)
        total, _ = least(own, PhasesModel.total, clock, latest)
        first, cost = least(own, partial(PhasesModel.spent_in, at=0), clock, latest)
        if not (total and first):
            return "unknown"
        latest.proven["cost"] = True
        settle(own, phases, clock, latest, [name for name in phases.first.rank if name != "cost"])
        found.append(latest)
        if not cost:
            return "found"
        room.model.add(room.spent_in(0) <= cost - 1)
    return "unknown"
