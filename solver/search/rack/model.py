"""A rack as a model: for each thing the places that it may have, and what the rules say of them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from solver.racks import rules
from solver.racks.limit import Load, Placement, RackLimit, Term
from solver.racks.pieces import Piece, RackStand
from solver.racks.rules.lengths import HALF_UM
from solver.racks.rules.space import MOST_MORE, Space
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.services import expression


class RackModel:
    """The rules of a rack, stated.

    Parameters
    ----------
    stand
        The rack and what stands in it.
    loosened
        Limits that give way; `slacks` says by how much each does.
    lifted
        Limits that are left out.
    """

    def __init__(
        self, stand: RackStand, *, loosened: Collection[RackLimit] = (), lifted: Collection[RackLimit] = ()
    ) -> None:
        self.stand = stand
        self.model = Model()
        self.lifted = frozenset(lifted)
        self.limits = [limit for limit in rules.limits_of(stand) if limit not in self.lifted]
        self.slacks: dict[RackLimit, Any] = {
            limit: self.model.new_int_var(0, limit.give, "") for limit in self.limits if limit in loosened
        }
        space = next(Space().limits(stand))
        self._more: Any = MOST_MORE if space in self.lifted else self.slacks.get(space, 0)
        self.top = stand.rack.units + (0 if isinstance(self._more, int) and not self._more else MOST_MORE)
        self._places = {
            piece.name: [(unit, self.model.new_bool_var("")) for unit in range(1, self.top - piece.height_u + 2)]
            for piece in stand.pieces
        }
        for own in self._places.values():
            self.model.add_at_most_one(term for _, term in own)
        self._free: dict[int, Any] = {}
        self._below: dict[tuple[str, str], Any] = {}
        self._given: dict[tuple[RackLimit, int], Any] = {}
        self._apart: dict[tuple[str, str], Any] = {}
        for limit in self.limits:
            rules.ALL[limit.rule].constrain(self, limit)

    def places(self, piece: Piece) -> Sequence[tuple[int, Term]]:
        """The lowest units that a thing may have, and the terms that say which it has."""
        return self._places[piece.name]

    def covering(self, piece: Piece, unit: int) -> Sequence[Term]:
        """The terms of the places in which a thing takes a unit."""
        first = max(1, unit - piece.height_u + 1)
        return [term for _, term in self._places[piece.name][first - 1 : unit]]

    def free(self, unit: int) -> Term:
        """Whether nothing is in a unit."""
        if unit not in self._free:
            self._free[unit] = self.model.new_bool_var("")
            taken = [term for piece in self.stand.pieces for term in self.covering(piece, unit)]
            self.model.add(sum(taken) + self._free[unit] == 1)
        return self._free[unit]

    def below(self, one: Piece, other: Piece) -> Term:
        """Whether one thing stands below another one; may be 1 where it does not."""
        key = one.name, other.name
        if key not in self._below:
            term = self._below[key] = self.model.new_bool_var("")
            lower, higher = self.places(one), self.places(other)
            for unit in range(1, self.top):
                under = [t for u, t in lower if u <= unit]
                over = [t for u, t in higher if u > unit]
                if under and over:
                    self.model.add(sum(under) + sum(over) <= 1 + term)
        return self._below[key]

    def hold(self, limit: RackLimit, load: Load, bound: int | None = None) -> None:
        """A weighted sum of terms is at most the limit's bound, or another one, and what the limit gives.

        With a bound of its own that is no limit's amount nothing is given: the load says where it gives.
        """
        most = limit.bound if bound is None else bound
        given = self.slacks.get(limit, 0) if bound is None else 0
        self.model.add(expression(list(load)) <= most + given)

    def within(self, load: Load) -> None:
        """A weighted sum of terms is at most the units of the rack."""
        self.model.add(expression(list(load)) <= self.stand.rack.units + self._more)

    def apart(self, run: tuple[Piece, Piece], limit: RackLimit, most: int) -> None:
        """The middles of two things are at most so many micrometres apart, and what the limit gives."""
        self.model.add(HALF_UM * self.apart_by(*run) <= most + self.slacks.get(limit, 0))

    def gives(self, limit: RackLimit, amount: int) -> Term:
        """1 only where the limit gives so much or more; 0 where it gives nothing."""
        slack = self.slacks.get(limit)
        if slack is None:
            return 0
        if (limit, amount) not in self._given:
            self._given[limit, amount] = term = self.model.new_bool_var("")
            self.model.add(slack >= amount * term)
        return self._given[limit, amount]

    def apart_by(self, one: Piece, other: Piece) -> Any:
        """How many half units the middles are apart; may be more. Nothing is asked of things without a place."""
        if one.name > other.name:
            one, other = other, one
        if (one.name, other.name) not in self._apart:
            self._apart[one.name, other.name] = self._new_apart(one, other)
        return self._apart[one.name, other.name]

    def _new_apart(self, one: Piece, other: Piece) -> Any:
        far = 2 * self.top
        apart = self.model.new_int_var(0, far, "")
        middles = [
            expression([(2 * (unit - 1) + piece.height_u, term) for unit, term in self.places(piece)])
            for piece in (one, other)
        ]
        there = [sum(term for _, term in self.places(piece)) for piece in (one, other)]
        slack = far * (2 - there[0] - there[1])
        self.model.add(middles[0] - middles[1] <= apart + slack)
        self.model.add(middles[1] - middles[0] <= apart + slack)
        return apart

    def read(self, solver: cp_model.CpSolver) -> Placement:
        """The placement that a solve found."""
        at = {name: unit for name, own in self._places.items() for unit, term in own if solver.boolean_value(term)}
        more = self._more if isinstance(self._more, int) else solver.value(self._more)
        return Placement(self.stand, at, more)
