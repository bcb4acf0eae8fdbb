"""What alone makes phases possible that are not: more money in one of them, fewer channels, cards that may move."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from functools import partial

from solver.room.demand import asking
from solver.room.phases import Phases
from solver.room.survey import Need
from solver.search.phases.model import Budget, PhasesModel
from solver.search.solve.clock import Clock, Stopped
from solver.search.solve.solving import solve


@dataclass(frozen=True)
class MoreMoney:
    """Budgets that are exceeded by so much, in minor units, the least in all; by the place of their phases."""

    more: tuple[tuple[Budget, int], ...]


@dataclass(frozen=True)
class FewerChannels:
    """A need that asks for so many channels less in every phase, which is the least that helps."""

    need: Need
    amount: int


@dataclass(frozen=True)
class MayMove:
    """Cards may leave their slot once."""


Way = MoreMoney | FewerChannels | MayMove


def ways_out(phases: Phases, clock: Clock) -> tuple[list[Way], bool]:
    """Each change that makes the phases possible by itself, and whether all that there are were tried.

    Where no budget alone helps, all of them together are one.
    """
    found: list[Way] = []
    try:
        for way in _ways(phases, clock):
            found.append(way)
    except Stopped:
        return found, False
    return found, True


def _ways(phases: Phases, clock: Clock) -> Iterator[Way]:
    given: list[Budget] = [at for at, stretch in enumerate(phases.stretches) if stretch.budget is not None]
    given += [] if phases.budget is None else [None]
    alone = [way for budget in given if (way := _more_money(phases, [budget], clock)) is not None]
    yield from alone
    if not alone and len(given) > 1 and (way := _more_money(phases, given, clock)) is not None:
        yield way
    needs = {need.name: need for stretch in phases.stretches for need in stretch.survey.needs}
    for _, need in sorted(needs.items()):
        amount = _fewer(phases, need, clock)
        if amount is not None:
            yield FewerChannels(need, amount)
    if phases.moves == "never" and _possible(replace(phases, moves="once"), clock):
        yield MayMove()


def _more_money(phases: Phases, budgets: Collection[Budget], clock: Clock) -> MoreMoney | None:
    """The least that some budgets have to be exceeded by in all."""
    room = clock.step(partial(PhasesModel, phases, lifted=budgets))
    room.model.minimize(sum(room.more.values()))
    status, solver = clock.step(partial(solve, room.model, clock))
    _settled(status)
    if status == "none":
        return None
    more = [(budget, solver.value(term)) for budget, term in room.more.items()]
    return MoreMoney(tuple((budget, amount) for budget, amount in more if amount))


def _fewer(phases: Phases, need: Need, clock: Clock) -> int | None:
    """By how few channels less a need has to ask that there are builds; None where giving it up does not help."""
    if need.wanted is not None or not _possible(_asking(phases, need, 0), clock):
        return None
    low, high = 0, need.demand
    while low + 1 < high:
        middle = (low + high) // 2
        if _possible(_asking(phases, need, need.demand - middle), clock):
            high = middle
        else:
            low = middle
    return high


def _asking(phases: Phases, need: Need, channels: int) -> Phases:
    stretches = tuple(
        replace(stretch, survey=asking(stretch.survey, own, channels))
        if (own := next((each for each in stretch.survey.needs if each.name == need.name), None))
        else stretch
        for stretch in phases.stretches
    )
    return replace(phases, stretches=stretches)


def _possible(phases: Phases, clock: Clock) -> bool:
    room = clock.step(partial(PhasesModel, phases))
    status, _ = clock.step(partial(solve, room.model, clock, any_will_do=True))
    _settled(status)
    return status != "none"


def _settled(status: str) -> None:
    if status not in ("proven", "found", "none"):
        raise Stopped
