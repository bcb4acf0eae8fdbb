"""The model of several phases: a draft for each on one model, with what is bought between them.

What a phase seats is in stock or ordered in it or before; frames, boards and cards stay where they are, but for cards
that may move once.
"""

from __future__ import annotations

from collections.abc import Collection
from copy import copy
from itertools import pairwise
from typing import Any, TypeAlias

from solver import rules
from solver.judge import criteria
from solver.room.phases import Bought, Phases
from solver.room.survey import FrameSite
from solver.rules.limit import Load, Term
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.options import all_options, useful_kinds
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.order import digits

Budget: TypeAlias = int | None
"""The place of a phase whose budget is meant; None for that of all phases together."""

MOST_MORE = 10**12
"""More than a budget is ever exceeded by, in minor units."""

_Place: TypeAlias = tuple[int, int]
"""A frame's index and a slot."""


class PhasesModel:
    """Every way to build the phases one after the other.

    Parameters
    ----------
    among
        The places of the phases that are to be served; the others only have their money.
    lifted
        Budgets that may be exceeded, by `more`.
    """

    def __init__(self, phases: Phases, among: Collection[int] | None = None, lifted: Collection[Budget] = ()) -> None:
        self.phases = phases
        self.model = Model()
        self.among = sorted(range(len(phases.stretches)) if among is None else among)
        self.drafts: dict[int, CpDraft] = {}
        useful = {kind.id for at in self.among for kind in useful_kinds(phases.stretches[at].survey)}
        for at in self.among:
            survey = phases.stretches[at].survey
            kinds = [kind for kind in survey.kinds.values() if kind.id in useful]
            limits = [(rule, limit) for rule, limit in rules.limits(survey) if not rule.graded and not rule.shared]
            self.drafts[at] = CpDraft(survey, all_options(survey), kinds, limits, model=self.model)
        self._orders = self._ordered()
        self._in_stock()
        self.more: dict[Budget, Any] = {budget: self.model.new_int_var(0, MOST_MORE, "") for budget in lifted}
        self._within_budgets()
        self._left: list[tuple[int, Term]] = []
        for before, after in pairwise(self.among):
            self._frames_stay(self.drafts[before], self.drafts[after])
            self._cards_stay(self.drafts[before], self.drafts[after])
        if phases.moves == "once" and len(self.among) > 2:
            for card in sorted(useful):
                self._no_card_twice(card)
        self._sums = {name: self._sum(name) for name in {*phases.first.rank} - {"cost", "cooling"}}
        self._changes = self._changed()
        self.keep(phases.first.refuse_mk)

    # What is bought

    def _ordered(self) -> dict[tuple[int, int], tuple[Any, Any]]:
        """By phase and place of the offer in the file: the offer as it is then, and how many of it are ordered."""
        found: dict[tuple[int, int], tuple[Any, Any]] = {}
        for item, offers in sorted(self.phases.first.offers.items()):
            most = max((len(draft.items(item)) for draft in self.drafts.values()), default=0)
            most *= len(self.drafts)
            if not most:
                continue
            for index, at_most in [(offer.index, offer.at_most) for offer in offers]:
                own = []
                for at, stretch in enumerate(self.phases.stretches):
                    offer = next(each for each in stretch.survey.offers[item] if each.index == index)
                    number = self.model.new_int_var(0, most if at_most is None else min(most, at_most), "")
                    found[at, index] = offer, number
                    own.append((1, number))
                if at_most is not None:
                    self.model.add(expression(own) <= at_most)
        return found

    def _until(self, item: str, at: int) -> Load:
        """How many of an item are ordered until a phase."""
        return [
            (1, number) for (phase, _), (offer, number) in self._orders.items() if offer.item == item and phase <= at
        ]

    def _in_stock(self) -> None:
        """What a phase seats is in stock, or ordered until then."""
        hardware = self.phases.first.hardware
        for item in sorted(i.id for group in (hardware.card, hardware.board, hardware.chassis) for i in group):
            for at, draft in self.drafts.items():
                load = draft.items(item)
                if load:
                    owned = self.phases.first.stock.get(item, 0)
                    add(self.model, expression(load) <= owned + expression(self._until(item, at)))

    def spent(self, at: int) -> Load:
        """What a phase costs."""
        return [(offer.price, number) for (phase, _), (offer, number) in self._orders.items() if phase == at]

    def _within_budgets(self) -> None:
        every: list[tuple[int, Term]] = []
        for at, stretch in enumerate(self.phases.stretches):
            every += self.spent(at)
            self._within(at, self.spent(at), stretch.budget)
        self._within(None, every, self.phases.budget)

    def _within(self, at: Budget, spent: Load, budget: int | None) -> None:
        if budget is not None:
            add(self.model, expression(spent) <= budget + self.more.get(at, 0))

    # What stays

    def _frames_stay(self, before: CpDraft, after: CpDraft) -> None:
        """A frame that is in use stays so, with its board."""
        for site in before.survey.frames:
            for board in {layout.board for layout, _ in before.layouts(site)}:
                add(self.model, expression(_on(before, site, board)) <= expression(_on(after, site, board)))

    def _cards_stay(self, before: CpDraft, after: CpDraft) -> None:
        """Cards stay, or are counted when they leave their slot."""
        later = {(s.site.index, s.slot, s.kind.id): s.term for s in after.seats()}
        for seat in before.seats():
            kept = later.get((seat.site.index, seat.slot, seat.kind.id), 0)
            if self.phases.moves == "never":
                add(self.model, seat.term <= kept)
                continue
            left = self.model.new_bool_var("")
            add(self.model, seat.term - kept <= left)
            self._left.append((1, left))

    def _no_card_twice(self, card: str) -> None:
        """Of a kind: what came from another slot stays, and all else that is seated anew is another card.

        A card that has left its slot may come to another one at once or later.
        """
        new: list[tuple[int, Term]] = []
        gone: list[tuple[int, Term]] = []
        fresh_before: dict[_Place, Term] = {}
        moved_before: dict[_Place, Term] = {}
        for at in self.among:
            places = {(seat.site.index, seat.slot): seat.term for seat in self.drafts[at].seats(card=card)}
            fresh: dict[_Place, Term] = {place: self.model.new_bool_var("") for place in places}
            moved: dict[_Place, Term] = {place: self.model.new_bool_var("") for place in places}
            for place, term in places.items():
                self.model.add(expression([(1, fresh[place]), (1, moved[place])]) == term)
            for place, term in moved_before.items():
                add(self.model, moved.get(place, 0) >= term)
            for place in places.keys() | fresh_before.keys():
                before, here = fresh_before.get(place, 0), fresh.get(place, 0)
                comes, goes = self.model.new_bool_var(""), self.model.new_bool_var("")
                add(self.model, here - before <= comes)
                add(self.model, goes <= before)
                add(self.model, goes <= 1 - here)
                new.append((1, comes))
                gone.append((1, goes))
            owned = self.phases.first.stock.get(card, 0)
            add(self.model, expression(new) <= owned + expression(self._until(card, at)))
            add(self.model, expression([(1, term) for term in moved.values()]) <= expression(gone))
            fresh_before, moved_before = fresh, moved

    # What is ranked

    def _sum(self, criterion: str) -> Any:
        """A criterion, added up over the phases."""
        return sum(expression(list(criteria.objective(draft, criterion))) for draft in self.drafts.values())

    def asked(self, criterion: str) -> list[Any]:
        """What a criterion counts over all phases, the first first."""
        if criterion != "cost":
            return [self._sums[criterion]]
        total = self.total()
        return [self.spent_in(0), total] if self.phases.cost_of == "first phase" else [total]

    def spent_in(self, at: int) -> Any:
        """What one phase costs."""
        return expression(self.spent(at))

    def total(self) -> Any:
        """What all phases cost."""
        return expression([term for at in range(len(self.phases.stretches)) for term in self.spent(at)])

    def keep(self, margin_mk: int) -> None:
        """Keep a cooling margin in every phase."""
        for draft in self.drafts.values():
            draft.keep(margin_mk)

    def copy(self) -> PhasesModel:
        """The same on a copy of the model."""
        twin = copy(self)
        twin.model = self.model.clone()
        twin.drafts = {at: copy(draft) for at, draft in self.drafts.items()}
        for draft in twin.drafts.values():
            draft.model = twin.model
        return twin

    # What breaks ties

    def moved(self) -> Any:
        """How many cards leave their slot."""
        return expression(self._left)

    def _changed(self) -> Any:
        """How many frames are set otherwise than in the phase before, over all phases."""
        total: list[tuple[int, Term]] = []
        for before, after in pairwise(self.drafts.values()):
            for site in self.phases.first.frames:
                changed = self.model.new_bool_var("")
                later = dict(after.choices(site))
                for option, term in before.choices(site):
                    if option is not None:
                        add(self.model, term - later.get(option, 0) <= changed)
                total.append((1, changed))
        return expression(total)

    def early(self) -> Any:
        """How much is spent how early: money, by the phases that come after it."""
        last = len(self.phases.stretches) - 1
        return expression([(amount * (last - at), term) for at in range(last) for amount, term in self.spent(at)])

    def cards(self) -> Any:
        """Cards that are seated, over all phases, then straps closed."""
        layouts = [draft.layouts(site) for draft in self.drafts.values() for site in draft.survey.frames]
        closed = [(option.closed, term) for own in layouts for option, term in own if option.closed]
        card = 1 + sum(max((option.closed for option, _ in own), default=0) for own in layouts)
        return expression([*((card, seat.term) for draft in self.drafts.values() for seat in draft.seats()), *closed])

    def ordered(self) -> Any:
        """Items that are ordered, each as late as can be."""
        last = len(self.phases.stretches)
        return expression([(last - at, number) for (at, _), (_, number) in self._orders.items()])

    def order(self) -> list[Load]:
        """The first of equals, as numbers to be as small as can be: by slots and cards of each phase, then settings."""
        cards: list[list[Term]] = []
        for draft in self.drafts.values():
            slots: dict[_Place, dict[str, Term]] = {}
            for seat in draft.seats():
                slots.setdefault((seat.site.index, seat.slot), {})[seat.kind.id] = seat.term
            cards += [[own[card] for card in sorted(own)] for _, own in sorted(slots.items())]
        every = [(draft, site) for draft in self.drafts.values() for site in draft.survey.frames]
        offers = [(index, number) for (_, index), (_, number) in self._orders.items()]
        return [*digits([*cards, *([term for _, term in draft.choices(site)] for draft, site in every)]), offers]

    def ties(self) -> list[Any]:
        """What breaks ties, one after the other."""
        return [self.moved(), self._changes, self.early(), self.cards(), self.ordered()]

    # What was found

    def seatings(self, solver: cp_model.CpSolver) -> list[Seating]:
        """What a solve found, phase by phase."""
        return [draft.seating(solver) for draft in self.drafts.values()]

    def bought(self, solver: cp_model.CpSolver) -> list[Bought]:
        """What a solve orders, phase by phase."""
        counts = {key: (offer, solver.value(number)) for key, (offer, number) in self._orders.items()}
        return [Bought(at, offer, count) for (at, _), (offer, count) in sorted(counts.items(), key=_by_phase) if count]


def _by_phase(entry: tuple[tuple[int, int], Any]) -> tuple[int, str, int]:
    (at, index), (offer, _) = entry
    return at, offer.item, index


def _on(draft: CpDraft, site: FrameSite, board: str) -> Load:
    return [(1, term) for layout, term in draft.layouts(site) if layout.board == board]
