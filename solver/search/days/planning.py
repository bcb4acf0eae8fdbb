"""The best seating for several kinds of day, criterion by criterion, or the kinds of day that cannot share one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any, Literal

from solver.fitted.standing import Standing
from solver.judge import audit, criteria
from solver.room.setups import Setups
from solver.rules.limit import Load
from solver.search.days.model import SHARED, DaysModel
from solver.search.model.cpsat import cp_model
from solver.search.model.seating import Seating
from solver.search.model.services import expression
from solver.search.solve.clock import Clock, Outcome, SearchError, Stopped
from solver.search.solve.solving import solve
from solver.search.solve.standing import as_stands, kept_as_before


@dataclass(frozen=True)
class Planned:
    """One seating, how it stands on each kind of day, and what it comes to over them; `proven` by criterion."""

    standings: tuple[Standing, ...]
    figures: tuple[criteria.Figures, ...]
    values: dict[str, int]
    proven: dict[str, bool]


@dataclass(frozen=True)
class DaysPlan:
    """`clash` has the places of kinds of day that cannot share a seating, any one less of which could.

    It has none where the time was over before that was proven.
    """

    outcome: Literal["found", "impossible", "unknown"]
    best: Planned | None = None
    clash: tuple[int, ...] = ()


@dataclass
class _Latest:
    seatings: list[Seating] = field(default_factory=list)
    solver: cp_model.CpSolver | None = None
    """Which found them."""
    proven: dict[str, bool] = field(default_factory=dict)


def plan_days(setups: Setups, clock: Clock) -> DaysPlan:
    """Search the seating that is the best over all kinds of day.

    The criteria come in the scenario's order. Cost and cooling are the same on all days; what is not used is added up,
    each as often as the day comes, or counts where it is the most. Among equals fewer frames are set otherwise from
    day to day, then there are fewer cards, then it is the first in order of slots, cards and settings; then numbers and
    settings of cards stay where they can, which is not proven.

    Raises
    ------
    SearchError
        If the audit refuses what the search found or finds other figures: a defect.
    """
    latest = _Latest()
    try:
        impossible = clock.step(partial(_search, setups, clock, latest))
        if impossible:
            return DaysPlan("impossible", clash=_clash(setups, clock))
    except Stopped:
        pass
    if not latest.seatings:
        return DaysPlan("unknown")
    return DaysPlan("found", _audited(setups, latest))


def _search(setups: Setups, clock: Clock, latest: _Latest) -> bool:
    """Settle criterion by criterion; whether nothing can be built at all."""
    room = DaysModel(setups)
    status = _found(room, solve(room.model, clock, any_will_do=True), latest)
    if status == "none":
        return True
    if status not in ("proven", "found"):
        return False
    for criterion in setups.first.rank:
        if criterion == "cooling":
            latest.proven[criterion] = _coolest(room, setups, clock, latest)
            continue
        latest.proven[criterion] = _least(room, partial(DaysModel.asked, criterion=criterion), clock, latest)
    for stage in (DaysModel.changes, DaysModel.least_of_all):
        _least(room, stage, clock, latest)
    for number in room.order():
        _least(room, partial(_number, load=number), clock, latest)
    return False


def _number(_: DaysModel, load: Load) -> Any:
    return expression(load)


def _least(room: DaysModel, asked: Callable[[DaysModel], Any], clock: Clock, latest: _Latest) -> bool:
    """Hold a room to the least value of something, and to no more than is known already; whether it is proven."""
    objective = asked(room)
    if isinstance(objective, int):
        return True
    if latest.solver is not None:
        room.model.add(objective <= latest.solver.value(objective))
    twin = room.copy()
    twin.model.minimize(objective)
    status, solver = solve(twin.model, clock)
    _found(twin, (status, solver), latest)
    if status in ("proven", "found"):
        room.model.add(objective <= round(solver.objective_value))
    return status == "proven"


def _coolest(room: DaysModel, setups: Setups, clock: Clock, latest: _Latest) -> bool:
    """Hold a room to the greatest step of cooling that it can keep; whether it is proven."""
    survey = setups.first
    steps = [n * survey.step_mk for n in range(1, survey.top_level + 1) if n * survey.step_mk > survey.refuse_mk]
    low, high, proven = -1, len(steps), True
    while low + 1 < high:
        middle = (low + high) // 2
        twin = room.copy()
        twin.keep(steps[middle])
        status, solver = solve(twin.model, clock, any_will_do=True)
        _found(twin, (status, solver), latest)
        if status in ("proven", "found"):
            low = middle
        else:
            high, proven = middle, proven and status == "none"
    if low >= 0:
        room.keep(steps[low])
    return proven


def _found(room: DaysModel, answer: tuple[Outcome, cp_model.CpSolver], latest: _Latest) -> Outcome:
    status, solver = answer
    if status in ("proven", "found"):
        latest.seatings, latest.solver = room.seatings(solver), solver
    return status


def _clash(setups: Setups, clock: Clock) -> tuple[int, ...]:
    """Kinds of day that cannot share a seating, any one less of which can; none where the time was over first."""
    left = list(range(len(setups.days)))
    for index in list(left):
        fewer = [n for n in left if n != index]
        if not fewer:
            break
        try:
            room = clock.step(partial(DaysModel, replace(setups, days=tuple(setups.days[n] for n in fewer))))
            status, _ = clock.step(partial(solve, room.model, clock, any_will_do=True))
        except Stopped:
            return ()
        if status == "none":
            left = fewer
        elif status not in ("proven", "found"):
            return ()
    return tuple(left)


def _audited(setups: Setups, latest: _Latest) -> Planned:
    standings = [as_stands(day.survey, own) for day, own in zip(setups.days, latest.seatings, strict=True)]
    following = range(1, len(standings))
    for index in (*following, 0, *following) if following else ():
        survey, seating = setups.days[index].survey, latest.seatings[index]
        standings[index] = kept_as_before(survey, seating, standings[index], standings[index - 1])
    for day, standing in zip(setups.days, standings, strict=True):
        broken = audit.faults(day.survey, standing)
        if broken:
            raise SearchError(f"the audit refuses a build of the search: {day.setup.name}, {broken}")
    found = [criteria.figures(day.survey, own) for day, own in zip(setups.days, standings, strict=True)]
    rank = setups.first.rank
    proven = {criterion: latest.proven.get(criterion, False) for criterion in rank}
    values = {criterion: over_days(setups, criterion, found) for criterion in rank}
    return Planned(tuple(standings), tuple(found), values, proven)


def over_days(setups: Setups, criterion: str, found: list[criteria.Figures]) -> int:
    """A criterion over all kinds of day, the lower the better."""
    each = [criteria.value(day.survey, own, criterion) for day, own in zip(setups.days, found, strict=True)]
    if criterion in SHARED:
        return each[0]
    if setups.over == "worst":
        return max(each)
    return sum(day.setup.share * own for day, own in zip(setups.days, each, strict=True))
