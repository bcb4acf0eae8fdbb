"""A room of several frames as one question: settings are chosen for all frames at once, then each choice is tried.

A model that counts alike frames together (`model/alike.py`) gives bounds and the settings that reach them; what these
settings can really do is asked of a model of their own over runs (`several.py`), which seats each frame. Settings that
have been asked are kept out from then on, and what is known of them is remembered: they are asked again where nothing
else can be better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from heapq import heapify, heappop, heappush
from math import ceil, prod
from typing import Any

from solver.room.straps import Layout
from solver.room.survey import Kind, Survey
from solver.search.model.alike import AlikeStatement, Given
from solver.search.model.basis import Option
from solver.search.model.cpsat import cp_model
from solver.search.model.options import all_options
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.clock import Clock, Outcome
from solver.search.solve.part import Answer, Part, Shared, digits_at_once
from solver.search.solve.several import Several
from solver.search.solve.solving import Way, hint, new_solver, solve

FEW_MODELS = 64
"""Up to so many combinations of settings are asked slot by slot, each in a model of its own."""

MOST_FRAMES = 24
"""Rooms of more frames are asked slot by slot."""

MOST_CLASSES = 4000
"""Up to so many classes are counted, of all frames that nothing but their names tells apart."""

CHOOSING, TRYING = 3.0, 1.0
"""Work to choose settings at first, and to try some at first, in the solver's deterministic seconds."""


def together(survey: Survey, kinds: Sequence[Kind], shared: Shared) -> Together | None:
    """The model of a room of several frames; None where it is better asked slot by slot.

    Over runs nothing says which numbers carry a need, or which card stays in its slot.
    """
    every = all_options(survey)
    if (
        survey.particular
        or survey.from_what_stands
        or not 2 <= len(every) <= MOST_FRAMES
        or prod(map(len, every)) <= FEW_MODELS
    ):
        return None
    classes = sum(
        prod(2 + len({block.width for block in layout.blocks(d)}) for d in ("in", "out"))
        for group in survey.groups_of_alike_frames()
        for layout in survey.frames[group[0]].candidates
    )
    return Together(survey, every, kinds, shared) if classes <= MOST_CLASSES else None


@dataclass(frozen=True)
class _Choice:
    """What the counting model says: a bound for all settings not kept out, and what it would choose."""

    bound: int
    value: int | None = None
    frames: tuple[Given | None, ...] = ()

    @property
    def options(self) -> tuple[Option, ...]:
        """The layout of each frame."""
        return tuple(None if own is None else own.layout for own in self.frames)


_Key = tuple[int, ...]


class Together(Part):
    """All settings of all frames."""

    spare = 500

    def __init__(
        self, survey: Survey, options: Sequence[Sequence[Layout | None]], kinds: Sequence[Kind], shared: Shared
    ) -> None:
        super().__init__(survey, options, kinds, shared)
        self._statements: dict[int, AlikeStatement] = {}
        self._tied: dict[int, tuple[AlikeStatement, Any]] = {}
        self._tried: dict[_Key, tuple[tuple[Option, ...], Several]] = {}

    def unasked(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> bool:
        """The counting model itself gives the first bound."""
        return False

    def outlook(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None) -> Answer:
        """A first bound from the counting model alone."""
        choice = self._choose(self._kept(caps, tied=False), stage, caps, clock, CHOOSING, cutoff, {})
        self._know(stage, caps, choice.bound)
        return Answer(None, None, self.lower(stage, caps))

    def minimise(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None = None,
        effort: float | None = None,
    ) -> Answer:
        """As any model does."""
        if clock.over:
            return Answer(None, None, self.lower(stage, caps))
        return self._remember(stage, caps, self._search(stage, caps, listed, clock, cutoff))

    # Choosing settings

    def _statement(self, margin_mk: int) -> AlikeStatement:
        if margin_mk not in self._statements:
            room = AlikeStatement(
                self.survey,
                self.options,
                self.kinds,
                self.shared.limits,
                margin_mk=margin_mk,
                neighbours=margin_mk > self.survey.refuse_mk,
            )
            room.cost()
            self._statements[margin_mk] = room
        return self._statements[margin_mk]

    def _with_ties(self, margin_mk: int) -> tuple[AlikeStatement, Any]:
        if margin_mk not in self._tied:
            room = self._statement(margin_mk).copy()
            self._tied[margin_mk] = room, expression(room.ties())
        return self._tied[margin_mk]

    def _kept(self, caps: Caps, *, tied: bool) -> AlikeStatement:
        margin_mk = caps.get(MARGIN, self.survey.refuse_mk)
        room = (self._with_ties(margin_mk)[0] if tied else self._statement(margin_mk)).copy()
        for stage, cap in caps.items():
            if stage != MARGIN:
                add(room.model, sum(self._goals(room, stage, caps)) <= cap)
        return room

    def _goals(self, room: AlikeStatement, stage: Stage, caps: Caps) -> list[Any]:
        """What a stage minimises: its criteria one after the other."""
        if stage == TIES:
            return [self._with_ties(caps.get(MARGIN, self.survey.refuse_mk))[1]]
        units = self.scale.units
        return [
            expression([(weight * amount // units.get(name, 1), term) for amount, term in room.criterion(name)])
            for name, weight in self.scale.weights(stage)
        ]

    def _choose(
        self,
        room: AlikeStatement,
        stage: Stage,
        caps: Caps,
        clock: Clock,
        effort: float,
        most: int | None,
        known: dict[tuple[int, int], int],
        *,
        rough: bool = False,
    ) -> _Choice:
        """The least that the counting model knows of a stage.

        Parameters
        ----------
        most
            Greater values are of no interest.
        known
            What each criterion cannot fall below, by its place and the sum of those before it.
        rough
            Whether the first criterion alone is minimised, so that something is found soon.
        """
        model = room.model.clone()
        goals = [] if stage == MARGIN else self._goals(room, stage, caps)
        moving = [goal for goal in goals if not isinstance(goal, int)]
        settled = sum(goal for goal in goals if isinstance(goal, int))
        bound = max(settled, self.lower(stage, caps))
        if not moving:
            status, solver = _solve(model, clock, effort, any_will_do=True)
            if status == "none" or (most is not None and settled > most):
                return _Choice(NEVER)
            found = status in ("found", "proven")
            return _Choice(settled, settled, room.given(solver)) if found else _Choice(settled)
        if most is not None:
            model.add(sum(goals) <= most)
        model.add(sum(goals) >= bound)
        choice = _Choice(bound)
        for place, goal in enumerate(moving):
            model.add(goal >= known.get((place, settled), 0))
            model.minimize(goal)
            status, solver = _solve(model, clock, effort)
            if status == "none":
                return _Choice(NEVER if most is None else most + 1)
            if status in ("found", "proven"):
                value = sum(g if isinstance(g, int) else solver.value(g) for g in goals)
                choice = _Choice(bound, value, room.given(solver))
                hint(model, solver)
            if status != "late":
                # What follows is never below nothing.
                known[place, settled] = max(0, ceil(solver.best_objective_bound - 1e-6))
                bound = max(bound, settled + known[place, settled])
            if status != "proven" or (rough and len(moving) > 1):
                break
            settled += solver.value(goal)
            model.add(goal <= solver.value(goal))
        return replace(choice, bound=bound)

    # Trying settings

    def _of(self, options: Sequence[Option]) -> Several:
        key = tuple(0 if option is None else id(option) for option in options)
        if key not in self._tried:
            room = Several(self.survey, [[option] for option in options], self.kinds, self.shared)
            self._tried[key] = tuple(options), room
        return self._tried[key][1]

    def _search(  # noqa: C901
        self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None
    ) -> Answer:
        """The least of a stage: of all settings those first that may reach the bound."""
        room: AlikeStatement | None = None
        waiting: list[_Trial] = []
        for options, own in self._tried.values():
            if own.may_keep(caps):
                waiting.append(_Trial(own.lower(stage, caps), TRYING, len(waiting), options))
        heapify(waiting)
        best = Answer(None, None, 0)
        others = self.lower(stage, caps)
        known: dict[tuple[int, int], int] = {}
        effort, number, rough = CHOOSING, len(waiting), stage not in (MARGIN, TIES)
        while True:
            never = NEVER if cutoff is None or stage == MARGIN else cutoff + 1
            enough = never if best.value is None else best.value
            bound = max(self.lower(stage, caps), min([others, *(trial.bound for trial in waiting[:1])]))
            if bound >= enough:
                return replace(best, bound=enough)
            if clock.over:
                return replace(best, bound=bound)
            most = cutoff if best.value is None else best.value - 1
            if waiting and _before_others(waiting[0], others, any_will_do=stage == MARGIN and room is None):
                trial = heappop(waiting)
                answer = self._of(trial.options).tried(
                    stage, caps, listed, clock, max(bound, trial.bound), most, trial.work
                )
                if answer.bound < (NEVER if answer.value is None else answer.value):
                    heappush(waiting, replace(trial, bound=max(trial.bound, answer.bound), work=4 * trial.work))
            else:
                if room is None:
                    room = self._kept(caps, tied=stage == TIES or TIES in caps)
                    for options, _ in self._tried.values():
                        room.keep_out(options)
                choice = self._choose(room, stage, caps, clock, effort, most, known, rough=rough)
                others = max(others, choice.bound)
                if not rough and (choice.value is None or choice.bound < choice.value):
                    effort *= 2
                rough, early = False, rough
                if choice.value is None:
                    continue
                answer = self._of(choice.options).as_given(
                    stage, caps, listed, clock, choice.frames, choice.value, TRYING
                )
                if answer.value is None and not early:
                    number += 1
                    room.keep_out(choice.options)
                    heappush(waiting, _Trial(choice.bound, TRYING, number, choice.options))
            if answer.value is not None and (best.value is None or answer.value < best.value):
                best = answer
                if stage == MARGIN:
                    return answer

    # Ties

    def first(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Answer:
        """The first layouts in order, as counted and tried, then slot by slot with those layouts."""
        room = self._kept(caps, tied=True)
        for options, own in self._tried.values():
            if not own.may_keep(caps):
                room.keep_out(options)
        frames = room.layouts_by_frame
        base = max(map(len, frames)) + 1
        together = digits_at_once(base)
        chosen: tuple[Option, ...] = ()
        for at in range(0, len(frames), together):
            asked = frames[at : at + together]
            room.model.minimize(
                expression(
                    [
                        (rank * base ** (len(asked) - 1 - n), term)
                        for n, own in enumerate(asked)
                        for rank, (_, term) in enumerate(own)
                    ]
                )
            )
            while True:
                status, solver = solve(room.model, clock)
                if status != "proven":
                    return Answer(None, None, NEVER if status == "none" else 0)
                chosen = tuple(None if own is None else own.layout for own in room.given(solver))
                answer = self._of(chosen).minimise(MARGIN, caps, listed, clock)
                if answer.seating is not None:
                    break
                if answer.bound < NEVER:
                    return Answer(None, None, 0)
                room.keep_out(chosen)
            for _, term in (entry for own in asked for entry in own):
                room.model.add(term == solver.value(term))
        return self._of(chosen).first(caps, listed, clock)


@dataclass(frozen=True, order=True)
class _Trial:
    """Settings that are kept out of the counting model, the bound that is known of them, and work to try them next."""

    bound: int
    work: float
    number: int
    options: tuple[Option, ...] = field(compare=False)


def _before_others(trial: _Trial, others: int, *, any_will_do: bool) -> bool:
    """Whether settings that are known come first: they promise no less than others, or are soon asked at the outset."""
    return trial.work == TRYING if any_will_do else -NEVER < others >= trial.bound


def _solve(
    model: cp_model.CpModel, clock: Clock, effort: float, *, any_will_do: bool = False
) -> tuple[Outcome, cp_model.CpSolver]:
    """Solve it prepared, then as it is; branching follows the linear relaxation, which is tight here."""
    status: Outcome = "open"
    solver = new_solver(Way.CUTS)
    for way in (Way.THOROUGH, Way.CUTS):
        again = new_solver(way)
        again.parameters.search_branching = cp_model.LP_SEARCH
        again.parameters.stop_after_first_solution = any_will_do
        again.parameters.max_deterministic_time = effort
        found = clock.solve(again, model)
        if found == "late":
            break
        status, solver = found, again
        if status in ("proven", "none") or (status == "found" and any_will_do):
            break
        if status == "found":
            hint(model, solver)
    return status, solver
