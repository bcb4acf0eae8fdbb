"""What rooms share: which of their allotments together keep stock, offers, budget and caps, at the least value.

`Relaxation` takes fractions of allotments and puts a price on every item; `whole` takes allotments whole.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import gcd
from typing import Any

from ortools.linear_solver import pywraplp

from solver.room.survey import Survey
from solver.rules.limit import Term
from solver.search.model.allotment import PARTS, SHORTS, Allotment, Weights
from solver.search.model.buying import buy
from solver.search.model.cpsat import Model, cp_model, steady_solver
from solver.search.model.services import expression
from solver.search.model.statement import RoomStatement
from solver.search.solve.clock import Clock

UNBUILT = "unbuilt"
"""The criterion that comes first: rooms that get no allotment."""

SCALE = 1 << 16
"""Prices of items are fractions; they are counted in so many parts, so that every bound is exact."""


@dataclass(frozen=True)
class Question:
    """What is minimised, what has to be kept meanwhile, and the cooling margin that every room keeps.

    A value that is `enough`, money in the purse's units, need not be bettered; without one the least is asked for.
    `stage` is what those who wait are told in place of its figures.
    """

    criterion: str
    caps: tuple[tuple[str, int], ...]
    margin_mk: int
    enough: int | None = None
    stage: str | None = None

    def least_above(self, value: int | None) -> int | None:
        """What has still to be undercut when a value is found, or none; None where nothing has to, or what is open."""
        if self.enough is None:
            return value
        if value is None:
            return self.enough + 1
        return None if value <= self.enough else self.enough + 1

    @property
    def room_criteria(self) -> tuple[str, ...]:
        """The criteria in play that are sums over rooms."""
        named = {self.criterion, *(c for c, _ in self.caps)}
        return tuple(sorted(named - {UNBUILT, "cost"}))


class Purse:
    """Stock, offers and budget, with money in the largest unit that measures every price."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.items = sorted({*survey.stock, *survey.offers})
        self.unit = gcd(*(offer.price for own in survey.offers.values() for offer in own)) or 1

    def stock(self, item: str) -> int:
        """How many of an item are there already."""
        return self.survey.stock.get(item, 0)

    def offers(self, item: str) -> list[tuple[int, int | None]]:
        """Price in units and greatest number, offer by offer."""
        return [(offer.price // self.unit, offer.at_most) for offer in self.survey.offers.get(item, ())]

    def money(self, question: Question) -> int | None:
        """The most that may be spent, in units; None for no limit."""
        caps = [cap for criterion, cap in question.caps if criterion == "cost"]
        caps += [] if self.survey.budget is None else [self.survey.budget]
        return min(caps) // self.unit if caps else None


@dataclass(frozen=True)
class Prices:
    """What the relaxation thinks that things are worth, in parts of `SCALE`, all exact integers."""

    value: float
    rooms: tuple[float, ...]
    items: Mapping[str, int]
    money: int
    caps: Mapping[str, int]

    def weights(self, question: Question) -> Weights:
        """What each room should minimise at these prices."""
        parts = dict.fromkeys((*PARTS, *SHORTS), 0)
        for criterion, price in [*self.caps.items(), (question.criterion, SCALE)]:
            for part in PARTS if criterion == "unused" else (criterion,):
                if part in parts:
                    parts[part] += price
        return Weights(self.items, parts)

    def bound(self, question: Question, purse: Purse, counts: Sequence[int], least: Sequence[int]) -> int:
        """A value that nothing can fall below (Lagrange), in parts of `SCALE`, from each room's least weighted sum."""
        total = sum(n * value for n, value in zip(counts, least, strict=True))
        paid = self.money + (SCALE if question.criterion == "cost" else 0)
        for item in purse.items:
            worth = self.items.get(item, 0)
            total -= worth * purse.stock(item)
            for price, at_most in purse.offers(item):
                gain = worth - price * paid
                if gain > 0:
                    if at_most is None:
                        raise ValueError(f"{item} is priced above an offer without end")
                    total -= gain * at_most
        total -= self.money * (purse.money(question) or 0)
        return total - sum(self.caps[criterion] * cap for criterion, cap in question.caps if criterion in self.caps)


class Relaxation:
    """The linear relaxation over the allotments known so far.

    What `buy` says to CP-SAT is said here to a solver of fractions, which tells what each of its rows is worth.
    """

    def __init__(self, question: Question, purse: Purse, counts: Sequence[int]) -> None:
        self._question = question
        self._purse = purse
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = self._solver.infinity()
        self._rooms = [self._solver.Constraint(n, n) for n in counts]
        self._items = {item: self._solver.Constraint(-infinity, purse.stock(item)) for item in purse.items}
        money = purse.money(question)
        self._money = None if money is None else self._solver.Constraint(-infinity, money)
        self._caps = {c: self._solver.Constraint(-infinity, cap) for c, cap in question.caps if c != "cost"}
        self._objective = self._solver.Objective()
        self._objective.SetMinimization()
        for item in purse.items:
            for price, at_most in purse.offers(item):
                bought = self._solver.NumVar(0, infinity if at_most is None else at_most, "")
                self._items[item].SetCoefficient(bought, -1)
                if self._money is not None:
                    self._money.SetCoefficient(bought, price)
                if question.criterion == "cost":
                    self._objective.SetCoefficient(bought, price)
        if question.criterion == UNBUILT:
            for row, n in zip(self._rooms, counts, strict=True):
                unbuilt = self._solver.NumVar(0, n, "")
                row.SetCoefficient(unbuilt, 1)
                self._objective.SetCoefficient(unbuilt, 1)

    def add(self, room: int, allotment: Allotment) -> None:
        """Let rooms of a group take an allotment."""
        taken = self._solver.NumVar(0, self._solver.infinity(), "")
        self._rooms[room].SetCoefficient(taken, 1)
        for item, count in allotment.items:
            self._items[item].SetCoefficient(taken, count)
        for criterion, row in self._caps.items():
            row.SetCoefficient(taken, allotment.value(criterion))
        if self._question.criterion not in (UNBUILT, "cost"):
            self._objective.SetCoefficient(taken, allotment.value(self._question.criterion))

    def prices(self) -> Prices | None:
        """Prices at the least value; None if the known allotments cannot keep the limits."""
        if self._solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None

        def worth(row: Any) -> int:
            return 0 if row is None else max(0, round(-row.dual_value() * SCALE))

        money = worth(self._money)
        paid = money + (SCALE if self._question.criterion == "cost" else 0)
        items = {}
        for item, row in self._items.items():
            endless = [price * paid for price, at_most in self._purse.offers(item) if at_most is None]
            items[item] = min([worth(row), *endless])
        return Prices(
            value=self._objective.Value(),
            rooms=tuple(row.dual_value() for row in self._rooms),
            items=items,
            money=money,
            caps={criterion: worth(row) for criterion, row in self._caps.items()},
        )


@dataclass(frozen=True)
class Whole:
    """Whole allotments: their value (None: nothing found), whether nothing better can be made of what was offered.

    `taken` holds, group by group, how many rooms take an allotment.
    """

    value: int | None
    proven: bool
    taken: tuple[tuple[tuple[int, Allotment], ...], ...] = ()


State = Callable[[cp_model.CpModel], RoomStatement]
"""States a room in a model."""


def whole(
    question: Question,
    purse: Purse,
    counts: Sequence[int],
    known: Sequence[Sequence[Allotment]],
    stated: Sequence[State | None],
    bound: int,
    clock: Clock,
    effort: float,
) -> Whole:
    """Take whole allotments at the least value; money counts in the purse's units.

    Parameters
    ----------
    known
        Allotments to choose from, group by group.
    stated
        For each group None, or how to state a room of it, which then may be anything and not only what is known.
    bound
        A value that nothing falls below.
    effort
        The most that may be spent, in the solver's deterministic seconds.
    """
    model = Model()
    may_skip = question.criterion == UNBUILT
    groups = [
        _Choice.of(model, n, own, state, may_skip=may_skip) for n, own, state in zip(counts, known, stated, strict=True)
    ]
    use: dict[str, list[tuple[int, Term]]] = {item: [] for item in purse.items}
    most = dict.fromkeys(purse.items, 0)
    for group in groups:
        group.count_items(use, most)
    spent: list[tuple[int, Term]] = []
    for item, load in use.items():
        spent += buy(model, load, purse.stock(item), purse.offers(item), most[item])
    money = purse.money(question)
    if money is not None and spent:
        model.add(expression(spent) <= money)
    totals = {c: sum(term for group in groups for term in group.criterion(c)) for c in question.room_criteria}
    for criterion, cap in question.caps:
        if criterion in totals:
            model.add(totals[criterion] <= cap)
    if question.criterion == UNBUILT:
        goal: Any = sum(group.skipped for group in groups)
    else:
        goal = expression(spent) if question.criterion == "cost" else totals[question.criterion]
    if not isinstance(goal, int):
        model.add(goal >= bound)
        model.minimize(goal)
    solver = steady_solver()
    solver.parameters.max_deterministic_time = effort
    status = clock.solve(solver, model)
    if status not in ("proven", "found"):
        return Whole(None, status == "none")
    value = goal if isinstance(goal, int) else round(solver.objective_value)
    return Whole(value, status == "proven", tuple(group.taken(solver) for group in groups))


@dataclass(frozen=True)
class _Choice:
    """What the rooms of a group may take: how many of them each known allotment, or anything, each stated by itself."""

    rooms: int
    allotments: Sequence[tuple[Any, Allotment]] = ()
    stated: Sequence[RoomStatement] = ()
    skipped: Any = 0
    """How many of them are not built."""

    @classmethod
    def of(
        cls, model: Model, rooms: int, known: Sequence[Allotment], state: State | None, *, may_skip: bool
    ) -> _Choice:
        """State it in a model."""
        if state is not None:
            return cls(rooms, stated=[state(model) for _ in range(rooms)])
        own = [(model.new_int_var(0, rooms, ""), allotment) for allotment in known]
        skipped = model.new_int_var(0, rooms if may_skip else 0, "")
        model.add(sum(taken for taken, _ in own) + skipped == rooms)
        return cls(rooms, own, skipped=skipped)

    def count_items(self, use: dict[str, list[tuple[int, Term]]], most: dict[str, int]) -> None:
        """Add how many of each item they take, and the most that they could."""
        for taken, allotment in self.allotments:
            for item, count in allotment.items:
                use[item].append((count, taken))
                most[item] += count * self.rooms
        for room in self.stated:
            for item, terms in room.taken.items():
                use[item] += terms
                most[item] += room.most[item]

    def criterion(self, name: str) -> list[Any]:
        """The terms that a criterion of theirs adds up."""
        own = [allotment.value(name) * taken for taken, allotment in self.allotments]
        return [*own, *(amount * term for room in self.stated for amount, term in room.criterion(name))]

    def taken(self, solver: cp_model.CpSolver) -> tuple[tuple[int, Allotment], ...]:
        """What a solution takes: how many rooms which allotment, in order of ids."""
        found: Counter[Allotment] = Counter(room.allotment(solver) for room in self.stated)
        for taken, allotment in self.allotments:
            found[allotment] += solver.value(taken)
        return tuple((n, a) for a, n in sorted(found.items(), key=lambda pair: pair[0].items) if n)
