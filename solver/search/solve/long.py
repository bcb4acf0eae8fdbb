"""Long frames: what counting cards over runs says is seated at once where it can be; all else is asked slot by slot.

The model over runs of a long frame is solved in a fraction of the time that its slots take, and says most often what is
least. What it gives the frame is seated and audited; only where that fails, the slots are asked. Of equals it says how
many cards of each kind they have and where, so that the first one in order is found among few.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from typing import Any

from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.rules.limit import Load
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage, no_tighter
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.model.statement import Placement, RoomStatement
from solver.search.solve.clock import Clock
from solver.search.solve.part import Answer, Counts, Part, Shared
from solver.search.solve.several import Several
from solver.search.solve.solving import solve

EFFORT = 0.1
"""Work that an answer over runs is worth, in the solver's deterministic seconds."""

ROUNDS = 6
"""So often is seated what the model over runs says; each time what cannot be is kept out of it."""

COUNTED = 1.0
"""The same of a question how many cards of each kind there can be."""


class Long(Several):
    """One layout of one long frame, or that it is not used."""

    spare = Part.spare

    def __init__(
        self, survey: Survey, options: Sequence[Sequence[Layout | None]], kinds: Sequence[Kind], shared: Shared
    ) -> None:
        super().__init__(survey, options, kinds, shared)
        self._known_numbers: list[tuple[dict[Stage, int], Counts]] = []

    def minimise(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None = None,
        effort: float | None = None,
    ) -> Answer:
        """As any model does: over runs where that settles it, else slot by slot; under caps of few cards alone."""
        answer = self._over_runs(stage, caps, listed, clock, cutoff)
        if answer is None and stage in (MARGIN, TIES):
            counts = self._known_counts(caps) or self._counts(caps, listed, clock)
            answer = None if counts is None else self.with_counts(stage, caps, listed, counts, clock)
        if answer is None:
            return Part.minimise(self, stage, caps, listed, clock, cutoff, effort)
        return self._remember(stage, caps, answer)

    def _over_runs(
        self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None
    ) -> Answer | None:
        """The least of a stage where the model over runs says it and what it gives can be seated; else None."""
        counted = self._counted(None)
        goal = counted.goal(stage)
        moves = not isinstance(goal, int)
        room = self._kept(counted, caps, listed, tied=True)
        if moves and cutoff is not None:
            room.model.add(goal <= cutoff)
        guide = goal if moves else counted.guide(caps)
        if not isinstance(guide, int):
            room.model.minimize(guide)
        known = self._known_cuts(room, caps)
        cuts = None if stage in (MARGIN, TIES) else known
        for _ in range(ROUNDS if cuts else 1):
            status, solver = solve(room.model, clock, EFFORT, any_will_do=not moves, easy=0)
            if status == "none":
                return Answer(None, None, NEVER if cutoff is None or not moves else cutoff + 1)
            if moves and status != "late":
                self._know(stage, caps, ceil(solver.best_objective_bound - 1e-6))
            if status not in ("proven", "found") or (moves and status == "found"):
                return None
            seating, sure = self._seated(room, solver, caps, cuts, clock)
            if seating is not None:
                found = self._value(stage, caps, seating)
                settled = found is not None and (not moves or found <= solver.value(goal))
                return Answer(found, seating, found or 0) if settled else None
            if not sure:
                return None
        return None

    # Ties

    def first(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Answer:
        """As of any model, of as many cards of each kind as can keep the caps, where they can stand."""
        return self.first_of(caps, listed, self._counts(caps, listed, clock), clock)

    def _counts(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Counts | None:
        """How many cards of each kind, and where, keep the caps, as far as is known over runs; None if that is hard.

        At the least values of all criteria it is mostly one number of each kind, in less than half of the places.
        """
        room = self._kept(self._counted(None), caps, listed, tied=True)
        every = [placed for (option,) in room.frames for placed in option.placements]
        places = self._places(room, every, clock)
        if places is None:
            return None
        of_kind: dict[str, list[Placement]] = {}
        for placed in places:
            of_kind.setdefault(placed.kind.id, []).append(placed)
        numbers = _numbers(room, {card: [(1, p.term) for p in own] for card, own in of_kind.items()}, clock)
        if numbers is None:
            return None
        counts = [(0, card, [s for p in own for s in p.starts], *numbers[card]) for card, own in of_kind.items()]
        self._known_numbers.append((dict(caps), counts))
        return counts

    def _known_counts(self, caps: Caps) -> Counts | None:
        """The same from looser caps, as it was said last."""
        return next((counts for looser, counts in reversed(self._known_numbers) if no_tighter(looser, caps)), None)

    def _places(self, room: RoomStatement, every: Sequence[Placement], clock: Clock) -> list[Placement] | None:
        """Where cards stand in some solution, and from then on nowhere else; None if that is hard to say."""
        model, left = room.model.clone(), list(every)
        while left:
            status, solver = solve(model, clock, COUNTED, any_will_do=True, easy=0)
            if status == "none":
                break
            if status not in ("proven", "found"):
                return None
            left = [placed for placed in left if not solver.value(placed.term)]
            add(model, expression([(1, placed.term) for placed in left]) >= 1)
        for placed in left:
            room.model.add(placed.term == 0)
        empty = {id(placed) for placed in left}
        return [placed for placed in every if id(placed) not in empty]


def _numbers(room: RoomStatement, loads: Mapping[str, Load], clock: Clock) -> Mapping[str, tuple[int, int]] | None:
    """The least and the most of some loads over all solutions; None if that is hard to say."""
    found: dict[str, tuple[int, int]] = {}
    while loads:
        model = room.model.clone()
        if found:
            others: list[Any] = []
            for name, (least, most) in found.items():
                total = expression(loads[name])
                for constraint in (total <= least - 1, total >= most + 1):
                    others.append(model.new_bool_var(""))
                    model.add(constraint).only_enforce_if(others[-1])
            model.add_bool_or(others)
        status, solver = solve(model, clock, COUNTED, any_will_do=True, easy=0)
        if status == "none":
            break
        if status not in ("proven", "found"):
            return None
        for name, load in loads.items():
            value = solver.value(expression(load))
            least, most = found.get(name, (value, value))
            found[name] = min(least, value), max(most, value)
    return found
