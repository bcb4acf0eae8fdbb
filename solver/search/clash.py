"""Why a scenario is impossible, and the smallest changes that make it possible.

Every wish behind a negotiable limit may give way. The set that means the least work is asked for again and again,
apart from those found, until there are no more: each set is minimal, and none that is left out means less work. How far
each wish of a set has to give way is asked next; where amounts can be traded against each other, all that no other
undercuts are found. A clash is a set of wishes that hits every way out, with none to spare.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

from solver.demand import must_be_met
from solver.search.clock import Clock, SearchError, Stopped
from solver.search.loose import Questions, Unsure
from solver.search.ranking import rank
from solver.search.stages import RankedBuild
from solver.search.trades import Trades, after_changes, search_after
from solver.survey import Survey
from solver.wishes import WORKS, Change, Key, most_given, rank_of, work_of
from solver.words import SAMPLE_RATES


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
    because: tuple[Key, ...]
    minimal: bool
    stopped: bool = False
    sets_left: int = 0
    amounts_left: int = 0
    tried_alone: tuple[str, ...] = ()
    """Kinds of change that loosen no limit; each was tried without any other."""

    @property
    def complete(self) -> bool:
        """Whether every minimal way is listed."""
        return self.searched and not self.sets_left and not self.amounts_left


def _settings(survey: Survey, way: WayOut) -> tuple[Change, ...]:
    """The changes of a way out with the strap settings of its cheapest build."""
    straps = {frame.name: frame.straps for frame in way.cheapest.build.frame}
    return tuple(
        replace(change, choice=straps[str(change.key[1])][str(change.key[2])]) if change.key[0] == "strap" else change
        for change in way.changes
    )


def _verified(survey: Survey, changes: tuple[Change, ...], clock: Clock) -> WayOut | None:
    """The cheapest build of the changed scenario, audited; None where there is none or time ran out."""
    ranking = rank(after_changes(survey, changes), 1, clock=clock)
    return WayOut(changes, ranking.builds[0]) if ranking.builds else None


def _other_changes(survey: Survey, fixed: frozenset[Key]) -> list[Change]:
    """Changes that loosen no limit: another sample rate, another board, one more frame like one that is there.

    A board whose frame is to keep a setting has to have it.
    """
    groups = {board.id: {group.name for group in board.strap_group} for board in survey.hardware.board}
    kept = {site.name: {str(key[2]) for key in fixed if key[:2] == ("strap", site.name)} for site in survey.frames}
    families = [board.limits for board in survey.hardware.board]
    found = [
        Change(("rate",), 1, rate)
        for rate, family in sorted(SAMPLE_RATES.items(), reverse=True)
        if rate < survey.sample_rate and family != survey.family and any(family in limits for limits in families)
    ]
    limits = {board.id: board.limits for board in survey.hardware.board}
    found += [
        Change(("board", site.name), int(not survey.stock.get(board, 0)), board)
        for site in survey.frames
        if site.spec.board and ("board", site.name) not in fixed
        for board in sorted(site.chassis.boards)
        if board != site.spec.board and survey.family in limits[board] and kept[site.name] <= groups[board]
    ]
    kinds: dict[object, Change] = {}
    for site in survey.frames:
        kinds.setdefault((site.chassis.id, site.spec.board), Change(("frame", site.name)))
    return [*found, *kinds.values()]


def _distinct_rates(changes: Sequence[WayOut]) -> list[WayOut]:
    """Of several rates of one family only the highest."""
    families: set[str] = set()
    found = []
    for way in changes:
        key, choice = way.changes[0].key, way.changes[0].choice
        if key == ("rate",):
            family = SAMPLE_RATES[int(choice or 0)]
            if family in families:
                continue
            families.add(family)
        found.append(way)
    return found


def clash(
    survey: Survey,
    clock: Clock | None = None,
    workers: int = 1,
    extent: Extent = A_LIST,
    fixed: frozenset[Key] = frozenset(),
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


def _whole(
    survey: Survey, clock: Clock, workers: int, extent: Extent, fixed: frozenset[Key], found: list[WayOut]
) -> Clash:
    """The clash as far as the clock allows; every way out is told when it is found."""
    survey = must_be_met(survey)
    questions = Questions.of(survey, clock, fixed)
    sets, searched = _sets(questions, extent)
    if frozenset() in sets:
        raise SearchError("a scenario said to be impossible is possible as it is")
    chosen = _first_of(sets, extent.ways)
    with ThreadPoolExecutor(workers) as pool:
        because = pool.submit(_because, questions, sets, searched)
        alone = _other_changes(survey, fixed)
        tried = pool.map(lambda change: _verified(survey, (change,), clock), alone)
        worked_out = list(pool.map(lambda keys: _ways(questions, keys, extent, searched, found), chosen))
        others = _distinct_rates(list(filter(None, tried)))
    ways = [way for own in worked_out for way in own.ways]
    return Clash(
        ways=(*ways, *others),
        searched=searched and all(own.all_known for own in worked_out) and not clock.over,
        because=because.result()[0],
        minimal=because.result()[1],
        stopped=clock.over,
        sets_left=len(sets) - len(chosen),
        amounts_left=sum(own.left for own in worked_out),
        tried_alone=tuple(dict.fromkeys(str(change.key[0]) for change in alone)),
    )


def _sets(questions: Questions, extent: Extent) -> tuple[list[frozenset[Key]], bool]:
    """Minimal sets of wishes that make it possible when they give way, the least work first; whether these are all."""
    sets: list[frozenset[Key]] = []
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


def _first_of(sets: Sequence[frozenset[Key]], most: int) -> list[frozenset[Key]]:
    """The first set of each kind of work, then the first of those that are left.

    Sets that differ only in which one slot is kept empty no longer count as one.
    """
    patterns: dict[frozenset[Key], list[frozenset[Key]]] = {}
    for keys in sets:
        empty = [key for key in keys if key[0] == "empty"]
        pattern = frozenset(key[:2] if len(empty) == 1 and key[0] == "empty" else key for key in keys)
        patterns.setdefault(pattern, []).append(keys)
    kinds: dict[int, frozenset[Key]] = {}
    for pattern in patterns:
        kinds.setdefault(max((WORKS.index(work_of(key)) for key in pattern), default=0), pattern)
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
    questions: Questions, keys: frozenset[Key], extent: Extent, searched: bool, found: list[WayOut]
) -> _WorkedOut:
    """The ways out of a set of wishes, each told when it is found; where time ran out fewer."""
    try:
        every, all_known = Trades(questions, keys).every(extent.trades if searched else extent.amounts)
    except Unsure:
        return _WorkedOut(all_known=False)
    listed = sorted(every, key=_given_up)[: extent.amounts]
    ways: list[WayOut] = []
    for amounts in listed:
        way = _way(questions, tuple(Change(key, amount) for key, amount in amounts.items()))
        if way is None:
            return _WorkedOut(tuple(ways), all_known=False)
        ways.append(way)
        found.append(way)
    return _WorkedOut(tuple(ways), len(every) - len(listed), all_known)


def _given_up(amounts: dict[Key, int]) -> tuple[int, list[int]]:
    """Channels given up first, then the amounts one after another."""
    channels = sum(amount for key, amount in amounts.items() if key[0] == "need")
    return channels, list(amounts.values())


def _way(questions: Questions, changes: tuple[Change, ...]) -> WayOut | None:
    """The way out that changes make; None where time ran out."""
    survey, clock = questions.survey, questions.clock
    way = _verified(survey, changes, clock)
    if way is not None and any(change.key[0] == "strap" for change in way.changes):
        way = _verified(survey, _settings(survey, way), clock)
    if way is None and not clock.over:
        raise SearchError(f"a way out leads nowhere: {changes}")
    return way


def _because(questions: Questions, sets: Sequence[frozenset[Key]], complete: bool) -> tuple[tuple[Key, ...], bool]:
    """Wishes that cannot be kept together; whether it is proven that each of them is needed."""
    survey = questions.survey
    members = {key for keys in sets for key in keys} if complete else set(questions.order)
    if not members and not complete:
        members = set(questions.order)
    proven = True
    for key in sorted(members, key=rank_of, reverse=True):
        less = members - {key}
        if any(not keys & less for keys in sets):
            continue
        if complete:
            members = less
            continue
        given = {other: most_given(survey, other) for other in questions.order if other not in less}
        possible = search_after(questions, given).possible()
        if possible is None:
            proven = False
        elif not possible:
            members = less
    return tuple(sorted(members, key=rank_of)), proven
