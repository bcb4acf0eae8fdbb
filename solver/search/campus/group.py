"""Like rooms of a campus, and what is known of what one of them can be built of."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from heapq import heapify, heappop, heappush

from solver.room.straps import Layout
from solver.room.survey import FrameSite, Need, Survey
from solver.search.campus.purse import Question, State
from solver.search.campus.roommodel import RoomModel, limits_of_its_own, room_models
from solver.search.model.allotment import Allotment, Found, Weights
from solver.search.model.cpsat import cp_model
from solver.search.model.options import useful_kinds
from solver.search.model.seating import Seating
from solver.search.model.statement import RoomStatement
from solver.search.solve.clock import Clock, SearchError

NOTHING = 10**18
"""The weighted sum of a room that nothing can be built of."""


def nature(survey: Survey) -> str:
    """What tells rooms apart, but for the names of rooms, frames and needs."""
    needs = sorted(_asking(need) for need in survey.needs)
    frames = sorted(repr((site.alike, site.air)) for site in survey.frames)
    return repr((survey.family, needs, frames, sorted((c, n) for c, n, _ in survey.must_seat)))


def frame_order(survey: Survey) -> list[FrameSite]:
    """Frames of a room in an order that like rooms share."""
    return sorted(survey.frames, key=lambda site: (repr((site.alike, site.air)), site.name))


def need_order(survey: Survey) -> list[Need]:
    """Needs of a room in an order that like rooms share."""
    return sorted(survey.needs, key=lambda need: (_asking(need), need.name))


def _asking(need: Need) -> tuple[object, ...]:
    """What a need asks for; its name too, where others speak of it or it asks for frames by theirs."""
    particular = (need.name, repr(need.wanted), repr(need.one_of)) if need.wanted or need.one_of else ()
    return need.direction, need.ask, need.channels, need.spare, need.nice, need.critical, particular


def _together(own: Sequence[Sequence[Layout | None]]) -> list[Layout | None]:
    """The options of one frame over several models, each once."""
    found: list[Layout | None] = []
    for options in own:
        found += [option for option in options if option not in found]
    return found


class Group:
    """Rooms that only names tell apart, and the allotments known for one of them, for each cooling margin to keep.

    `rooms` are their indices in the campus.
    """

    def __init__(self, surveys: Sequence[Survey], rooms: list[int]) -> None:
        self.survey = surveys[rooms[0]]
        self.rooms = rooms
        self._kinds = useful_kinds(self.survey)
        self._known: dict[int, list[Allotment]] = {}
        self._slot_by_slot: set[int] = set()
        self._sure: set[tuple[Allotment, int]] = set()
        self._models: dict[tuple[bool, int], list[RoomModel]] = {}
        self._hints: dict[Allotment, int] = {}
        self._seated: dict[tuple[Allotment, tuple[str, ...], int], Seating | None] = {}

    def known(self, margin_mk: int) -> list[Allotment]:
        """The allotments known; at first those of the next lower margin, which may turn out too warm."""
        if margin_mk not in self._known:
            lower = [margin for margin in self._known if margin < margin_mk]
            self._known[margin_mk] = list(self._known[max(lower)]) if lower else []
        return self._known[margin_mk]

    def slot_by_slot(self, margin_mk: int) -> bool:
        """Whether an allotment of the models over runs could not be seated."""
        return any(margin <= margin_mk for margin in self._slot_by_slot)

    def learn(self, allotment: Allotment, margin_mk: int) -> None:
        """Know one more allotment."""
        self.known(margin_mk).append(allotment)
        if self.slot_by_slot(margin_mk):
            self._sure.add((allotment, margin_mk))

    def strike(self, margin_mk: int) -> None:
        """Take out every allotment of which the models over runs claim what may not be so, and use them no more."""
        if all((allotment, margin_mk) in self._sure for allotment in self.known(margin_mk)):
            raise SearchError(f"frames {[site.name for site in self.survey.frames]}: seats found are lost again")
        self._slot_by_slot.add(margin_mk)
        self._known[margin_mk] = [a for a in self.known(margin_mk) if (a, margin_mk) in self._sure]

    def models(self, margin_mk: int) -> list[RoomModel]:
        """The models that say what the rooms can be built of."""
        return self._models_at(margin_mk, self.slot_by_slot(margin_mk))

    def _over_runs(self, margin_mk: int) -> list[RoomModel]:
        """The models over runs that bound those slot by slot; none where they are all there is."""
        return self._models_at(margin_mk, False) if self.slot_by_slot(margin_mk) else []

    def _models_at(self, margin_mk: int, slot_by_slot: bool) -> list[RoomModel]:
        key = (slot_by_slot, margin_mk)
        if key not in self._models:
            found = room_models(self.survey, self._kinds, slot_by_slot=slot_by_slot, margin_mk=margin_mk)
            self._models[key] = list(found)
        return self._models[key]

    def least(self, weights: Weights, margin_mk: int, dear: int, clock: Clock) -> Found:
        """The allotment of the least weighted sum, as far as it is below `dear`; else what it cannot fall below.

        The model that can be lowest is asked first; slot by slot only once the same over runs, which takes a fraction
        of the work, says that it can be low enough.
        """
        models = self.models(margin_mk)
        over_runs = self._over_runs(margin_mk)
        waiting = [(model.floor(weights), not over_runs, index) for index, model in enumerate(models)]
        heapify(waiting)
        best = Found(None, True)
        while waiting:
            floor, ready, index = heappop(waiting)
            if best.least is not None and best.least <= floor:
                return best
            if floor >= dear:
                return Found(None if floor >= NOTHING else floor, True, best.allotment)
            found = (models if ready else over_runs)[index].least(weights, clock)
            if not found.proven:
                return found
            if not ready:
                bound = NOTHING if found.least is None else found.least
                heappush(waiting, (max(floor, bound), True, index))
            elif found.allotment is not None and found.least is not None:
                self._hints.setdefault(found.allotment, index)
                if best.least is None or found.least < best.least:
                    best = found
        return best

    def within(
        self, weights: Weights, most: int, listed: int, question: Question, clock: Clock
    ) -> tuple[list[Allotment], State | None]:
        """All further allotments up to a weighted sum that no other one makes needless.

        Where they are more than so many, some of them and how to state a room that may be any of them.
        """
        criteria, margin_mk = question.room_criteria, question.margin_mk
        found: list[Allotment] = []
        near = [(p, model) for p, model in enumerate(self.models(margin_mk)) if model.floor(weights) <= most]
        for index, model in near:
            asked = [twin.copy() for twin in (*self._over_runs(margin_mk)[index : index + 1], model)]
            for allotment in [*self.known(margin_mk), *found]:
                for twin in asked:
                    twin.exclude(allotment, criteria)
            while True:
                for twin in asked:  # slot by slot last: where counts allow nothing more, that is no question
                    answer = twin.least(weights, clock)
                    if not answer.proven or answer.least is None or answer.least > most:
                        break
                if not answer.proven or len(found) >= listed:
                    options = [_together(own) for own in zip(*(m.options for _, m in near), strict=True)]
                    return found, partial(self._state, options, margin_mk, weights, most)
                if answer.allotment is None or answer.least is None or answer.least > most:
                    break
                self._hints.setdefault(answer.allotment, index)
                found.append(answer.allotment)
                for twin in asked:
                    twin.exclude(answer.allotment, criteria)
        return found, None

    def _state(
        self,
        options: Sequence[Sequence[Layout | None]],
        margin_mk: int,
        weights: Weights,
        most: int,
        shared: cp_model.CpModel,
    ) -> RoomStatement:
        """State a room with a weighted sum up to some value in a model that it shares."""
        by_slot = self.slot_by_slot(margin_mk)
        room = RoomStatement(
            self.survey,
            options,
            self._kinds,
            limits_of_its_own(self.survey),
            slot_by_slot=by_slot,
            margin_mk=margin_mk,
            short_known=False,
            model=shared,
        )
        room.keep_within(weights, most)
        return room

    def seat(
        self, allotment: Allotment, criteria: tuple[str, ...], margin_mk: int, clock: Clock
    ) -> tuple[Seating | None, bool]:
        """Where an allotment's cards stand, with no more of some criteria than it claims; whether that is final."""
        key = (allotment, criteria, margin_mk)
        if key not in self._seated:
            items = dict(allotment.items)
            kinds = [kind for kind in self._kinds if kind.id in items]
            models = list(room_models(self.survey, kinds, slot_by_slot=True, margin_mk=margin_mk))
            hint = self._hints.get(allotment, 0)
            seats = None
            for model in models[hint : hint + 1] + models[:hint] + models[hint + 1 :]:
                model.fix(allotment, criteria)
                found = model.least(Weights({}, {}), clock)
                if found.seating is not None:
                    seats = found.seating
                    break
                if not found.proven:
                    return None, False
            self._seated[key] = seats
        return self._seated[key], True
