"""Models in which the wishes behind negotiable limits may give way, and what is asked of all of them together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Any

from solver import rules
from solver.room.ready import layouts_in
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import WORKS, LimitWish, Wish
from solver.search.model.basis import Option
from solver.search.model.draft import CpDraft
from solver.search.model.options import MOST_OF_SEVERAL, capacity_of, useful_kinds
from solver.search.model.services import add, expression
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

EASY = 0.5
"""Models in which wishes may give way count as hard after so many deterministic seconds."""

EFFORT = 0.01
"""Work that each model gets at first, and that a guess how far a wish gives way is worth, in deterministic seconds."""

NO_WAY = 10**9
"""The work of a model that no set of wishes makes possible: beyond that of any set."""


class Unsure(Exception):
    """A question was left open because the time, or the work that it was worth, was over."""


@dataclass
class Loose:
    """One model in which wishes may give way, and the least work that it is known to need."""

    draft: CpDraft
    capacity: int
    least: int = 0


@dataclass
class Questions:
    """What is asked of all loose models together. Wishes of `fixed` never give way."""

    survey: Survey
    clock: Clock
    order: list[LimitWish]
    fixed: frozenset[Wish] = frozenset()
    parts: list[Loose] = field(default_factory=list)
    found_in: dict[frozenset[LimitWish], Loose] = field(default_factory=dict)
    """The model that showed that a set of wishes is enough."""

    @classmethod
    def of(cls, survey: Survey, clock: Clock, fixed: frozenset[Wish] = frozenset()) -> Questions:
        """A model for each combination of legal settings, asked for or not, while there are few."""
        questions = cls(survey, clock, [wish for wish in rules.wishes(survey) if wish not in fixed], fixed)
        options: list[list[Option]] = [[*_distinct(survey, site), None] for site in survey.frames]
        total = 1
        for own in options:
            total *= len(own)
        every = (
            [options] if total > MOST_OF_SEVERAL else [[[o] for o in combination] for combination in product(*options)]
        )
        limits = rules.limits(survey)
        kinds = useful_kinds(survey, obtainable_only=False)
        for combination in every:
            clock.check()
            draft = CpDraft(survey, combination, kinds, limits, loose=True)
            questions.parts.append(Loose(draft, capacity_of(combination, kinds)))
        return questions

    def least_work(
        self, found: Sequence[frozenset[LimitWish]], patience: float | None = None
    ) -> frozenset[LimitWish] | None:
        """The set of wishes that means the least work when it gives way, apart from sets that hold one found before.

        The hardest kind of work in a set counts before how many wishes it has. None where there is none.

        Parameters
        ----------
        patience
            Work that each model is worth, in deterministic seconds; None for no limit but the clock's.

        Raises
        ------
        Unsure
            If that is not enough.
        """
        best: tuple[int, frozenset[LimitWish]] | None = None
        for first, effort in ((True, EFFORT), (False, patience)):
            for part in sorted(self.parts, key=lambda p: (p.least, -p.capacity)):
                if best is not None and part.least >= best[0]:
                    continue
                draft = part.draft.copy()
                self._hold_fixed(draft)
                for keys in found:
                    if all(key in draft.free for key in keys):
                        draft.model.add_bool_or([~draft.free[key] for key in self.order if key in keys])
                work = _work(draft, len(self.order))
                if best is not None:
                    add(draft.model, work <= best[0] - 1)
                draft.model.minimize(work)
                status, solver = solve(draft.model, self.clock, effort, easy=EASY)
                if status == "proven" or (status == "found" and first):
                    keys = frozenset(key for key, term in draft.free.items() if solver.boolean_value(term))
                    best = (round(solver.objective_value), keys)
                    self.found_in[keys] = part
                if status == "proven" and best is not None:
                    part.least = best[0]
                elif status == "none":
                    part.least = max(part.least, NO_WAY if best is None else best[0])
                elif not first:
                    raise Unsure
        return None if best is None else best[1]

    def guess(self, keys: frozenset[LimitWish], caps: Mapping[LimitWish, int], wish: LimitWish) -> int | None:
        """An amount by which it is enough for one wish of a set to give way when each does by so much at most.

        It is seldom too much. None where none was found quickly.
        """
        draft = self.found_in[keys].draft.copy()
        self._only(draft, keys)
        for other, amount in caps.items():
            add(draft.model, _amount(draft, other) <= amount)
        load = _amount(draft, wish)
        if isinstance(load, int):
            return None
        draft.model.minimize(load)
        status, solver = solve(draft.model, self.clock, EFFORT, easy=EASY)
        return max(1, solver.value(load)) if status in ("proven", "found") else None

    def _hold_fixed(self, draft: CpDraft) -> None:
        for key, term in draft.free.items():
            if key in self.fixed:
                draft.model.add(term == 0)

    def _only(self, draft: CpDraft, keys: frozenset[LimitWish]) -> None:
        """Only these wishes give way."""
        for key, term in draft.free.items():
            if key not in keys:
                draft.model.add(term == 0)


def _work(draft: CpDraft, most: int) -> Any:
    """The hardest kind of work first, then how many wishes give way."""
    load: list[tuple[int, Any]] = [(1, term) for term in draft.free.values()]
    for kind in range(1, len(WORKS)):
        as_hard = [term for wish, term in draft.free.items() if WORKS.index(wish.work) >= kind]
        if as_hard:
            one_is = draft.model.new_bool_var("")
            load.append((most + 1, one_is))
            for term in as_hard:
                draft.model.add_implication(term, one_is)
    return expression(load)


def _amount(draft: CpDraft, wish: LimitWish) -> Any:
    """By how much a wish gives way."""
    return expression(draft.amounts.get(wish, ()))


def _distinct(survey: Survey, site: FrameSite) -> list[Layout]:
    """One layout for each numbering and for each set of settings that are not as asked for.

    A frame that names no board may take any that fits, since one that is not to be had may be put on offer.
    """
    every = list(site.layouts)
    if site.spec.board is None:
        there = {layout.board for layout in every}
        for board in survey.hardware.board:
            if board.id in site.chassis.boards and board.id not in there and survey.family in board.limits:
                every += layouts_in(site.spec, board, site.chassis, survey.family, site.line)
    distinct: dict[object, Layout] = {}
    for layout in sorted(every, key=lambda w: (w.closed, w.board, w.straps)):
        strays = tuple(g for g, s in layout.straps if site.spec.straps.get(g, s) != s)
        distinct.setdefault((layout.board, layout.inputs, layout.outputs, layout.ends, strays), layout)
    return sorted(distinct.values(), key=lambda w: (w.board, w.closed, w.straps))
