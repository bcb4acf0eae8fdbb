"""Why a scenario is impossible, and the smallest changes that make it possible.

Every wish behind a negotiable limit may give way. The fewest that have to are asked for again and again, apart from
those found, until there are no more: each set is minimal, and the list is complete. How far each has to give way is
asked next, one after another. A clash is a set of wishes that hits every way out, with none to spare.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from solver import rules
from solver.physics.power import usable_ma
from solver.rules.limit import Limit
from solver.search.clock import Clock, SearchError
from solver.search.draft import CpDraft, Option
from solver.search.options import MOST_MODELS, useful_kinds
from solver.search.ranking import rank
from solver.search.services import expression
from solver.search.solving import solve
from solver.search.stages import RankedBuild
from solver.straps import Layout
from solver.survey import FrameSite, Survey, survey_room
from solver.wishes import WORKS, Change, Key, changed, kelvins, rank_of, reserve_percent, wishes
from solver.words import SAMPLE_RATES

MOST_WAYS = 12
"""So many ways out are looked for; where there are more, the list says that it is not complete."""

QUICK = 0.5
"""Models in which wishes may give way count as hard after so many deterministic seconds."""

EACH = 1000
"""What one wish more weighs against which wishes they are."""


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
    least: int = 0


@dataclass
class _Questions:
    """What is asked of all loose models together."""

    survey: Survey
    clock: Clock
    order: list[Key]
    parts: list[_Loose] = field(default_factory=list)
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
            questions.parts.append(_Loose(CpDraft(survey, combination, kinds, limits, loose=True)))
        return questions

    def _solve(self, part: _Loose, rows: Rows, load: Callable[[CpDraft], Any]) -> tuple[str, CpDraft, Any]:
        draft = part.draft.copy()
        rows(draft)
        objective = load(draft)
        if not isinstance(objective, int):
            draft.model.minimize(objective)
        status, solver = solve(draft.model, self.clock, quick=QUICK)
        if status not in ("proven", "none"):
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
                draft.model.add(_weight(draft, self.order) <= best[0] - 1)

        for part in sorted(self.parts, key=lambda p: p.least):
            if best is not None and part.least >= best[0]:
                continue
            status, draft, solver = self._solve(part, rows, lambda d: _weight(d, self.order))
            if status == "proven":
                keys = frozenset(key for key, term in draft.free.items() if solver.boolean_value(term))
                value = sum(EACH + self.order.index(key) for key in keys)
                best = (value, keys)
                part.least = value
            elif status == "none":
                part.least = max(part.least, 10**9 if best is None else best[0])
            else:
                return None
        return None if best is None else best[1]

    def least(self, rows: Rows, load: Callable[[CpDraft], Any]) -> int | None:
        """The least of an amount over all models; None where nothing keeps the rows."""
        best: int | None = None
        for part in self.parts:
            ahead = best

            def both(draft: CpDraft, ahead: int | None = ahead) -> None:
                rows(draft)
                objective = load(draft)
                if ahead is not None and not isinstance(objective, int):
                    draft.model.add(objective <= ahead - 1)

            status, _, solver = self._solve(part, both, load)
            if status == "proven":
                value = load(part.draft)
                best = value if isinstance(value, int) else round(solver.objective_value)
        return best

    def first(self, rows: Rows) -> tuple[Layout | None, ...] | None:
        """The layouts of the first model that keeps the rows; None where none does."""
        for part in self.parts:
            status, draft, solver = self._solve(part, rows, lambda _: 0)
            if status == "proven":
                return tuple(
                    next(o for o, t in draft.choices(site) if isinstance(t, int) or solver.boolean_value(t))
                    for site in self.survey.frames
                )
        return None


def _layouts(site: FrameSite) -> list[Layout]:
    """One layout for each numbering and for each set of settings that are not as asked for."""
    distinct: dict[object, Layout] = {}
    for layout in sorted(site.layouts, key=lambda w: (w.closed, w.board, w.straps)):
        strays = tuple(g for g, s in layout.straps if site.spec.straps.get(g, s) != s)
        distinct.setdefault((layout.board, layout.inputs, layout.outputs, strays), layout)
    return sorted(distinct.values(), key=lambda w: (w.board, w.closed, w.straps))


def _weight(draft: CpDraft, order: Sequence[Key]) -> Any:
    return expression([(EACH + order.index(key), term) for key, term in draft.free.items()])


def _only(keys: Iterable[Key]) -> Rows:
    """Only these wishes give way."""
    allowed = frozenset(keys)

    def rows(draft: CpDraft) -> None:
        for key, term in draft.free.items():
            if key not in allowed:
                draft.model.add(term == 0)

    return rows


def _amount(draft: CpDraft, key: Key) -> Any:
    return expression([(1, term) for _, term in draft.amounts.get(key, ())])


def _within_reserve(survey: Survey, percent: int) -> Rows:
    """Rails loaded no further than a smaller reserve allows."""

    def rows(draft: CpDraft) -> None:
        for limit, term in draft.amounts.get(("reserve",), ()):
            draft.model.add(term <= _more_ma(survey, limit, percent))

    return rows


def _more_ma(survey: Survey, limit: Limit, percent: int) -> int:
    site = next(site for site in survey.frames if site.name == limit.place.frame)
    full = site.full_rails_ma.get(limit.place.subject or "", 0)
    return usable_ma(full, reserve_percent(survey) - percent) - limit.bound


def _together(*every: Rows) -> Rows:
    def rows(draft: CpDraft) -> None:
        for one in every:
            one(draft)

    return rows


def _changes(questions: _Questions, keys: frozenset[Key]) -> tuple[Change, ...] | None:
    """How far each wish of a set gives way, one after another; None where time ran out."""
    survey = questions.survey
    rows = _only(keys)
    amounts: dict[Key, int] = {}
    for key in sorted(keys, key=rank_of):
        if key[0] in ("margin", "reserve"):
            most = kelvins(survey) if key[0] == "margin" else reserve_percent(survey)
            amount, step = _least_step(questions, rows, key, most)
        elif key[0] in ("pin", "empty", "strap"):
            amount, step = 1, _only(keys)
        else:
            amount, step = _least_amount(questions, rows, key)
        if amount is None:
            return None
        amounts[key] = amount
        rows = _together(rows, step)
    layouts = questions.first(rows)
    if layouts is None:
        return None
    chosen: dict[Key, str] = {
        ("strap", site.name, group): setting
        for site, layout in zip(survey.frames, layouts, strict=True)
        if layout is not None
        for group, setting in layout.straps
    }
    return tuple(Change(key, amounts[key], chosen.get(key)) for key in sorted(keys, key=rank_of))


def _least_amount(questions: _Questions, rows: Rows, key: Key) -> tuple[int | None, Rows]:
    amount = questions.least(rows, lambda draft: _amount(draft, key))

    def cap(draft: CpDraft) -> None:
        own = _amount(draft, key)
        if not isinstance(own, int):
            draft.model.add(own <= (amount or 0))

    return amount, cap


def _least_step(questions: _Questions, rows: Rows, key: Key, most: int) -> tuple[int | None, Rows]:
    """The fewest kelvin or per cent to give way, by halving: what one allows, more allows too."""
    survey = questions.survey

    def keep(amount: int) -> Rows:
        if key[0] == "margin":
            return lambda draft: draft.keep_margin(survey.refuse_mk - 1000 * amount)
        return _within_reserve(survey, amount)

    low, high = 1, most
    while low < high:
        middle = (low + high) // 2
        if questions.first(_together(rows, keep(middle))) is not None:
            high = middle
        elif questions.unsure:
            return None, rows
        else:
            low = middle + 1
    return low, keep(low)


def _verified(survey: Survey, changes: tuple[Change, ...], clock: Clock, workers: int) -> WayOut | None:
    """The cheapest build of the changed scenario, audited; None where there is none or time ran out."""
    after = replace(survey_room(changed(survey, changes), survey.hardware), rank=("cost",), slack={})
    ranking = rank(after, 1, workers=workers, clock=clock)
    return WayOut(changes, ranking.builds[0]) if ranking.builds else None


def _other_changes(survey: Survey) -> list[Change]:
    """Changes that loosen no limit: another sample rate, one more frame like one that is there."""
    families = [board.limits for board in survey.hardware.board]
    found = [
        Change(("rate",), 1, rate)
        for rate, family in sorted(SAMPLE_RATES.items(), reverse=True)
        if rate < survey.sample_rate and family != survey.family and any(family in limits for limits in families)
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
    """Explain an impossible scenario.

    Parameters
    ----------
    survey
        A room that has been proven impossible.
    clock
        Ends the search early; then the answer says what of it is not proven.
    most
        So many sets of wishes are looked for.

    Raises
    ------
    SearchError
        If a way out does not make the scenario possible: a defect.
    """
    clock = clock or Clock()
    questions = _Questions.of(survey, clock)
    allowed = frozenset(questions.order)
    sets: list[frozenset[Key]] = []
    complete = False
    while len(sets) < most and not clock.over:
        keys = questions.fewest(sets, allowed)
        if keys is None:
            complete = not questions.unsure
            break
        sets.append(keys)
    if frozenset() in sets:
        raise SearchError("a scenario said to be impossible is possible as it is")
    ways: list[WayOut] = []
    for keys in sets:
        changes = _changes(questions, keys)
        way = None if changes is None else _verified(survey, changes, clock, workers)
        if way is not None:
            ways.append(way)
        elif clock.over:
            complete = False
        else:
            raise SearchError(f"a way out leads nowhere: {changes}")
    others = [way for change in _other_changes(survey) if (way := _verified(survey, (change,), clock, workers))]
    because, minimal = _because(questions, sets, complete)
    everything = (*ways, *_distinct_rates(others))
    return Clash(everything, complete and not clock.over, because, minimal, clock.over)


def _because(questions: _Questions, sets: Sequence[frozenset[Key]], complete: bool) -> tuple[tuple[Key, ...], bool]:
    """Wishes that cannot be kept together; whether it is proven that each of them is needed."""
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
        questions.unsure = False
        if questions.first(_only(set(questions.order) - less)) is None:
            if questions.unsure:
                proven = False
            else:
                members = less
    return tuple(sorted(members, key=rank_of)), proven


def give_way(survey: Survey, clock: Clock) -> tuple[Change, ...]:
    """How far needs that are nice to have give way so that an impossible scenario becomes possible.

    Empty where that does not help, or time ran out. As few as can be give way, and none further than it must.
    """
    nice = frozenset(("need", need.place) for need in survey.needs if need.nice and need.demand)
    if not nice:
        return ()
    questions = _Questions.of(survey, clock)
    keys = questions.fewest([], nice)
    return (_changes(questions, keys) or ()) if keys else ()
