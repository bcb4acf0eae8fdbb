"""Long frames: what counting cards over runs says is seated at once where it can be; all else is asked slot by slot.

The model over runs of a long frame is solved in a fraction of the time that its slots take, and says most often what is
least. What it gives the frame is seated and audited; only where that fails, the slots are asked. Of equals there are
few lists of cards by run, so that the first one in order is found among them alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from solver.search.model.scale import NEVER, Caps, Stage
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock
from solver.search.solve.cuts import Cuts
from solver.search.solve.part import Answer, Counts, Part
from solver.search.solve.several import Several
from solver.search.solve.solving import solve

EFFORT = 0.1
"""Work that an answer over runs is worth, in the solver's deterministic seconds."""

ROUNDS = 6
"""So often is seated what the model over runs says; each time what cannot be is kept out of it."""

MOST_LISTS = 6
"""Of so many lists of cards at most the first in order is looked for one by one."""


class Long(Several):
    """One layout of one long frame, or that it is not used."""

    spare = Part.spare

    def minimise(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None = None,
        effort: float | None = None,
    ) -> Answer:
        """As any model does: over runs where that settles it, else slot by slot."""
        answer = self._over_runs(stage, caps, listed, clock, cutoff)
        if answer is None:
            return Part.minimise(self, stage, caps, listed, clock, cutoff, effort)
        return self._remember(stage, caps, answer)

    def _over_runs(
        self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None
    ) -> Answer | None:
        """The least of a stage where the model over runs says it and what it gives can be seated; else None."""
        goal = self._goal(stage)
        moves = not isinstance(goal, int)
        room = self._kept(caps, listed, tied=True)
        if moves and cutoff is not None:
            room.model.add(goal <= cutoff)
        guide = goal if moves else self._guide(caps)
        if not isinstance(guide, int):
            room.model.minimize(guide)
        cuts = self._known_cuts(room, caps)
        for _ in range(ROUNDS):
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
        """As of any model: of each list of cards by run that keeps the caps, where they are few."""
        lists = self._lists(caps, listed, clock)
        if lists is None:
            return Part.first(self, caps, listed, clock)
        answers = [self.first_of(caps, listed, own, clock) for own in lists]
        if any(answer.seating is None and answer.bound < NEVER for answer in answers):
            return Answer(None, None, 0)
        found = [answer for answer in answers if answer.seating is not None]
        return min(found, key=self._in_order, default=Answer(None, None, NEVER))

    def _in_order(self, answer: Answer) -> list[tuple[bool, str]]:
        """What stands in each slot, by id; what is empty comes last."""
        assert answer.seating is not None
        cards = dict(answer.seating.cards[0])
        return [(slot not in cards, cards.get(slot, "")) for slot in self.survey.frames[0].slots]

    def _lists(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> list[Counts] | None:
        """Every list of cards by run that keeps the caps, as far as is known over runs; None if they are many."""
        room = self._kept(caps, listed, tied=True)
        cuts = Cuts(room, self._alike)
        found: list[Counts] = []
        while True:
            status, solver = solve(room.model, clock, EFFORT, any_will_do=True, easy=0)
            if status == "none":
                return found
            if status not in ("proven", "found") or len(found) == MOST_LISTS:
                return None
            options = self._chosen(room, solver)
            found.append([(0, p.kind.id, p.starts, solver.value(p.term)) for o in options for p in o.placements])
            cuts.no_such_counts(options, solver.value)
