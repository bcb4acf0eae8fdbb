"""Which settings of several frames cannot keep some sums, by prices of what frames share.

Each row of the counting model is of one layout, or it couples layouts. With the settings fixed, its linear relaxation
says how far the rows that couple are from holding and what each of them is worth. At such prices every layout has a
least that one frame adds, whatever it holds; where these come to more than nothing for some settings, the rows cannot
all hold with them (Lagrange), nor with others of which the same is true (Benders). Prices are whole numbers and so is
all that is proven from them: the relaxation only proposes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from ortools.linear_solver import pywraplp

from solver.search.model.alike import AlikeStatement, Block
from solver.search.model.basis import Option
from solver.search.model.cpsat import Model, cp_model
from solver.search.solve.asking import Key, key_of
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

SCALE = 10**6
"""Prices are counted in parts of this."""

MOST_RELAXED = 400
"""So many settings are looked at by the relaxation at most; what is not is not said to be impossible."""

EFFORT = 0.1
"""Work to price a layout, in the solver's deterministic seconds."""

ENDLESS = 1 << 60
"""Bounds beyond this are none."""


@dataclass(frozen=True)
class _Row:
    """The sum of amounts times variables lies within two bounds; None for none."""

    load: tuple[tuple[int, int], ...]
    least: int | None
    most: int | None


@dataclass(frozen=True)
class _Cut:
    """What settings cannot all keep: a constant, and what a frame adds at least, by group and layout."""

    constant: int
    adds: Mapping[tuple[int, int], int]

    def shows(self, frames: Sequence[tuple[int, int]]) -> bool:
        """Whether frames of these layouts cannot keep the rows."""
        return self.constant + sum(self.adds[frame] for frame in frames) > 0


def _ends(domain: Iterable[int]) -> tuple[int, int]:
    """The least and the greatest of intervals."""
    bounds = list(domain)
    return bounds[0], bounds[-1]


def _row(constraint: Any) -> _Row | None:
    """A linear row that always holds; None for others, which are left out."""
    if constraint.enforcement_literal or not constraint.has_linear():
        return None
    linear = constraint.linear
    least, most = _ends(linear.domain)
    amounts: dict[int, int] = {}
    for variable, amount in zip(linear.vars, linear.coeffs, strict=True):
        amounts[variable] = amounts.get(variable, 0) + amount
    return _Row(
        tuple((amount, variable) for variable, amount in amounts.items() if amount),
        None if least < -ENDLESS else least,
        None if most > ENDLESS else most,
    )


class Priced:
    """The relaxation of a counting model that is held to some sums, and what it has shown.

    Parameters
    ----------
    room
        The model; what it says in literals is left out.
    clock
        Ends the work; what was not looked at by then is not said to be impossible.
    """

    def __init__(self, room: AlikeStatement, clock: Clock) -> None:
        self._room = room
        self._clock = clock
        self._domains = [_ends(own.domain) for own in room.model.proto.variables]
        local = {n for blocks in room.blocks.values() for block in blocks for n in block.rows}
        rows = [(n, _row(constraint)) for n, constraint in enumerate(room.model.proto.constraints)]
        self._local = {n: row for n, row in rows if row is not None and n in local}
        self._coupling = [row for n, row in rows if row is not None and row.load and n not in local]
        self._owned = {v for blocks in room.blocks.values() for block in blocks for v in block.variables}
        self._cuts: list[_Cut] = []

    def hopeless(self, choices: Iterable[tuple[Option, ...]]) -> set[Key]:
        """The settings that surely cannot keep the rows."""
        found: set[Key] = set()
        relaxed = 0
        for options in choices:
            if self._clock.over:
                break
            frames = [(self._first[site], id(option)) for site, option in enumerate(options)]
            shown = any(cut.shows(frames) for cut in self._cuts)
            if not shown and relaxed < MOST_RELAXED:
                relaxed += 1
                cut = self._cut(options)
                shown = cut is not None and cut.shows(frames)
                if cut is not None and shown:
                    self._cuts.insert(0, cut)
            if shown:
                found.add(key_of(options))
        return found

    @cached_property
    def _first(self) -> dict[int, int]:
        """The first of the frames that each is alike."""
        return {frame: group[0] for group in self._room.groups for frame in group}

    @cached_property
    def _relaxation(self) -> tuple[Any, list[Any], list[Any]]:
        """The solver of fractions, the variables and the rows that couple, which may be missed at a price."""
        solver = pywraplp.Solver.CreateSolver("GLOP")
        variables = [solver.NumVar(least, most, "") for least, most in self._domains]
        objective = solver.Objective()
        objective.SetMinimization()
        endless = solver.infinity()

        def say(row: _Row) -> Any:
            least = -endless if row.least is None else row.least
            said = solver.Constraint(least, endless if row.most is None else row.most)
            for amount, variable in row.load:
                said.SetCoefficient(variables[variable], amount)
            return said

        for row in self._local.values():
            say(row)
        greatest = max((abs(amount) for row in self._coupling for amount, _ in row.load), default=1)
        coupling = []
        for row in self._coupling:
            said = say(row)
            for bound, sign in ((row.least, 1), (row.most, -1)):
                if bound is not None:
                    missed = solver.NumVar(0, endless, "")
                    said.SetCoefficient(missed, sign)
                    objective.SetCoefficient(missed, greatest / max(abs(amount) for amount, _ in row.load))
            coupling.append(said)
        return solver, variables, coupling

    def _cut(self, options: Sequence[Option]) -> _Cut | None:
        """Prices at which settings show what they cannot keep; None where the relaxation keeps it."""
        solver, variables, coupling = self._relaxation
        for group in self._room.groups:
            for block in self._room.blocks[group[0]]:
                number = sum(options[frame] is block.option for frame in group)
                variables[block.variables[0]].SetBounds(number, number)
        if solver.Solve() != pywraplp.Solver.OPTIMAL or solver.Objective().Value() < 1e-6:
            return None
        worth: dict[int, int] = {}
        constant = 0
        for row, said in zip(self._coupling, coupling, strict=True):
            price = round(said.dual_value() * SCALE)
            bound = row.least if price > 0 else row.most
            if not price or bound is None:
                continue
            constant += price * bound
            for amount, variable in row.load:
                worth[variable] = worth.get(variable, 0) - price * amount
        for variable, own in worth.items():
            if variable not in self._owned:
                least, most = self._domains[variable]
                constant += min(own * least, own * most)
        adds = {}
        for first, blocks in self._room.blocks.items():
            for block in blocks:
                least_added = self._least(block, worth)
                if least_added is None:
                    return None
                adds[first, id(block.option)] = least_added
        return _Cut(constant, adds)

    def _least(self, block: Block, worth: Mapping[int, int]) -> int | None:
        """What one frame with a layout adds at least; None where that is not known."""
        model, terms = self._frame(block)
        goal = cp_model.LinearExpr.weighted_sum(terms, [worth.get(v, 0) for v in block.variables])
        model = model.clone()
        model.minimize(goal)
        status, solver = solve(model, self._clock, EFFORT)
        return solver.value(goal) if status == "proven" else None

    def _frame(self, block: Block) -> tuple[Model, list[Any]]:
        """A model of one frame with a layout."""
        model = Model()
        terms = [model.new_int_var(*self._domains[v], "") for v in block.variables]
        model.add(terms[0] == 1)
        for n in block.rows:
            row = self._local.get(n)
            if row is not None and row.load:
                load = cp_model.LinearExpr.weighted_sum(
                    [terms[v - block.variables[0]] for _, v in row.load], [amount for amount, _ in row.load]
                )
                if row.least is not None:
                    model.add(load >= row.least)
                if row.most is not None:
                    model.add(load <= row.most)
        return model, terms
