"""Why a scenario is impossible, and the smallest changes that make it possible.

Every wish behind a negotiable limit may give way. The fewest that have to are asked for again and again, apart from
those found, until there are no more: each set is minimal, and the list is complete. How far each has to give way is
asked next, one after another. A clash is a set of wishes that hits every way out, with none to spare.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from solver import rules
from solver.demand import must_be_met
from solver.search.clock import Clock, SearchError, Stopped
from solver.search.draft import CpDraft, Option
from solver.search.options import MOST_MODELS, room_of, useful_kinds
from solver.search.ranking import rank
from solver.search.services import add, expression
from solver.search.solving import solve
from solver.search.stages import RankedBuild, Search
from solver.straps import Layout
from solver.survey import FrameSite, Survey, survey_room
from solver.wishes import WORKS, Change, Key, changed, kelvins, key_of, most_money, rank_of, reserve_percent, wishes
from solver.words import SAMPLE_RATES

MOST_WAYS = 6
"""So many ways out are looked for; where there are more, the list says that it is not complete."""

QUICK = 0.5
"""Models in which wishes may give way count as hard after so many deterministic seconds."""

EFFORT = 0.01
"""Work that each model gets at first, and that a guess how far a wish gives way is worth, in deterministic seconds."""

SETS_A_WAY = 2
"""So many sets of wishes are looked for, for every way out that is worked out, before the first are chosen."""


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
    """Ways out and the wishes that clash. `complete`: every minimal way is listed. `minimal`: no wish is to spare."""

    ways: tuple[WayOut, ...]
    complete: bool
    because: tuple[Key, ...]
    minimal: bool
    stopped: bool = False


Rows = Callable[[CpDraft], None]
"""What a question adds to a copy of a model."""


@dataclass
class _Loose:
    """One model in which wishes may give way, and the least that it is known to need."""

    draft: CpDraft
    room: int
    least: int = 0


@dataclass
class _Questions:
    """What is asked of all loose models together."""

    survey: Survey
    clock: Clock
    order: list[Key]
    parts: list[_Loose] = field(default_factory=list)
    found_in: dict[frozenset[Key], _Loose] = field(default_factory=dict)
    """The model that showed that a set of wishes is enough."""
    unsure: bool = False
    """Whether a question was left open because the time was over."""

    @classmethod
    def of(cls, survey: Survey, clock: Clock) -> _Questions:
        """A model for each combination of legal settings, asked for or not, while there are few."""
        questions = cls(survey, clock, wishes(survey))
        options: list[list[Option]] = [[*_layouts(site), None] for site in survey.frames]
        total = 1
        for own in options:
            total *= len(own)
        every = [options] if total > MOST_MODELS else [[[o] for o in combination] for combination in product(*options)]
        limits = rules.limits(survey)
        kinds = useful_kinds(survey, obtainable_only=False)
        for combination in every:
            clock.check()
            draft = CpDraft(survey, combination, kinds, limits, loose=True)
            questions.parts.append(_Loose(draft, room_of(combination, kinds)))
        return questions

    def _solve(
        self, part: _Loose, rows: Rows, load: Callable[[CpDraft], Any], effort: float | None = None
    ) -> tuple[str, CpDraft, Any]:
        draft = part.draft.copy()
        rows(draft)
        objective = load(draft)
        if not isinstance(objective, int):
            draft.model.minimize(objective)
        status, solver = solve(draft.model, self.clock, effort, quick=QUICK)
        if status not in ("proven", "none") and effort is None:
            self.unsure = True
        return status, draft, solver

    def fewest(self, found: Sequence[frozenset[Key]], allowed: frozenset[Key]) -> frozenset[Key] | None:
        """The fewest wishes that have to give way, apart from sets that hold one found before."""
        best: tuple[int, frozenset[Key]] | None = None

        def rows(draft: CpDraft) -> None:
            for key, term in draft.free.items():
                if key not in allowed:
                    draft.model.add(term == 0)
            for keys in found:
                if all(key in draft.free for key in keys):
                    draft.model.add(sum(draft.free[key] for key in keys) <= len(keys) - 1)
            if best is not None:
                draft.model.add(_given_way(draft) <= best[0] - 1)

        for effort in (EFFORT, None):
            for part in sorted(self.parts, key=lambda p: (p.least, -p.room)):
                if best is not None and part.least >= best[0]:
                    continue
                status, draft, solver = self._solve(part, rows, _given_way, effort)
                if status in ("proven", "found"):
                    keys = frozenset(key for key, term in draft.free.items() if solver.boolean_value(term))
                    best = (len(keys), keys)
                    self.found_in[keys] = part
                if status == "proven":
                    part.least = len(keys)
                elif status == "none":
                    part.least = max(part.least, 10**9 if best is None else best[0])
                elif effort is None:
                    return None
        return None if best is None else best[1]

    def enough(self, keys: frozenset[Key], amounts: Mapping[Key, int], key: Key) -> int:
        """An amount by which it is enough for one wish of a set to give way when others keep theirs."""

        def rows(draft: CpDraft) -> None:
            _only(keys)(draft)
            for other, amount in amounts.items():
                add(draft.model, expression(draft.amounts.get(other, ())) <= amount)

        def load(draft: CpDraft) -> Any:
            return expression(draft.amounts.get(key, ()))

        status, draft, solver = self._solve(self.found_in[keys], rows, load, EFFORT)
        return solver.value(load(draft)) if status in ("proven", "found") else amounts[key]


def _layouts(site: FrameSite) -> list[Layout]:
    """One layout for each numbering and for each set of settings that are not as asked for."""
    distinct: dict[object, Layout] = {}
    for layout in sorted(site.layouts, key=lambda w: (w.closed, w.board, w.straps)):
        strays = tuple(g for g, s in layout.straps if site.spec.straps.get(g, s) != s)
        distinct.setdefault((layout.board, layout.inputs, layout.outputs, strays), layout)
    return sorted(distinct.values(), key=lambda w: (w.board, w.closed, w.straps))


def _given_way(draft: CpDraft) -> Any:
    """How many wishes give way."""
    return expression([(1, term) for term in draft.free.values()])


def _only(keys: frozenset[Key]) -> Rows:
    """Only these wishes give way."""

    def rows(draft: CpDraft) -> None:
        for key, term in draft.free.items():
            if key not in keys:
                draft.model.add(term == 0)

    return rows


def _changes(questions: _Questions, keys: frozenset[Key]) -> tuple[Change, ...] | None:
    """How far each wish of a set gives way, one after another, as little as can be; None where time ran out.

    What gives way is planned as a scenario of its own, and halved: what little allows, more allows too.
    """
    survey, clock = questions.survey, questions.clock
    order = sorted(keys, key=rank_of)
    amounts = {key: _most(survey, key) for key in order}
    for key in order:
        if key == ("budget",):
            search = _search(survey, amounts, clock)
            cheapest = search.least(("cost",), {})
            if cheapest.value is None or not cheapest.proven:
                return None
            amounts[key] = cheapest.value * search.scale.units["cost"] - (survey.budget or 0)
            continue
        if key[0] in ("need", "must_seat", "item"):
            amounts[key] = questions.enough(keys, amounts, key)
        low, middle = 1, amounts[key] - 1  # one less than what is enough is seldom enough
        while low < amounts[key]:
            possible = _search(survey, {**amounts, key: middle}, clock).possible()
            if possible is None:
                return None
            if possible:
                amounts[key] = middle
            else:
                low = middle + 1
            middle = (low + amounts[key]) // 2
    return tuple(Change(key, amount) for key, amount in amounts.items())


def _most(survey: Survey, key: Key) -> int:
    """How far a wish may give way."""
    if key == ("margin",):
        return kelvins(survey)
    if key == ("reserve",):
        return reserve_percent(survey)
    if key == ("budget",):
        return most_money(survey)
    return max(limit.give[-1] for _, limit in rules.limits(survey) if key_of(limit) == key)


def _search(survey: Survey, amounts: Mapping[Key, int], clock: Clock) -> Search:
    """The search for what can be built when wishes give way so far, and all that is nice to have with them."""
    after = _after(survey, [Change(key, amount) for key, amount in amounts.items()])
    return Search.of(must_be_met(after), clock, 1, rough=False)


def _after(survey: Survey, changes: Sequence[Change]) -> Survey:
    """The room when changes are made, cost alone to be ranked by."""
    return replace(survey_room(changed(survey, changes), survey.hardware), rank=("cost",), slack={})


def _settings(survey: Survey, way: WayOut) -> tuple[Change, ...]:
    """The changes of a way out with the strap settings of its cheapest build."""
    straps = {frame.name: frame.straps for frame in way.cheapest.build.frame}
    return tuple(
        replace(change, choice=straps[str(change.key[1])][str(change.key[2])]) if change.key[0] == "strap" else change
        for change in way.changes
    )


def _verified(survey: Survey, changes: tuple[Change, ...], clock: Clock) -> WayOut | None:
    """The cheapest build of the changed scenario, audited; None where there is none or time ran out."""
    ranking = rank(_after(survey, changes), 1, clock=clock)
    return WayOut(changes, ranking.builds[0]) if ranking.builds else None


def _other_changes(survey: Survey) -> list[Change]:
    """Changes that loosen no limit: another sample rate, another board, one more frame like one that is there."""
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
        if site.spec.board
        for board in sorted(site.chassis.boards)
        if board != site.spec.board and survey.family in limits[board]
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


def clash(survey: Survey, clock: Clock | None = None, workers: int = 1, most: int = MOST_WAYS) -> Clash:
    """Explain an impossible scenario. Needs that are nice to have give way in it, so that they are no part of a clash.

    Parameters
    ----------
    survey
        A room that has been proven impossible.
    clock
        Ends the search early; then the answer says what of it is not proven.
    workers
        Ways out that are worked out at the same time. The answer does not depend on it.
    most
        So many ways out are worked out, the first of each sort of wishes before the second of any; those that
        differ only in which slot is kept empty no longer count as one.

    Raises
    ------
    SearchError
        If a way out does not make the scenario possible: a defect.
    """
    clock = clock or Clock()
    survey = must_be_met(survey)
    found: list[WayOut] = []
    try:
        return clock.step(lambda: _whole(survey, clock, workers, most, found))
    except Stopped:
        return Clash(tuple(found), False, (), False, True)


def _whole(survey: Survey, clock: Clock, workers: int, most: int, found: list[WayOut]) -> Clash:
    """The clash as far as the clock allows; every way out is told when it is found."""
    questions = _Questions.of(survey, clock)
    allowed = frozenset(questions.order)
    sets: list[frozenset[Key]] = []
    complete = False
    while len(sets) < SETS_A_WAY * most and not clock.over:
        keys = questions.fewest(sets, allowed)
        if keys is None:
            complete = not questions.unsure
            break
        sets.append(keys)
        clock.at = f"{len(sets)} ways out"
    if frozenset() in sets:
        raise SearchError("a scenario said to be impossible is possible as it is")
    chosen = _first_of(sets, most)
    with ThreadPoolExecutor(workers) as pool:
        because = pool.submit(_because, questions, sets, complete)
        tried = pool.map(lambda change: _verified(survey, (change,), clock), _other_changes(survey))
        ways = [way for way in pool.map(lambda keys: _way(questions, keys, found), chosen) if way is not None]
        others = _distinct_rates(list(filter(None, tried)))
    complete = complete and len(chosen) == len(sets) and not clock.over
    return Clash((*ways, *others), complete, *because.result(), clock.over)


def _first_of(sets: Sequence[frozenset[Key]], most: int) -> list[frozenset[Key]]:
    """The first sets of each sort, then the first of those that are left.

    Sets that differ only in which slot is kept empty no longer count as one.
    """

    def place(keys: frozenset[Key]) -> tuple[object, ...]:
        return len(keys), sorted(map(rank_of, keys))

    sorts: Counter[frozenset[object]] = Counter()
    patterns: dict[object, list[frozenset[Key]]] = {}
    turns: dict[object, int] = {}
    for keys in sorted(sets, key=place):
        pattern = frozenset(key[:2] if key[0] == "empty" else key for key in keys)
        if pattern not in patterns:
            sort = frozenset(key[0] for key in keys)
            turns[pattern] = sorts[sort]
            sorts[sort] += 1
        patterns.setdefault(pattern, []).append(keys)
    chosen = sorted(patterns, key=lambda pattern: turns[pattern])[:most]
    return sorted((keys for pattern in chosen for keys in patterns[pattern]), key=place)


def _way(questions: _Questions, keys: frozenset[Key], found: list[WayOut]) -> WayOut | None:
    """The way out of a set of wishes, told when it is found; None where time ran out."""
    survey, clock = questions.survey, questions.clock
    changes = _changes(questions, keys)
    way = None if changes is None else _verified(survey, changes, clock)
    if way is not None and any(change.key[0] == "strap" for change in way.changes):
        way = _verified(survey, _settings(survey, way), clock)
    if way is None and not clock.over:
        raise SearchError(f"a way out leads nowhere: {changes}")
    if way is not None:
        found.append(way)
    return way


def _because(questions: _Questions, sets: Sequence[frozenset[Key]], complete: bool) -> tuple[tuple[Key, ...], bool]:
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
        given = {other: _most(survey, other) for other in questions.order if other not in less}
        possible = _search(survey, given, questions.clock).possible()
        if possible is None:
            proven = False
        elif not possible:
            members = less
    return tuple(sorted(members, key=rank_of)), proven
