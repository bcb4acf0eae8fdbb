"""Why the rooms of a campus cannot all be built, and the smallest ways out of what they share.

First the rooms that nothing can be built of even with everything to themselves. Of the others: a smallest set of rooms
that cannot be built together, then a smallest set of what they share that is in their way, both proven by leaving out
one after another. What helps with more of one item, more money or less of one need must touch one of those limits or a
need of one of those rooms, so nothing else is tried; each is lowered to the least amount, and the whole campus is
planned again with it. Needs that are nice to have give way, so that they are in nobody's way and cost nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TypeVar

from solver import rules
from solver.judge.campus import Campus, survey_campus
from solver.relax.document import changed
from solver.room.demand import must_be_met
from solver.room.survey import Offer, Survey
from solver.room.wish import Change, SharedWish, Wish
from solver.search.ask.ranking import rank
from solver.search.campus.planning import RankedCampus, can_be_built, plan_campus
from solver.search.model.options import useful_kinds
from solver.search.solve.clock import Clock, SearchError, Stopped

MOST_WAYS = 9
"""So many ways out are listed; where there are more, the list says so."""

Member = TypeVar("Member")


@dataclass(frozen=True)
class SharedWay:
    """Changes that make all rooms possible together; `room` is the one whose need gives way, if one does.

    `cost` is what the cheapest plan then costs, in minor units; None where that is not proven.
    """

    changes: tuple[Change, ...]
    room: int | None
    cost: int | None


@dataclass(frozen=True)
class CampusClash:
    """Why rooms cannot all be built. Rooms are told by their index in the campus.

    `alone` are impossible even with everything to themselves, as far as `sure` of all rooms. The others can be built
    together where `rest` says so (None: not known). If they cannot, `rooms` are some of them that cannot, and `over`
    is the part of what they share that is in their way, whatever there were of all else: `least` says how many of an
    item each takes at the very least, `cost` what they cost together. `minimal` says that none of `rooms` can be left
    out; of `over` none can, as soon as there are any. `complete` says that every item in stock or on offer of which
    more helps is among `ways`, and so are money and every need.
    """

    alone: tuple[int, ...] = ()
    sure: bool = True
    rest: bool | None = None
    rooms: tuple[int, ...] = ()
    over: tuple[Wish, ...] = ()
    least: Mapping[tuple[int, Wish], int] = field(default_factory=dict)
    cost: int | None = None
    minimal: bool = False
    ways: tuple[SharedWay, ...] = ()
    complete: bool = False


class _Unproven(Exception):
    """A question was left open because the work that it is worth was over, or the time."""


@dataclass
class _Questions:
    """What is asked of a campus; an answer that is not proven raises `_Unproven`."""

    campus: Campus
    clock: Clock
    threads: ThreadPoolExecutor
    workers: int

    def possible(
        self, rooms: Sequence[int], limits: Sequence[Wish] | None = None, campus: Campus | None = None
    ) -> bool:
        """Whether some rooms can be built together; with `limits` no other one of what they share counts."""
        campus = campus or self.campus
        surveys = [campus.rooms[room] for room in rooms]
        if limits is not None:
            surveys = [_lifted(survey, limits) for survey in surveys]
        if not surveys:
            return True
        answer = can_be_built(Campus(tuple(surveys)), self.clock, self.threads)
        if answer is None:
            raise _Unproven
        return answer

    def changed(self, room: int | None, changes: Sequence[Change]) -> Campus:
        """The campus with changes made."""
        survey = self.campus.rooms[room or 0]
        return survey_campus(changed(survey, changes), survey.hardware)

    def helps(self, room: int | None, changes: Sequence[Change], rooms: Sequence[int]) -> bool:
        """Whether some rooms can be built together once changes are made."""
        return self.possible(rooms, campus=self.changed(room, changes))


def _lifted(survey: Survey, limits: Sequence[Wish]) -> Survey:
    """A room with any number of whatever is in stock or on offer, at its price, but for what is a limit."""
    for wish in shared_wishes(survey):
        if wish not in limits:
            survey = wish.lifted(survey)
    return survey


def shared_wishes(survey: Survey) -> list[SharedWish]:
    """The wishes behind what rooms share and cannot have more of: items in stock or on offer, and the budget."""
    there = {*(item for item, n in survey.stock.items() if n), *survey.offers}
    own = [rule.wish(limit) for rule, limit in rules.limits(survey) if rule.shared]  # of a purse, which has no frames
    return [wish for wish in own if isinstance(wish, SharedWish) and (wish.item is None or wish.item in there)]


def smallest(members: Sequence[Member], impossible: Callable[[Sequence[Member]], bool]) -> list[Member]:
    """Some members that are impossible together, none to spare; all of them together must be.

    Each turn finds the fewest of the first members that are impossible with what is kept: the last of those is needed.
    """
    kept: list[Member] = []
    left = list(members)
    while not impossible(kept):
        low, high = 1, len(left)
        while low < high:
            middle = (low + high) // 2
            if impossible([*kept, *left[:middle]]):
                high = middle
            else:
                low = middle + 1
        kept.append(left[low - 1])
        left = left[: low - 1]
    return sorted(kept, key=list(members).index)


def clash_of_rooms(campus: Campus, clock: Clock | None = None, workers: int = 1) -> CampusClash:
    """Explain a campus that has been proven impossible.

    Parameters
    ----------
    clock
        Ends the search early; the answer then says what of it is not proven.
    workers
        Threads over groups of like rooms. The answer does not depend on it.

    Raises
    ------
    SearchError
        If a way out does not make the campus possible: a defect.
    """
    clock = clock or Clock()
    known = [CampusClash(sure=False)]
    with suppress(Stopped, _Unproven):
        clock.step(lambda: _whole(campus, clock, workers, known))
    return known[-1]


def _whole(campus: Campus, clock: Clock, workers: int, known: list[CampusClash]) -> None:
    """Find it all, and tell what is known after every step."""
    with ThreadPoolExecutor(workers) as threads:
        questions = _Questions(campus, clock, threads, workers)
        every = range(len(campus.rooms))
        alone = [room for room in every if not questions.possible([room])]
        others = [room for room in every if room not in alone]
        known.append(CampusClash(tuple(alone)))
        if alone and questions.possible(others):
            known.append(replace(known[-1], rest=True))
            return
        known.append(replace(known[-1], rest=False, rooms=tuple(others)))
        rooms = smallest(others, lambda some: not questions.possible(some))
        known.append(replace(known[-1], rooms=tuple(rooms), minimal=True))
        clock.at = f"{len(rooms)} rooms that clash"
        over = smallest(_usable(campus, rooms), lambda some: not questions.possible(rooms, some))
        known.append(replace(known[-1], over=tuple(over)))
        items = [wish for wish in over if wish.item is not None]
        least = {(room, w): _least(campus.rooms[room], w.item, clock) for room in rooms for w in items if w.item}
        cost = _cost(questions, rooms, items) if len(items) < len(over) else None
        known.append(replace(known[-1], least={at: n for at, n in least.items() if n is not None}, cost=cost))
        _find_ways(questions, known, others)


def _usable(campus: Campus, rooms: Sequence[int]) -> list[Wish]:
    """What some rooms share that any of them could use: the budget first, so that it is what is left out last."""
    items: set[str] = set()
    for room in rooms:
        survey = campus.rooms[room]
        items |= {kind.id for kind in useful_kinds(survey, obtainable_only=False)}
        items |= {part for site in survey.frames for part in (site.chassis.id, *site.chassis.boards)}
    return [wish for wish in shared_wishes(campus.purse) if wish.item is None or wish.item in items]


def _least(survey: Survey, item: str, clock: Clock) -> int | None:
    """How many of an item a room takes at the very least, whatever else there is any number of; None if not known."""
    there = {*(other for other, n in survey.stock.items() if n), *survey.offers}
    free = {other: (Offer(other, int(other == item), None, -1),) for other in there}
    needs = tuple(need for need in survey.needs if not need.nice)
    asked = replace(survey, stock={}, offers=free, budget=None, needs=needs, rank=("cost",), slack={})
    ranking = rank(asked, 1, clock=clock)
    if not ranking.builds or not ranking.builds[0].stages["cost"]:
        return None
    return ranking.builds[0].figures.cost


def _cost(questions: _Questions, rooms: Sequence[int], items: Sequence[Wish]) -> int | None:
    """What some rooms cost at the very least with no limit but some items; None if not known."""
    surveys = [_lifted(survey, items) for survey in questions.campus.rooms]
    with suppress(_Unproven):
        best = _cheapest(questions, Campus(tuple(surveys)), rooms)
        return best.figures.cost if best is not None and best.stages["cost"] else None
    return None


def _find_ways(questions: _Questions, known: list[CampusClash], others: Sequence[int]) -> None:
    """The ways out, as many as are listed."""
    complete = True
    for room, wish in _tried(questions.campus, known, others):
        questions.clock.check()
        try:
            changes = _least_changes(questions, room, wish, known[-1].rooms, others)
            if changes is None:
                continue
            if len(known[-1].ways) == MOST_WAYS:
                return
            way = SharedWay(changes, room, _planned(questions, room, changes, others))
        except _Unproven:
            complete = False
            continue
        known.append(replace(known[-1], ways=(*known[-1].ways, way)))
        questions.clock.at = f"{len(known[-1].ways)} ways out"
    known.append(replace(known[-1], complete=complete))


def _tried(campus: Campus, known: Sequence[CampusClash], others: Sequence[int]) -> Iterator[tuple[int | None, Wish]]:
    """What can touch the clash: the limits that are in the way, and the needs of the rooms that clash.

    Where more money alone does not do because other rooms clash over an item, more of that comes with money.
    """
    found = known[-1]
    for wish in found.over:
        yield None, wish
    if any(wish.unit == "money" for wish in found.over) and not any(
        change.wish.unit == "money" for way in known[-1].ways for change in way.changes[:1]
    ):
        for wish in _usable(campus, others):
            if wish not in found.over:
                yield None, wish
    for room in found.rooms:
        for wish in rules.wishes(campus.rooms[room]):
            if wish.unit == "channels":
                yield room, wish


def _least_changes(
    questions: _Questions, room: int | None, wish: Wish, rooms: Sequence[int], others: Sequence[int]
) -> tuple[Change, ...] | None:
    """A limit or a need changed by the least amount that helps, with more money where it takes that; None if none."""
    campus = questions.campus
    budget = next((own for own in shared_wishes(campus.purse) if own.unit == "money"), None)
    if wish == budget:
        more = Change(wish, _most(campus, wish))
        return _with_money(questions, None, (), wish, others) if questions.helps(None, [more], rooms) else None
    most = wish.most(campus.rooms[room or 0]) if wish.unit == "channels" else _most(campus, wish)
    change = Change(wish, most)
    if questions.helps(room, [change], rooms) and questions.helps(room, [change], others):
        return (Change(wish, _lowest(questions, room, change, (), others)),)
    if budget is None or wish.unit == "channels":
        return None
    also = [Change(budget, _most(campus, budget))]
    if not (questions.helps(room, [change, *also], rooms) and questions.helps(room, [change, *also], others)):
        return None
    change = Change(wish, _lowest(questions, room, change, also, others))
    return _with_money(questions, room, (change,), budget, others)


def _most(campus: Campus, wish: Wish) -> int:
    """How far something that rooms share may give way: for all of them together."""
    return sum(wish.most(survey) for survey in campus.rooms)


def _lowest(
    questions: _Questions, room: int | None, change: Change, also: Sequence[Change], others: Sequence[int]
) -> int:
    """The least amount of a change with which the rooms can be built; its own amount is enough."""
    low, high, middle = 1, change.amount, 1
    while low < high:
        if questions.helps(room, [Change(change.wish, middle), *also], others):
            high = middle
        else:
            low = middle + 1
        middle = (low + high) // 2
    return high


def _with_money(
    questions: _Questions, room: int | None, changes: tuple[Change, ...], budget: Wish, others: Sequence[int]
) -> tuple[Change, ...] | None:
    """Changes with the least more money that they take; None where they do not help.

    Raises
    ------
    _Unproven
        If it is not known how much that is.
    """
    campus = questions.changed(room, changes)
    rich = Campus(tuple(replace(survey, budget=None) for survey in campus.rooms))
    best = _cheapest(questions, rich, others)
    if best is None:
        return None
    if not best.stages["cost"]:
        raise _Unproven
    return (*changes, Change(budget, best.figures.cost - (questions.campus.purse.budget or 0)))


def _planned(questions: _Questions, room: int | None, changes: Sequence[Change], others: Sequence[int]) -> int | None:
    """What the rooms then cost, planned with changes made and audited; None where the least is not proven."""
    best = _cheapest(questions, questions.changed(room, changes), others)
    if best is None:
        raise SearchError(f"the changes {list(changes)} do not make the rooms possible")
    return best.figures.cost if best.stages["cost"] else None


def _cheapest(questions: _Questions, campus: Campus, others: Sequence[int]) -> RankedCampus | None:
    """The cheapest build of some rooms, all that is nice to have left out; None where there is none."""
    surveys = [must_be_met(replace(campus.rooms[room], rank=("cost",), slack={})) for room in others]
    found = plan_campus(Campus(tuple(surveys)), questions.workers, questions.clock)
    if found.outcome == "unknown" or (found.best is None and questions.clock.over):
        raise _Unproven
    return found.best
