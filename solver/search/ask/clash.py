"""Why a scenario is impossible, and the smallest changes that make it possible.

Every wish behind a negotiable limit may give way. The set that means the least work is asked for again and again,
apart from those found, until there are no more: each set is minimal, and none that is left out means less work. How far
each wish of a set has to give way is asked next; where amounts can be traded against each other, all that no other
undercuts are found. A clash is a set of wishes that hits every way out, with none to spare.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import reduce

from solver import rules
from solver.relax import OTHERS
from solver.relax.other import OtherWish
from solver.room.demand import must_be_met
from solver.room.survey import Survey
from solver.room.wish import WORKS, Change, LimitWish, Wish
from solver.rules.limit import Unyielding
from solver.search.ask.loose import Questions, Unsure
from solver.search.ask.ranking import rank
from solver.search.ask.trades import Trades, after_changes, search_after
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.stages import RankedBuild, Search


@dataclass(frozen=True)
class Extent:
    """How much of what can be found is looked for and listed."""

    ways: int = 6
    """So many sets of wishes are worked out and listed; those that differ in one kept-empty slot count as one."""

    sets: int = 24
    """So many sets of wishes are looked for; where there may be more, the list says so."""

    amounts: int = 2
    """So many lists of amounts of one set are listed; the others are counted."""

    trades: int = 12
    """So many lists of amounts of one set are looked for, to count them; no more than are listed where not all sets are
    known."""

    patience: float | None = 2.0
    """Work that each model gets, in deterministic seconds, to show that there is no set beyond the first `ways`."""


A_LIST = Extent()
"""As much as a person reads."""


@dataclass(frozen=True)
class WayOut:
    """Changes that together make the scenario possible, and the cheapest build then; nothing can be given back."""

    changes: tuple[Change, ...]
    cheapest: RankedBuild

    @property
    def work(self) -> int:
        """The hardest kind of work in it, as its place among `WORKS`."""
        return max(WORKS.index(change.work) for change in self.changes)


@dataclass(frozen=True)
class Clash:
    """Ways out and the wishes that clash.

    `searched`: every minimal way is known. `sets_left`: known sets of changes that are not listed, none of which means
    less work than those of its kind that are. `amounts_left`: further amounts of the sets that are listed, which are
    not. `minimal`: no wish of the clash is to spare.
    """

    ways: tuple[WayOut, ...]
    searched: bool
    because: tuple[LimitWish, ...]
    minimal: bool
    stopped: bool = False
    sets_left: int = 0
    amounts_left: int = 0
    hardware: tuple[Unyielding, ...] = ()
    """What the hardware asks without any of which `because` could be kept, if all else that can gives way; none where
    that is not known."""
    tried_alone: tuple[type[OtherWish], ...] = ()
    """Kinds of change that loosen no limit of which all were tried, each without any other."""

    @property
    def complete(self) -> bool:
        """Whether every minimal way is listed."""
        return self.searched and not self.sets_left and not self.amounts_left


def _verified(survey: Survey, changes: tuple[Change, ...], clock: Clock) -> WayOut | None:
    """The cheapest build of the changed scenario, audited; None where there is none.

    Raises
    ------
    Unsure
        If time ran out.
    """
    ranking = rank(after_changes(survey, changes), 1, clock=clock)
    if ranking.builds:
        return WayOut(changes, ranking.builds[0])
    if ranking.outcome != "impossible" or clock.over:
        raise Unsure
    return None


def _tried(survey: Survey, change: Change, clock: Clock) -> tuple[Change, WayOut | None, bool]:
    """A change that loosens no limit, the way out that it is, if it is one, and whether that is known."""
    try:
        return change, _verified(survey, (change,), clock), True
    except Unsure:
        return change, None, False


def _distinct(ways: Iterable[WayOut]) -> list[WayOut]:
    """Of several ways out that stand for the same only the first."""
    found: dict[object, WayOut] = {}
    for way in ways:
        change = way.changes[0]
        alike = change.wish.stands_for(change)
        found.setdefault(change if alike is None else (change.wish, alike), way)
    return list(found.values())


def clash(
    survey: Survey,
    clock: Clock | None = None,
    workers: int = 1,
    extent: Extent = A_LIST,
    fixed: frozenset[Wish] = frozenset(),
) -> Clash:
    """Explain an impossible scenario. Needs that are nice to have give way in it, so that they are no part of a clash.

    Parameters
    ----------
    survey
        A room that has been proven impossible.
    clock
        Ends the search early; then the answer says what of it is not proven.
    workers
        Ways out that are worked out at the same time. The answer does not depend on it.
    extent
        How much is looked for and listed.
    fixed
        Wishes that do not give way.

    Raises
    ------
    SearchError
        If a way out does not make the scenario possible: a defect.
    """
    clock = clock or Clock()
    found: list[WayOut] = []
    try:
        return clock.step(lambda: _whole(survey, clock, workers, extent, fixed, found))
    except Stopped:
        return Clash(tuple(found), False, (), False, True)


def _is_taken(way: WayOut) -> bool:
    """Whether the cheapest build makes use of what was changed; where it does not, something else helped."""
    return all(change.wish.is_taken(change, way.cheapest.build) for change in way.changes)


def _whole(
    survey: Survey, clock: Clock, workers: int, extent: Extent, fixed: frozenset[Wish], found: list[WayOut]
) -> Clash:
    """The clash as far as the clock allows; every way out is told when it is found."""
    survey = must_be_met(survey)
    questions = Questions.of(survey, clock, fixed)
    sets, searched = _sets(questions, extent)
    if frozenset() in sets:
        raise SearchError("a scenario said to be impossible is possible as it is")
    chosen = _first_of(sets, extent.ways)
    with ThreadPoolExecutor(workers) as pool:
        because = pool.submit(_clashing, questions, sets, searched)
        alone = [change for other in OTHERS for change in other.offered(survey, fixed)]
        trying = pool.map(lambda change: _tried(survey, change, clock), alone)
        worked_out = list(pool.map(lambda keys: _ways(questions, keys, extent, searched, found), chosen))
        tried = list(trying)
        others = _distinct(way for _, way, _ in tried if way is not None and _is_taken(way))
    ways = [way for own in worked_out for way in own.ways]
    return Clash(
        ways=(*ways, *others),
        searched=searched and all(own.all_known for own in worked_out) and not clock.over,
        because=because.result()[0],
        minimal=because.result()[1],
        hardware=because.result()[2],
        stopped=clock.over,
        sets_left=len(sets) - len(chosen),
        amounts_left=sum(own.left for own in worked_out),
        tried_alone=tuple(other for other in OTHERS if _all_known(other, tried)),
    )


def _all_known(other: type[OtherWish], tried: Sequence[tuple[Change, WayOut | None, bool]]) -> bool:
    """Whether changes of a kind were tried, and of each it is known whether it is a way out."""
    own = [known for change, _, known in tried if isinstance(change.wish, other)]
    return bool(own) and all(own)


def _sets(questions: Questions, extent: Extent) -> tuple[list[frozenset[LimitWish]], bool]:
    """Minimal sets of wishes that make it possible when they give way, the least work first; whether these are all."""
    sets: list[frozenset[LimitWish]] = []
    while len(sets) < extent.sets and not questions.clock.over:
        try:
            keys = questions.least_work(sets, None if len(sets) < extent.ways else extent.patience)
        except Unsure:
            return sets, False
        if keys is None:
            return sets, True
        sets.append(keys)
        questions.clock.at = f"{len(sets)} ways out"
    return sets, False


def _first_of(sets: Sequence[frozenset[LimitWish]], most: int) -> list[frozenset[LimitWish]]:
    """The first set of each kind of work, then the first of those that are left.

    Sets that differ only in which one slot is kept empty no longer count as one.
    """
    patterns: dict[frozenset[LimitWish], list[frozenset[LimitWish]]] = {}
    for keys in sets:
        slots = [wish for wish in keys if wish.any_slot]
        pattern = keys if len(slots) != 1 else frozenset(wish.any_slot[0] if wish.any_slot else wish for wish in keys)
        patterns.setdefault(pattern, []).append(keys)
    kinds: dict[int, frozenset[LimitWish]] = {}
    for pattern in patterns:
        kinds.setdefault(max((WORKS.index(wish.work) for wish in pattern), default=0), pattern)
    first = list(kinds.values())
    rest = [pattern for pattern in patterns if pattern not in first]
    chosen = [*first, *rest][: max(most, len(first))]
    return [keys for pattern in patterns if pattern in chosen for keys in patterns[pattern]]


@dataclass(frozen=True)
class _WorkedOut:
    """The ways out of one set of wishes; how many more there are, and whether that is all."""

    ways: tuple[WayOut, ...] = ()
    left: int = 0
    all_known: bool = True


def _ways(
    questions: Questions, keys: frozenset[LimitWish], extent: Extent, searched: bool, found: list[WayOut]
) -> _WorkedOut:
    """The ways out of a set of wishes, each told when it is found; where time ran out fewer."""
    try:
        every, all_known = Trades(questions, keys).every(extent.trades if searched else extent.amounts)
    except Unsure:
        return _WorkedOut(all_known=False)
    listed = sorted(every, key=_given_up)[: extent.amounts]
    ways: list[WayOut] = []
    for amounts in listed:
        try:
            way = _way(questions, tuple(Change(wish, amount) for wish, amount in amounts.items()))
        except Unsure:
            return _WorkedOut(tuple(ways), all_known=False)
        nearest = list(_nearest(questions, way))
        ways += nearest
        found += nearest
    return _WorkedOut(tuple(ways), len(every) - len(listed), all_known)


def _given_up(amounts: dict[LimitWish, int]) -> tuple[int, list[int]]:
    """Channels given up first, then the amounts one after another."""
    channels = sum(amount for wish, amount in amounts.items() if wish.unit == "channels")
    return channels, list(amounts.values())


def _way(questions: Questions, changes: tuple[Change, ...]) -> WayOut:
    """The way out that changes make.

    Raises
    ------
    Unsure
        If time ran out.
    SearchError
        If they make none: a defect.
    """
    survey, clock = questions.survey, questions.clock
    way = _verified(survey, changes, clock)
    if way is not None:
        settled = tuple(change.wish.settled(change, way.cheapest.build) for change in way.changes)
        way = way if settled == way.changes else _verified(survey, settled, clock)
    if way is None:
        raise SearchError(f"a way out leads nowhere: {changes}")
    return way


def _nearest(questions: Questions, way: WayOut) -> Iterator[WayOut]:
    """The way out with the nearest that can take the place of what gives way, wish by wish, where there is such.

    Where that costs more than what is farther away, the nearest at the least cost is a way out of its own. It stays
    open what takes a place where nothing that can be told does, or where the time for it is over.
    """
    try:
        nearest, cheapest = _placed(questions, way, None), way
        if nearest.cheapest.figures.cost > way.cheapest.figures.cost:
            cheapest = _placed(questions, way, way.cheapest.figures.cost)
    except Unsure:
        yield way
        return
    yield nearest
    if cheapest is not way:
        yield cheapest


def _placed(questions: Questions, way: WayOut, cost: int | None) -> WayOut:
    """The same with what takes the place of each wish that can say it, at such a cost at most if one is given.

    Raises
    ------
    Unsure
        If time ran out.
    """
    survey, changes = questions.survey, list(way.changes)
    for place, change in enumerate(way.changes):
        for choice in change.wish.instead(survey, after_changes(survey, changes)):
            changes[place] = replace(choice, dearer_nearer=cost is not None)
            if _is_possible(questions, changes, cost):
                break
        else:
            changes[place] = change
    if changes == list(way.changes):
        return way
    placed = _verified(survey, tuple(changes), questions.clock)
    if placed is None:
        raise SearchError(f"the nearest leads nowhere: {changes}")
    return placed


def _is_possible(questions: Questions, changes: Sequence[Change], cost: int | None) -> bool:
    """Whether anything can be built when changes are made, and costs so much at most if that is given.

    Needs that are nice to have are met in what it costs, as far as they can be.

    Raises
    ------
    Unsure
        If time ran out.
    """
    if cost is not None:
        way = _verified(questions.survey, tuple(changes), questions.clock)
        return way is not None and way.cheapest.figures.cost <= cost
    room = must_be_met(after_changes(questions.survey, list(changes)))
    possible = Search.of(room, questions.clock, 1, rough=False).possible()
    if possible is None:
        raise Unsure
    return possible


def _clashing(
    questions: Questions, sets: Sequence[frozenset[LimitWish]], complete: bool
) -> tuple[tuple[LimitWish, ...], bool, tuple[Unyielding, ...]]:
    """Wishes that cannot be kept together, whether each of them is proven to be needed, and what of the hardware is."""
    wishes, minimal = _because(questions, sets, complete)
    try:
        return wishes, minimal, _hardware(questions, wishes)
    except Unsure:
        return wishes, minimal, ()


def _hardware(questions: Questions, kept: Sequence[LimitWish]) -> tuple[Unyielding, ...]:
    """What the hardware asks that keeps wishes from being kept together, none of it to spare.

    Raises
    ------
    Unsure
        If time ran out.
    """
    survey = questions.survey
    asked = [own for rule in rules.LIST for own in rule.unyielding(survey)]
    given = [Change(other, other.most(survey)) for other in questions.order if other not in kept]

    def in_the_way(some: Sequence[Unyielding]) -> bool:
        left_out = (own for own in asked if own not in some)
        room = reduce(lambda room, own: own.without(room), left_out, after_changes(survey, given))
        possible = Search.of(must_be_met(room), questions.clock, 1, rough=False).possible()
        if possible is None:
            raise Unsure
        return not possible

    if not asked or in_the_way(()):
        return ()
    needed = list(asked)
    for own in reversed(asked):
        less = [other for other in needed if other is not own]
        if in_the_way(less):
            needed = less
    return tuple(needed)


def _because(
    questions: Questions, sets: Sequence[frozenset[LimitWish]], complete: bool
) -> tuple[tuple[LimitWish, ...], bool]:
    """Wishes that cannot be kept together; whether it is proven that each of them is needed."""
    survey = questions.survey
    members = {key for keys in sets for key in keys} if complete else set(questions.order)
    proven = True
    for key in sorted(members, key=lambda wish: wish.rank, reverse=True):
        less = members - {key}
        if any(not keys & less for keys in sets):
            continue
        if complete:
            members = less
            continue
        given = {other: other.most(survey) for other in questions.order if other not in less}
        possible = search_after(questions, given).possible()
        if possible is None:
            proven = False
        elif not possible:
            members = less
    return tuple(sorted(members, key=lambda wish: wish.rank)), proven
