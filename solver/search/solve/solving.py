"""How small models are solved: most in a moment without preparation, the few hard ones thoroughly."""

from __future__ import annotations

from enum import Enum

from solver.search.model.cpsat import cp_model, steady_solver
from solver.search.solve.clock import Clock, Outcome

QUICK = 0.1
"""Work up to which a model is solved without preparation, in deterministic seconds."""

EASY = 0.02
"""Work after which a model is given cuts: small ones rarely need as much, long frames hardly end without."""

LARGE = 300
"""Models of more variables are given eight times as much before they count as hard."""


class Way(Enum):
    """How a model is solved: as it stands, with cuts, or prepared and with more kinds of cut."""

    PLAIN, CUTS, THOROUGH = range(3)

    @property
    def next(self) -> Way:
        """What is tried next."""
        return Way.THOROUGH if self == Way.CUTS else Way.CUTS


def new_solver(way: Way, *, choices: bool = True) -> cp_model.CpSolver:
    """A solver for many small models: a tight linear relaxation does most of the work, preparation little.

    Few of them are hard; those want cuts, or presolve and cuts. `choices` says whether rows that hold only where a
    literal does are in the relaxation too.
    """
    solver = steady_solver()
    parameters = solver.parameters
    parameters.linearization_level = 2 if choices else 1
    parameters.cp_model_presolve = way == Way.THOROUGH
    parameters.cp_model_probing_level = 0
    parameters.cut_level = int(way != Way.PLAIN)
    parameters.add_zero_half_cuts = way == Way.THOROUGH
    parameters.symmetry_level = 0
    parameters.use_sat_inprocessing = False
    parameters.add_lp_constraints_lazily = False
    return solver


def hint(model: cp_model.CpModel, solver: cp_model.CpSolver) -> None:
    """Let the next solve of a model begin with what this one found."""
    found = solver.response_proto.solution
    model.proto.solution_hint.vars.clear()
    model.proto.solution_hint.values.clear()
    model.proto.solution_hint.vars.extend(range(len(found)))
    model.proto.solution_hint.values.extend(found)


def solve(
    model: cp_model.CpModel,
    clock: Clock,
    effort: float | None = None,
    *,
    any_will_do: bool = False,
    easy: float = EASY,
    choices: bool = True,
) -> tuple[Outcome, cp_model.CpSolver]:
    """Solve a small model: as it stands at first; when it turns out to be hard with cuts, thoroughly and so on in turn.

    Each way solves in a moment what takes the others minutes.

    Parameters
    ----------
    effort
        Deterministic seconds to spend, more than `QUICK` thoroughly; None for no limit but the clock's.
    any_will_do
        Whether the first solution is as good as the best.
    easy
        Deterministic seconds after which a model counts as hard; 0 where it does from the beginning.
    choices
        Whether rows that hold only where a literal does are in the linear relaxation too; where these mostly keep out
        what is known they only make it larger.
    """
    large = len(model.proto.variables) > LARGE
    spend, way = (8 * easy if large else easy, Way.PLAIN) if easy else (4 * EASY, Way.CUTS)
    if effort is not None:
        spend, way = effort, Way.THOROUGH if effort > QUICK else way
    while True:
        solver = new_solver(way, choices=choices)
        solver.parameters.stop_after_first_solution = any_will_do
        solver.parameters.max_deterministic_time = spend
        status = clock.solve(solver, model)
        done = status in ("proven", "none") or (status == "found" and any_will_do)
        if done or clock.over or effort is not None:
            return status, solver
        spend, way = 4 * spend, way.next


def solve_relaxed(
    model: cp_model.CpModel, clock: Clock, effort: float, *, any_will_do: bool = False
) -> tuple[Outcome, cp_model.CpSolver]:
    """Solve a model that counts prepared, then as it is; branching follows the linear relaxation, which is tight there.

    Parameters
    ----------
    effort
        Deterministic seconds to spend each time.
    any_will_do
        Whether the first solution is as good as the best.
    """
    status: Outcome = "late"
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
