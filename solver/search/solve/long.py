"""Long frames: what counting cards over runs says is seated at once where it can be; all else is asked slot by slot.

The model over runs of a long frame is solved in a fraction of the time that its slots take, and says most often what is
least. What it gives the frame is seated and audited; only where that fails, the slots are asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock
from solver.search.solve.part import Answer, Part
from solver.search.solve.several import Several
from solver.search.solve.solving import solve

EFFORT = 0.1
"""Work that an answer over runs is worth, in the solver's deterministic seconds."""

ROUNDS = 6
"""So often is seated what the model over runs says; each time what cannot be is kept out of it."""


class Long(Several):
    """One layout of one long frame, or that it is not used."""

    spare = Part.spare
    first = Part.first

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
        room, goal = self._stated(stage, caps, listed, cutoff, ())
        moves = not isinstance(goal, int)
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
