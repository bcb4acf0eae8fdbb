"""A clock that ends a search after a number of solves, so that each moment of it can be looked at."""

from __future__ import annotations

from ortools.sat.python import cp_model

from solver.search.solve.clock import Clock, Outcome


class Counted(Clock):
    """A clock that is over after so many solves."""

    def __init__(self, solves: int) -> None:
        super().__init__()
        self.left = solves

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> Outcome:
        if self.left == 0:
            self.stop()
        self.left -= 1
        return super().solve(solver, model)
