"""What a model cannot fall below: its cards counted over runs of like slots.

What rules ask of neighbours is there only as far as they can say it of counts (`Rule.relax`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from typing import TYPE_CHECKING, Any, TypeAlias

from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.search.model.cpsat import cp_model
from solver.search.model.listed import exclude
from solver.search.model.options import ROUNDS
from solver.search.model.scale import MARGIN, NEVER, Caps, Stage, sums_of
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.model.statement import RoomStatement
from solver.search.solve.bought import cost_within
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

if TYPE_CHECKING:
    from solver.search.solve.part import Shared

LONG = 30
"""Frames of more slots are long: hard slot by slot, so that they are settled over runs where that can be."""

MANY_SLOTS = 20
"""In frames of more slots it is worth to ask how many of each card there can be, in others which there can be.

It is worth there, too, to ask what can be bought.
"""

Numbers: TypeAlias = Mapping[str, tuple[int, int]]
"""How many there can be of each card, at least and at most."""

ANY = 10**6
"""More cards than any room holds."""

EFFORT = 0.05
"""Work that a bound is worth, in the solver's deterministic seconds."""

NUMBERED = 0.5
"""The same of how many cards there can be."""


class PartRelaxation:
    """The relaxation of one part of a room, small and quick to solve."""

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Layout | None]],
        kinds: Sequence[Kind],
        shared: Shared,
    ) -> None:
        self._survey = survey
        self._options = options
        self._kinds = kinds
        self._limits = shared.limits
        self._scale = shared.scale
        self._purchases = shared.purchases
        self._rooms: dict[tuple[str, ...], RoomStatement] = {}
        self._numbered = any(len(site.slots) > MANY_SLOTS for site in survey.frames)

    def _stated(self, cost: int | None) -> RoomStatement:
        """The model with the cards that there can be within a cost, which is copied and never solved itself."""
        kinds = self._purchases.kinds_within(self._kinds, cost)
        key = tuple(kind.id for kind in kinds)
        if key not in self._rooms:
            room = RoomStatement(
                self._survey,
                self._options,
                kinds,
                self._limits,
                slot_by_slot=False,
                margin_mk=self._survey.refuse_mk,
                whole_cards=len(self._survey.frames) > 1,
            )
            room.cost()  # before the model is copied
            self._rooms[key] = room
        return self._rooms[key]

    def bound(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None) -> int:
        """What the least value of a stage under caps cannot fall below, apart from listed builds.

        Greater values than a cutoff are all one.
        """
        within = caps if cutoff is None else {**caps, stage: min(cutoff, caps.get(stage, cutoff))}
        room = self._kept(within, listed)
        objective = self._sum(room, stage)
        if isinstance(objective, int):
            return objective
        room.model.minimize(objective)
        status, solver = solve(room.model, clock, EFFORT, easy=0)
        if status == "none":
            return NEVER if cutoff is None else cutoff + 1
        return -NEVER if status == "late" else ceil(solver.best_objective_bound - 1e-6)

    def first(
        self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None, lower: int
    ) -> tuple[int, bool]:
        """The same, at first among what can be bought for a known cost; whether it is known beyond that too."""
        reach = self._purchases.reach(self._scale, stage, lower)
        bound = self.bound(stage, caps, listed, clock, cutoff if reach is None else reach)
        return bound, reach is None or bound <= reach

    @property
    def knows_purchases(self) -> bool:
        """Whether it is known what can be bought for some cost."""
        return self._purchases.known

    def learn_purchases(self, cost: int, clock: Clock) -> None:
        """Find out what can be bought for a cost."""
        self._purchases.find(self._kept({}, ()), cost, clock)

    def numbers(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Numbers | None:
        """How many of each card builds within caps can hold, apart from listed ones; None if that is hard to say.

        Where sums are capped at their least values that is mostly one number of each. Where there are many, it is said
        at least which cards there can be.
        """
        room = self._kept(caps, listed)
        loads = {item: expression(load) for item, load in room.taken.items() if item in self._survey.kinds}
        found: dict[str, tuple[int, int]] = {}
        exact = self._numbered
        for turn in range(2 * ROUNDS):
            exact = exact and turn < ROUNDS
            model = room.model.clone()
            if found and exact:
                _differ(model, loads, found)
            elif found:
                add(model, sum(load for item, load in loads.items() if not found[item][1]) >= 1)
            effort = NUMBERED if exact else EFFORT
            status, solver = solve(model, clock, effort, any_will_do=True, easy=0)
            if status == "none":
                return found if exact else {item: (0, ANY * min(most, 1)) for item, (_, most) in found.items()}
            if status not in ("found", "proven"):
                if not found or not exact:
                    return None
                exact = False
                continue
            for item, load in loads.items():
                value = solver.value(load)
                least, most = found.get(item, (value, value))
                found[item] = min(least, value), max(most, value)
        return None

    def _kept(self, caps: Caps, listed: Sequence[Seating]) -> RoomStatement:
        cost = cost_within(self._scale, caps)
        room = self._stated(cost).copy()
        for seating in listed:
            exclude(self._survey, room, seating)
        room.keep(caps.get(MARGIN, self._survey.refuse_mk))
        for stage, cap in sums_of(caps):
            add(room.model, self._sum(room, stage) <= cap)
        self._purchases.hold(room, cost)
        return room

    def _sum(self, room: RoomStatement, stage: Stage) -> Any:
        return expression(self._scale.load(stage, room.criterion))


def _differ(model: cp_model.CpModel, loads: Mapping[str, Any], numbers: Numbers) -> None:
    """Ask for more or fewer of some card than it is known that there can be."""
    others: list[cp_model.IntVar] = []
    for item, (least, most) in numbers.items():
        if isinstance(loads[item], int):
            continue
        for row in (loads[item] <= least - 1, loads[item] >= most + 1):
            others.append(model.new_bool_var(""))
            model.add(row).only_enforce_if(others[-1])
    model.add_bool_or(others)
