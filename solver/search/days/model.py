"""The model of several kinds of day: a draft for each on one model, with the same cards in the same slots.

What of a room follows from its cards, such as cost, heat and rails, is the same on all of them; numbers, needs and
holes are stated day by day.
"""

from __future__ import annotations

from copy import copy
from typing import Any

from solver import rules
from solver.judge import criteria
from solver.room.setups import Setups
from solver.room.survey import FrameSite
from solver.rules.limit import Load, Term
from solver.search.model.basis import Option
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.options import useful_kinds
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.order import digits

SHARED = ("cost", "cooling")
"""Criteria that are the same on all days."""


class DaysModel:
    """Every seating that serves each kind of day, each with settings that serve it."""

    def __init__(self, setups: Setups) -> None:
        self.setups = setups
        self.model = Model()
        useful = {kind.id for day in setups.days for kind in useful_kinds(day.survey)}
        self.drafts: list[CpDraft] = []
        for day in setups.days:
            options = [self._options(site) for site in day.survey.frames]
            kinds = [kind for kind in day.survey.kinds.values() if kind.id in useful]
            limits = [(rule, limit) for rule, limit in rules.limits(day.survey) if not rule.graded]
            self.drafts.append(CpDraft(day.survey, options, kinds, limits, model=self.model))
        for other in self.drafts[1:]:
            self._same_seats(other)
            for site in setups.first.frames:
                self._same_settings(site, other)
        self._sums = {name: self._sum(name) for name in setups.first.rank if name != "cooling"}
        self._changes = self._changed()
        self.keep(setups.first.refuse_mk)

    def _options(self, site: FrameSite) -> list[Option]:
        """What a frame may be on a day: each setting by itself, for those of different days are compared."""
        asked = site.spec.straps
        layouts = [w for w in site.layouts if all(dict(w.straps).get(g, s) == s for g, s in asked.items())]
        return [*layouts, *([] if site.spec.pins or site.spec.must_use else [None])]

    def _same_seats(self, other: CpDraft) -> None:
        places = {(s.site.index, s.slot, s.kind.id): s.term for s in self.drafts[0].seats()}
        theirs = {(s.site.index, s.slot, s.kind.id): s.term for s in other.seats()}
        for place in places.keys() | theirs.keys():
            self.model.add(places.get(place, 0) == theirs.get(place, 0))

    def _same_settings(self, site: FrameSite, other: CpDraft) -> None:
        """The same board on every day, or the same settings, or no use of the frame on any."""
        same = self.setups.straps == "same"
        mine, theirs = (_terms(draft, site, same) for draft in (self.drafts[0], other))
        for key in mine.keys() | theirs.keys():
            add(self.model, expression(mine.get(key, ())) == expression(theirs.get(key, ())))

    def _sum(self, criterion: str) -> Any:
        """A criterion over all days."""
        if criterion in SHARED:
            return expression(list(criteria.objective(self.drafts[0], criterion)))
        each = [expression(list(criteria.objective(draft, criterion))) for draft in self.drafts]
        if self.setups.over == "sum":
            return sum(day.setup.share * own for day, own in zip(self.setups.days, each, strict=True))
        worst = self.model.new_int_var(0, 10**6, "")
        for own in each:
            self.model.add(worst >= own)
        return worst

    def keep(self, margin_mk: int) -> None:
        """Keep a cooling margin, which is the same on all days."""
        self.drafts[0].keep(margin_mk)

    def copy(self) -> DaysModel:
        """The same on a copy of the model."""
        twin = copy(self)
        twin.model = self.model.clone()
        twin.drafts = [copy(draft) for draft in self.drafts]
        for draft in twin.drafts:
            draft.model = twin.model
        return twin

    def asked(self, criterion: str) -> list[Any]:
        """What a criterion counts over all days."""
        return [self._sums[criterion]]

    def ties(self) -> list[Any]:
        """What breaks ties, one after the other."""
        return [self._changes, self._cards()]

    def _changed(self) -> Any:
        """How many frames are set otherwise on a day than on the first, added up over the days."""
        total: list[tuple[int, Term]] = []
        for other in self.drafts[1:]:
            for site in self.setups.first.frames:
                mine, theirs = (_terms(draft, site, True) for draft in (self.drafts[0], other))
                changed = self.model.new_bool_var("")
                for key, load in mine.items():
                    add(self.model, expression(load) - expression(theirs.get(key, ())) <= changed)
                total.append((1, changed))
        return expression(total)

    def _cards(self) -> Any:
        """Cards that are seated, then straps closed."""
        layouts = [draft.layouts(site) for draft in self.drafts for site in draft.survey.frames]
        closed = [(option.closed, term) for own in layouts for option, term in own if option.closed]
        card = 1 + sum(max((option.closed for option, _ in own), default=0) for own in layouts)
        return expression([*((card, seat.term) for seat in self.drafts[0].seats()), *closed])

    def order(self) -> list[Load]:
        """The first of equals, as numbers to be as small as can be: by slots and cards, then by settings day by day."""
        slots: dict[tuple[int, int], dict[str, Term]] = {}
        for seat in self.drafts[0].seats():
            slots.setdefault((seat.site.index, seat.slot), {})[seat.kind.id] = seat.term
        cards = [[own[card] for card in sorted(own)] for _, own in sorted(slots.items())]
        settings = [[term for _, term in draft.choices(site)] for draft in self.drafts for site in draft.survey.frames]
        return digits([*cards, *settings])

    def seatings(self, solver: cp_model.CpSolver) -> list[Seating]:
        """What a solve found, day by day."""
        return [draft.seating(solver) for draft in self.drafts]


def _terms(draft: CpDraft, site: FrameSite, settings: bool) -> dict[object, Load]:
    """The terms of a frame by its board, or by its board and settings."""
    found: dict[object, list[tuple[int, Term]]] = {}
    for option, term in draft.choices(site):
        key = None if option is None else (option.board, option.straps) if settings else option.board
        found.setdefault(key, []).append((1, term))
    return dict(found)
