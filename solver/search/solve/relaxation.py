"""What a model cannot fall below: its cards counted over runs of like slots.

What rules ask of neighbours is there only as far as they can say it of counts (`Rule.relax`).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.rules.limit import Limit, Load, Rule
from solver.search.model.listed import exclude
from solver.search.model.options import ROUNDS
from solver.search.model.scale import MARGIN, NEVER, Caps, Scale, Stage, sums_of
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.model.statement import RoomStatement
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

LONG = 30
"""Frames of more slots are long: hard slot by slot, so that they are settled over runs where that can be."""

MANY_SLOTS = 20
"""Frames of more slots are given cutting planes over runs at once."""

EFFORT = 0.05
"""Work that a bound is worth, in the solver's deterministic seconds."""


class PartRelaxation:
    """The relaxation of one part of a room, small and quick to solve."""

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Layout | None]],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        scale: Scale,
    ) -> None:
        self._survey = survey
        self._scale = scale
        self._easy = 0
        self._room = RoomStatement(
            survey,
            options,
            kinds,
            limits,
            slot_by_slot=False,
            margin_mk=survey.refuse_mk,
            whole_cards=len(survey.frames) > 1,
        )
        self._room.cost()  # before the model is copied

    def _load(self, stage: Stage) -> Load:
        return [
            (weight * amount // self._scale.units.get(criterion, 1), term)
            for criterion, weight in self._scale.weights(stage)
            for amount, term in self._room.criterion(criterion)
        ]

    def bound(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None) -> int:
        """What the least value of a stage under caps cannot fall below, apart from listed builds.

        Greater values than a cutoff are all one.
        """
        model = self._kept(caps, listed).model
        objective = expression(self._load(stage))
        if isinstance(objective, int):
            return objective
        if cutoff is not None:
            model.add(objective <= cutoff)
        model.minimize(objective)
        status, solver = solve(model, clock, EFFORT, easy=self._easy)
        if status == "none":
            return NEVER if cutoff is None else cutoff + 1
        return -NEVER if status == "late" else ceil(solver.best_objective_bound - 1e-6)

    def usable(self, caps: Caps, clock: Clock) -> frozenset[str] | None:
        """The cards that builds within caps can hold; None where that takes too long to say."""
        room = self._kept(caps, ())
        left = {item: load for item, load in room.taken.items() if item in self._survey.kinds}
        found: set[str] = set()
        for _ in range(ROUNDS):
            # The cards that are left grow fewer, so that each row makes the one before it needless.
            add(room.model, expression([entry for load in left.values() for entry in load]) >= 1)
            status, solver = solve(room.model, clock, EFFORT, any_will_do=True, easy=self._easy)
            if status == "none":
                return frozenset(found)
            if status not in ("found", "proven"):
                return None
            taken = [item for item, load in left.items() if any(solver.value(term) for _, term in load)]
            found.update(taken)
            for item in taken:
                del left[item]
        return None

    def _kept(self, caps: Caps, listed: Sequence[Seating]) -> RoomStatement:
        room = self._room.copy()
        for seating in listed:
            exclude(self._survey, room, seating)
        room.keep(caps.get(MARGIN, self._survey.refuse_mk))
        for stage, cap in sums_of(caps):
            add(room.model, expression(self._load(stage)) <= cap)
        return room
