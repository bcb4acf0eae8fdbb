"""One model of a room, asked for the least weighted sum of what it takes and leaves unused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Self

from solver import rules
from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, Direction
from solver.rules.limit import Limit, Load, Rule
from solver.search.model.allotment import Allotment, Found, Weights
from solver.search.model.cpsat import cp_model, steady_solver
from solver.search.model.options import options_of
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.model.statement import RoomStatement
from solver.search.solve.clock import Clock

ANSWERS_KEPT = 8
"""Of so many answers a model remembers what they say about others."""


class RoomModel(RoomStatement):
    """A room in a model of its own, which remembers what it answered."""

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Layout | None]],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        *,
        slot_by_slot: bool,
        margin_mk: int,
    ) -> None:
        super().__init__(
            survey, options, kinds, limits, slot_by_slot=slot_by_slot, margin_mk=margin_mk, short_known=False
        )
        self._answered: list[tuple[Weights, int]] = []
        self._fewer: dict[tuple[str, int], Any] = {}

    def floor(self, weights: Weights) -> int:
        """What the least weighted sum cannot fall below, from answers at other weights."""
        return max((value - self._dearer(before, weights) for before, value in self._answered), default=-(10**18))

    def _dearer(self, before: Weights, now: Weights) -> int:
        """By how much any allotment's weighted sum can have fallen since."""
        fallen = sum(
            (weight - now.items.get(item, 0)) * most
            for item, most in self.most.items()
            if (weight := before.items.get(item, 0)) > now.items.get(item, 0)
        )
        if any(weight > now.parts.get(part, 0) for part, weight in before.parts.items()):
            return 10**18
        return fallen

    def least(self, weights: Weights, clock: Clock) -> Found:
        """The least weighted sum, proven unless the clock ends it."""
        goal = expression(self.weighed(weights))
        self.model.minimize(goal)
        solver = _solver()
        status = clock.solve(solver, self.model)
        if status == "none":
            self._remember(weights, 10**18)
            return Found(None, True)
        if status in ("open", "late"):
            return Found(None, False)
        value = goal if isinstance(goal, int) else round(solver.objective_value)
        if status == "proven":
            self._remember(weights, value)
        return Found(value, status == "proven", self.allotment(solver), self._seating(solver))

    def _remember(self, weights: Weights, value: int) -> None:
        self._answered = [*self._answered[-ANSWERS_KEPT + 1 :], (weights, value)]

    def fix(self, allotment: Allotment, criteria: Sequence[str]) -> None:
        """Ask for exactly these items, and for no more of some criteria."""
        counts = dict(allotment.items)
        for item in sorted({*self.taken, *counts}):
            add(self.model, expression(self.taken.get(item, [])) == counts.get(item, 0))
        self.cap({c: allotment.value(c) for c in criteria})

    def cap(self, most: Mapping[str, int]) -> None:
        """Keep criteria within values."""
        for criterion, value in most.items():
            add(self.model, expression(self.criterion(criterion)) <= value)

    def exclude(self, allotment: Allotment, criteria: Sequence[str]) -> None:
        """Ask for fewer of some item than an allotment has, or less of some criterion."""
        ways = [self._no_more(item, count - 1, self.taken.get(item, [])) for item, count in allotment.items]
        ways += [self._no_more(c, allotment.value(c) - 1, self.criterion(c)) for c in criteria]
        self.model.add_bool_or(ways)

    def _no_more(self, name: str, most: int, terms: Load) -> Any:
        """A literal that keeps a sum within a value."""
        if (name, most) not in self._fewer:
            fewer = self.model.new_bool_var("")
            self.model.add(expression(terms) <= most).only_enforce_if(fewer)
            self._fewer[name, most] = fewer
        return self._fewer[name, most]

    def copy(self) -> Self:
        """The same on a copy of the model, so that more can be asked of the copy alone."""
        twin = super().copy()
        twin._fewer = dict(self._fewer)
        return twin

    def _seating(self, solver: cp_model.CpSolver) -> Seating | None:
        if not self.slot_by_slot:
            return None
        layouts: list[Layout | None] = []
        cards = []
        ends: dict[Direction, dict[int, int]] = {d: {} for d in DIRECTIONS}
        for own in self.frames:
            option = next(o for o in own if isinstance(o.chosen, int) or solver.boolean_value(o.chosen))
            layouts.append(option.layout)
            taken = [(p.slot, p.kind.id) for p in option.placements if solver.value(p.term)]
            cards.append(tuple(sorted(taken)))
            for direction in DIRECTIONS:
                last = [slot for slot, up_to in option.last_slots.get(direction, []) if solver.value(up_to)]
                ends[direction][option.site.index] = max(last, default=0)
        return Seating(tuple(layouts), tuple(cards), ends if self._with_holes else None)


def _solver() -> cp_model.CpSolver:
    solver = steady_solver()
    parameters = solver.parameters
    # Small models asked many times: presolve costs more than it saves.
    parameters.cp_model_presolve = False
    parameters.symmetry_level = 0
    parameters.linearization_level = 1
    return solver


def limits_of_its_own(survey: Survey) -> list[tuple[Rule, Limit]]:
    """What a room keeps by itself, but for margins; of what rooms share, how many of an item it could take at all."""
    return [(rule, limit) for rule, limit in rules.limits(survey) if not rule.graded and not rule.limits_money]


def room_models(survey: Survey, kinds: Sequence[Kind], *, slot_by_slot: bool, margin_mk: int) -> Iterator[RoomModel]:
    """The models that together say what a room can be built of."""
    limits = limits_of_its_own(survey)
    for options in options_of(survey):
        yield RoomModel(survey, options, kinds, limits, slot_by_slot=slot_by_slot, margin_mk=margin_mk)
