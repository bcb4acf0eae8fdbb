"""How a rack's model is solved: by propagation and clauses, which its places suit; prepared where that takes long."""

from __future__ import annotations

from solver.search.model.cpsat import cp_model, steady_solver
from solver.search.solve.clock import Clock, Outcome

EASY = 4.0
"""Work after which a model is prepared, and each time after which it is tried the other way, in deterministic s."""


def solve_rack(
    model: cp_model.CpModel, clock: Clock, *, any_will_do: bool = False
) -> tuple[Outcome, cp_model.CpSolver]:
    """Solve to the end or as far as the clock lets it; the next solve of the model begins with what is found."""
    spend, prepared = EASY, False
    while True:
        solver = steady_solver()
        parameters = solver.parameters
        parameters.linearization_level = 2 if prepared else 0
        parameters.cp_model_presolve = prepared
        parameters.stop_after_first_solution = any_will_do
        parameters.max_deterministic_time = spend
        status = clock.solve(solver, model)
        if status in ("proven", "none") or (status == "found" and any_will_do) or clock.over:
            return status, solver
        spend, prepared = 2 * spend, not prepared
