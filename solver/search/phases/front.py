"""What more money in the first phase saves: the ways to buy that no other beats in both costs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Literal, TypeAlias

from solver.room.phases import Phases
from solver.search.phases.model import PhasesModel
from solver.search.phases.planning import Planned, audited, clash_of
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.stepwise import Latest

_Outcome: TypeAlias = Literal["found", "impossible", "unknown"]

MOST_TRADES = 20
"""So many ways to buy are listed at most."""


@dataclass(frozen=True)
class PhasesFront:
    """Ways to buy, the dearest in all first; `complete` where it is proven that none is missing."""

    outcome: _Outcome
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
    found: list[Latest[PhasesModel]] = []
    outcome: _Outcome = "unknown"
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
    trades = [own.audited(partial(audited, phases)) for own in reversed(found)]
    kept = tuple(trade for trade in trades if trade is not None)
    whole = len(kept) == len(found)
    return PhasesFront(outcome if whole or kept else "unknown", kept, complete and whole)


def _search(phases: Phases, clock: Clock, found: list[Latest[PhasesModel]]) -> _Outcome:
    """Ask for the least of all, then with less and less in the first phase; whether none is missing."""
    room = PhasesModel(phases)
    while len(found) < MOST_TRADES:
        own, latest = room.copy(), Latest[PhasesModel](clock)
        if latest.begin(own) == "none":
            return "found" if found else "impossible"
        total, _ = latest.least(own, own.total())
        first, cost = latest.least(own, own.spent_in(0))
        if not (total and first):
            return "unknown"
        latest.proven["cost"] = True
        latest.settle(own, phases.first, [name for name in phases.first.rank if name != "cost"], own.asked)
        latest.first(own, own.ties())
        found.append(latest)
        if not cost:
            return "found"
        room.model.add(room.spent_in(0) <= cost - 1)
    return "unknown"
