"""The best way to buy in phases, criterion by criterion, or why there is none."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from solver.fitted.standing import Standing, build_of
from solver.judge import audit, criteria
from solver.judge.phases import broken
from solver.room.phases import Bought, Phases
from solver.search.model.cpsat import cp_model
from solver.search.model.seating import Seating
from solver.search.model.services import expression
from solver.search.phases.model import PhasesModel
from solver.search.solve.clock import Clock, Outcome, SearchError, Stopped
from solver.search.solve.solving import hint, solve
from solver.search.solve.standing import as_stands, kept_as_before


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


@dataclass
class Latest:
    """The last answer of a search: seatings and orders, and what is proven of it."""

    seatings: list[Seating] = field(default_factory=list)
    bought: list[Bought] = field(default_factory=list)
    proven: dict[str, bool] = field(default_factory=dict)
    values: dict[str, int] = field(default_factory=dict)


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
    latest = Latest()
    try:
        if clock.step(partial(_search, phases, clock, latest)):
            return PhasesPlan("impossible", clash=clash_of(phases, clock))
    except Stopped:
        pass
    if not latest.seatings:
        return PhasesPlan("unknown")
    return PhasesPlan("found", audited(phases, latest))


def _search(phases: Phases, clock: Clock, latest: Latest) -> bool:
    """Settle criterion by criterion; whether nothing can be built at all."""
    room = PhasesModel(phases)
    status = found_in(room, solve(room.model, clock, any_will_do=True), latest)
    if status == "none":
        return True
    if status not in ("proven", "found"):
        return False
    settle(room, phases, clock, latest, phases.first.rank)
    return False


def settle(room: PhasesModel, phases: Phases, clock: Clock, latest: Latest, rank: Sequence[str]) -> None:
    """Settle criterion by criterion, and then which of equals is the first."""
    for criterion in rank:
        if criterion == "cooling":
            latest.proven[criterion] = _coolest(room, phases, clock, latest)
            continue
        stages = range(len(room.asked(criterion)))
        each = [least(room, partial(_asked, criterion=criterion, stage=stage), clock, latest) for stage in stages]
        latest.proven[criterion] = all(proven for proven, _ in each)
        latest.values[criterion] = each[-1][1]
    for stage in room.ties():
        least(room, stage, clock, latest)
    for number in room.order():
        least(room, partial(_number, load=number), clock, latest)


def _asked(room: PhasesModel, criterion: str, stage: int) -> Any:
    return room.asked(criterion)[stage]


def _number(_: PhasesModel, load: Any) -> Any:
    return expression(load)


def least(room: PhasesModel, asked: Callable[[PhasesModel], Any], clock: Clock, latest: Latest) -> tuple[bool, int]:
    """Hold a room to the least value of something; whether it is proven, and the value."""
    objective = asked(room)
    if isinstance(objective, int):
        return True, objective
    twin = room.copy()
    twin.model.minimize(objective)
    status, solver = solve(twin.model, clock)
    found_in(twin, (status, solver), latest)
    if status not in ("proven", "found"):
        return False, 0
    value = round(solver.objective_value)
    room.model.add(objective <= value)
    hint(room.model, solver)
    return status == "proven", value


def _coolest(room: PhasesModel, phases: Phases, clock: Clock, latest: Latest) -> bool:
    """Hold a room to the greatest step of cooling that all phases can keep; whether it is proven."""
    survey = phases.first
    steps = [n * survey.step_mk for n in range(1, survey.top_level + 1) if n * survey.step_mk > survey.refuse_mk]
    low, high, proven = -1, len(steps), True
    while low + 1 < high:
        middle = (low + high) // 2
        twin = room.copy()
        twin.keep(steps[middle])
        status, solver = solve(twin.model, clock, any_will_do=True)
        found_in(twin, (status, solver), latest)
        if status in ("proven", "found"):
            low = middle
        else:
            high, proven = middle, proven and status == "none"
    if low >= 0:
        room.keep(steps[low])
    return proven


def found_in(room: PhasesModel, answer: tuple[Outcome, cp_model.CpSolver], latest: Latest) -> Outcome:
    """Keep what a solve found."""
    status, solver = answer
    if status in ("proven", "found"):
        latest.seatings, latest.bought = room.seatings(solver), room.bought(solver)
    return status


def clash_of(phases: Phases, clock: Clock) -> tuple[int, ...]:
    """Phases that cannot be served together, any one less of which can; none where the time was over first."""
    left = list(range(len(phases.stretches)))
    for index in reversed(list(left)):
        fewer = [n for n in left if n != index]
        if not fewer:
            break
        served = _served(phases, fewer, clock)
        if served is None:
            return ()
        left = left if served else fewer
    return tuple(left)


def _served(phases: Phases, among: list[int], clock: Clock) -> bool | None:
    """Whether some of the phases can be served; None where the time was over first."""
    try:
        room = clock.step(partial(PhasesModel, phases, among))
        status, _ = clock.step(partial(solve, room.model, clock, any_will_do=True))
    except Stopped:
        return None
    return {"none": False, "proven": True, "found": True}.get(status)


def audited(phases: Phases, latest: Latest) -> Planned:
    """What a search found, audited phase by phase and all together.

    Raises
    ------
    SearchError
        If that finds a fault, or other figures than were proven.
    """
    surveys = [phases.stocked(at, latest.bought) for at in range(len(phases.stretches))]
    standings: list[Standing] = []
    for survey, seating in zip(surveys, latest.seatings, strict=True):
        standing = as_stands(survey, seating)
        standings.append(kept_as_before(survey, seating, standing, standings[-1]) if standings else standing)
    for survey, standing in zip(surveys, standings, strict=True):
        wrong = audit.faults(survey, standing)
        if wrong:
            raise SearchError(f"the audit refuses a build of the search: {wrong}")
    faults = broken(phases, [build_of(standing) for standing in standings], latest.bought)
    if faults:
        raise SearchError(f"the audit refuses the phases of the search: {faults}")
    found = [criteria.figures(survey, own) for survey, own in zip(surveys, standings, strict=True)]
    rank = phases.first.rank
    proven = {criterion: latest.proven.get(criterion, False) for criterion in rank}
    values = {criterion: over_phases(phases, criterion, found, latest.bought) for criterion in rank}
    for criterion, claimed in latest.values.items():
        if proven[criterion] and values[criterion] != claimed:
            raise SearchError(f"the search proved {criterion} {claimed}, its builds have {values[criterion]}")
    return Planned(tuple(standings), tuple(found), tuple(latest.bought), values, proven)


def over_phases(phases: Phases, criterion: str, found: list[criteria.Figures], bought: list[Bought]) -> int:
    """A criterion over all phases, the lower the better."""
    if criterion == "cost":
        return sum(phases.spent(bought))
    each = [criteria.value(phases.first, own, criterion) for own in found]
    return max(each) if criterion == "cooling" else sum(each)
