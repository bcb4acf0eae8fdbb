"""The best seating for several kinds of day, criterion by criterion, or the kinds of day that cannot share one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from solver.fitted.standing import Standing
from solver.judge import audit, criteria
from solver.room.setups import Setups
from solver.search.days.model import SHARED, DaysModel
from solver.search.model.cpsat import cp_model
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.standing import as_stands, kept_as_before
from solver.search.solve.stepwise import Latest, smallest_clash


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
    latest: Latest[DaysModel] = Latest(clock)
    try:
        if clock.step(partial(_search, setups, latest)):
            some = partial(_some_days, setups)
            return DaysPlan("impossible", clash=smallest_clash(range(len(setups.days)), some, clock))
    except Stopped:
        pass
    best = latest.audited(partial(_audited, setups))
    return DaysPlan("unknown") if best is None else DaysPlan("found", best)


def _search(setups: Setups, latest: Latest[DaysModel]) -> bool:
    """Settle criterion by criterion; whether nothing can be built at all."""
    room = DaysModel(setups)
    status = latest.begin(room)
    if status in ("proven", "found"):
        latest.settle(room, setups.first, setups.first.rank, room.asked)
        latest.first(room, room.ties())
    return status == "none"


def _some_days(setups: Setups, places: list[int]) -> DaysModel:
    return DaysModel(replace(setups, days=tuple(setups.days[n] for n in places)))


def _audited(setups: Setups, latest: Latest[DaysModel], room: DaysModel, solver: cp_model.CpSolver) -> Planned:
    seatings = room.seatings(solver)
    standings = [as_stands(day.survey, own) for day, own in zip(setups.days, seatings, strict=True)]
    following = range(1, len(standings))
    for index in (*following, 0, *following) if following else ():
        survey, seating = setups.days[index].survey, seatings[index]
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
