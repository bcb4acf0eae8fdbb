"""The best way to buy in phases, criterion by criterion, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Literal

from solver.fitted.standing import Standing, build_of
from solver.judge import audit, criteria
from solver.judge.phases import broken
from solver.room.phases import Bought, Phases
from solver.search.model.cpsat import cp_model
from solver.search.phases.model import PhasesModel
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.standing import as_stands, kept_as_before
from solver.search.solve.stepwise import Latest, smallest_clash


@dataclass(frozen=True)
class Planned:
    """How each phase stands, what is ordered in it, and what that comes to over all of them; `proven` by criterion."""

    standings: tuple[Standing, ...]
    figures: tuple[criteria.Figures, ...]
    bought: tuple[Bought, ...]
    values: dict[str, int]
    proven: dict[str, bool]


@dataclass(frozen=True)
class PhasesPlan:
    """What was found. `clash` has the places of phases that cannot be served together, any one less of which can.

    It has none where the time was over before that was proven.
    """

    outcome: Literal["found", "impossible", "unknown"]
    best: Planned | None = None
    clash: tuple[int, ...] = ()


def plan_phases(phases: Phases, clock: Clock) -> PhasesPlan:
    """Search the best way to buy in phases.

    The criteria come in the scenario's order: cost and what is not used are added up over the phases, cooling is that
    of the phase where there is least. Among equals fewer cards leave their slot, fewer frames are set otherwise, less
    is spent early, there are fewer cards, and it is the first in order of slots, cards and settings.

    Raises
    ------
    SearchError
        If the audit refuses what the search found or finds other figures: a defect.
    """
    latest: Latest[PhasesModel] = Latest(clock)
    try:
        if clock.step(partial(_search, phases, latest)):
            return PhasesPlan("impossible", clash=clash_of(phases, clock))
    except Stopped:
        pass
    best = latest.audited(partial(audited, phases))
    return PhasesPlan("unknown") if best is None else PhasesPlan("found", best)


def _search(phases: Phases, latest: Latest[PhasesModel]) -> bool:
    """Settle criterion by criterion; whether nothing can be built at all."""
    room = PhasesModel(phases)
    status = latest.begin(room)
    if status in ("proven", "found"):
        latest.settle(room, phases.first, phases.first.rank, room.asked)
        latest.first(room, room.ties())
    return status == "none"


def clash_of(phases: Phases, clock: Clock) -> tuple[int, ...]:
    """Phases that cannot be served together, any one less of which can; none where the time was over first."""
    return smallest_clash(reversed(range(len(phases.stretches))), partial(PhasesModel, phases), clock)


def audited(phases: Phases, latest: Latest[PhasesModel], room: PhasesModel, solver: cp_model.CpSolver) -> Planned:
    """What a search found, audited phase by phase and all together.

    Raises
    ------
    SearchError
        If that finds a fault, or other figures than were proven.
    """
    seatings, bought = room.seatings(solver), room.bought(solver)
    surveys = [phases.stocked(at, bought) for at in range(len(phases.stretches))]
    standings: list[Standing] = []
    for survey, seating in zip(surveys, seatings, strict=True):
        standing = as_stands(survey, seating)
        standings.append(kept_as_before(survey, seating, standing, standings[-1]) if standings else standing)
    for survey, standing in zip(surveys, standings, strict=True):
        wrong = audit.faults(survey, standing)
        if wrong:
            raise SearchError(f"the audit refuses a build of the search: {wrong}")
    faults = broken(phases, [build_of(standing) for standing in standings], bought)
    if faults:
        raise SearchError(f"the audit refuses the phases of the search: {faults}")
    found = [criteria.figures(survey, own) for survey, own in zip(surveys, standings, strict=True)]
    rank = phases.first.rank
    proven = {criterion: latest.proven.get(criterion, False) for criterion in rank}
    values = {criterion: over_phases(phases, criterion, found, bought) for criterion in rank}
    for criterion, claimed in latest.values.items():
        if proven[criterion] and values[criterion] != claimed:
            raise SearchError(f"the search proved {criterion} {claimed}, its builds have {values[criterion]}")
    return Planned(tuple(standings), tuple(found), tuple(bought), values, proven)


def over_phases(phases: Phases, criterion: str, found: list[criteria.Figures], bought: list[Bought]) -> int:
    """A criterion over all phases, the lower the better."""
    if criterion == "cost":
        return sum(phases.spent(bought))
    each = [criteria.value(phases.first, own, criterion) for own in found]
    return max(each) if criterion == "cooling" else sum(each)
