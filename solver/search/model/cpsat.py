"""CP-SAT, and a model that is copied quickly."""

from __future__ import annotations

from ortools.sat.python import cp_model


class Model(cp_model.CpModel):
    """A model that is copied quickly: without the names in camel case that every instance else is given one by one."""

    def _add_pre_pep8_methods(self) -> None:
        pass

    def clone(self) -> Model:
        """Another model of the same content."""
        twin = Model()
        twin.proto.copy_from(self.proto)
        twin.rebuild_constant_map()
        return twin


def steady_solver() -> cp_model.CpSolver:
    """A solver that gives the same answer every time, in any thread: one thread, one seed, no signal listened to."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.catch_sigint_signal = False
    return solver


__all__ = ["Model", "cp_model", "steady_solver"]
