"""How small models are solved: most in a moment without preparation, the few hard ones thoroughly."""

from __future__ import annotations

from solver.search.model.cpsat import cp_model
from solver.search.solve.clock import Clock, Outcome

QUICK = 0.1
"""Work after which a model that has to be solved in any case is solved thoroughly, in deterministic seconds."""


def new_solver(*, thorough: bool) -> cp_model.CpSolver:
    """A solver for many small models: a tight linear relaxation does most of the work, preparation little.

    Few of them are hard; those want presolve and cuts.
    """
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.random_seed = 1
    parameters.linearization_level = 2
    parameters.cp_model_presolve = thorough
    parameters.cp_model_probing_level = 0
    parameters.cut_level = int(thorough)
    parameters.symmetry_level = 0
    parameters.use_sat_inprocessing = False
    parameters.add_lp_constraints_lazily = False
    parameters.catch_sigint_signal = False
    return solver


def solve(
    model: cp_model.CpModel,
    clock: Clock,
    effort: float | None = None,
    *,
    any_will_do: bool = False,
    quick: float = QUICK,
) -> tuple[Outcome, cp_model.CpSolver]:
    """Solve a small model: quickly at first; when it turns out to be hard thoroughly and quickly in turn.

    Either way solves in a moment what takes the other minutes.

    Parameters
    ----------
    effort
        Deterministic seconds to spend, more than `quick` thoroughly; None for no limit but the clock's.
    any_will_do
        Whether the first solution is as good as the best.
    quick
        Deterministic seconds after which a model counts as hard.
    """
    spend, thorough = (quick, False) if effort is None else (effort, effort > quick)
    while True:
        solver = new_solver(thorough=thorough)
        solver.parameters.stop_after_first_solution = any_will_do
        solver.parameters.max_deterministic_time = spend
        status = clock.solve(solver, model)
        done = status in ("proven", "none") or (status == "found" and any_will_do)
        if done or effort is not None or clock.over:
            return status, solver
        spend, thorough = 4 * spend, not thorough
