"""The model over runs of several frames that questions about some settings start from: copied, then held to caps."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from typing import Any

from solver.room.kind import Kind
from solver.room.survey import Survey
from solver.search.model.basis import Option
from solver.search.model.scale import MARGIN, TIES, Caps, Scale, Stage, sums_of
from solver.search.model.services import add, expression
from solver.search.model.statement import RoomStatement
from solver.search.solve.part import Shared


class OverRuns:
    """A model over runs that is never solved itself, and what stages minimise in it and in all copies of it."""

    def __init__(
        self, survey: Survey, options: Sequence[Sequence[Option]], kinds: Sequence[Kind], shared: Shared
    ) -> None:
        self._survey = survey
        self._scale = shared.scale
        self._room = RoomStatement(
            survey,
            options,
            kinds,
            shared.limits,
            slot_by_slot=False,
            margin_mk=survey.refuse_mk,
            whole_cards=True,
        )
        self._room.cost()
        _in_order(survey, self._room)

    @cached_property
    def _tied(self) -> tuple[RoomStatement, Any]:
        room = self._room.copy()
        return room, expression(room.ties())

    def goal(self, stage: Stage) -> Any:
        """What a stage minimises: that of ties in copies that have them."""
        if stage == MARGIN:
            return 0
        return self._tied[1] if stage == TIES else summed(self._room, self._scale, stage)

    def guide(self, caps: Caps) -> Any:
        """What to minimise where anything that keeps the caps will do: the widest of the sums that are capped."""
        widest = max((sums for sums, _ in sums_of(caps)), key=len, default=None)
        return 0 if widest is None else self.goal(widest)

    def kept(self, caps: Caps, *, tied: bool) -> RoomStatement:
        """A copy that keeps caps; `tied` says that it is asked for ties or has them capped."""
        room = (self._tied[0] if tied else self._room).copy()
        keep(room, self._scale, caps, self._tied[1] if tied else 0, self._survey.refuse_mk)
        return room


def summed(room: RoomStatement, scale: Scale, stage: Stage) -> Any:
    """The weighted criteria of a stage."""
    return expression(scale.load(stage, room.criterion))


def keep(room: RoomStatement, scale: Scale, caps: Caps, ties: Any, refuse_mk: int) -> None:
    """Hold a room to caps."""
    room.keep(caps.get(MARGIN, refuse_mk))
    for stage, cap in caps.items():
        if stage == TIES:
            add(room.model, ties <= cap)
        elif stage != MARGIN:
            add(room.model, summed(room, scale, stage) <= cap)


def _in_order(survey: Survey, room: RoomStatement) -> None:
    """Frames that nothing tells apart have their layouts in order, those that are not used last."""
    for group in survey.groups_of_alike_frames():
        for first, second in pairwise(group):
            choices = [room.choices(survey.frames[i]) for i in (first, second)]
            if [option for option, _ in choices[0]] == [option for option, _ in choices[1]]:
                places = [expression([(n, term) for n, (_, term) in enumerate(own)]) for own in choices]
                add(room.model, places[0] <= places[1])
