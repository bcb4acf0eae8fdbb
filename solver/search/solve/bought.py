"""What can be bought within a cost: mostly one list or two, once the cost is the least.

A linear relaxation buys parts of cards and so has money to spare where a build has none. Models that know every list
of what can be bought have far better bounds. The lists come from a model that counts, one after the other: what it
lacks makes them more and loses none.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from solver.room.kind import Kind
from solver.room.survey import Survey
from solver.search.model.basis import Basis
from solver.search.model.cpsat import cp_model
from solver.search.model.scale import MARGIN, TIES, Caps, Scale, Stage
from solver.search.model.services import add, expression
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve_relaxed

MOST_LISTS = 8
"""Where there are more, none are used."""

EFFORT = 4.0
"""Work to find a list, in the solver's deterministic seconds."""

Purchase: TypeAlias = Mapping[str, int]
"""How many of each item are bought."""


def cost_within(scale: Scale, caps: Caps) -> int | None:
    """The most that builds within caps cost; None where the caps do not say."""
    costs = [
        scale.split(stage, cap)["cost"]
        for stage, cap in caps.items()
        if stage not in (MARGIN, TIES) and stage[0] == "cost"
    ]
    return min(costs, default=None)


class Purchases:
    """The lists for the costs that were asked for."""

    def __init__(self, survey: Survey) -> None:
        self._survey = survey
        self._known: dict[int, tuple[Purchase, ...] | None] = {}

    def find(
        self, room: Basis, cost: int, clock: Clock, found: cp_model.CpSolver | None = None
    ) -> Sequence[Purchase] | None:
        """Every list within a cost that a model allows; None where they are too many or time ran out.

        `found` has a solution of the model at that cost, where there is one already.
        """
        if cost not in self._known and not clock.over:
            self._known[cost] = self._every(room.copy(), cost, clock, found)
        return self._known.get(cost)

    def _every(
        self, room: Basis, cost: int, clock: Clock, solution: cp_model.CpSolver | None
    ) -> tuple[Purchase, ...] | None:
        spent = expression(room.cost())
        add(room.model, spent <= cost)
        if not isinstance(spent, int):
            # The linear relaxation then sees how little money is left.
            room.model.minimize(spent)
        less = max((own for own, lists in self._known.items() if own < cost and lists is not None), default=None)
        found = [] if less is None else list(self._known[less] or ())
        if solution is not None and (first := self._bought(room, solution)) not in found:
            found.append(first)
        for purchase in found:
            self._keep_out(room, purchase)
        while len(found) <= MOST_LISTS:
            status, solver = solve_relaxed(room.model, clock, EFFORT, any_will_do=True)
            if status == "none":
                return tuple(found)
            if status not in ("found", "proven"):
                break
            found.append(self._bought(room, solver))
            self._keep_out(room, found[-1])
        return None

    def reach(self, scale: Scale, stage: Stage, lower: int) -> int | None:
        """The greatest value of a stage, of those that cost least, for which the lists are known; None for none."""
        if stage[0] != "cost":
            return None
        own = [scale.most_of_first(stage, cost) for cost, lists in self._known.items() if lists]
        return min((most for most in own if most >= lower), default=None)

    @property
    def known(self) -> bool:
        """Whether it was found out for any cost."""
        return bool(self._known)

    def are_known(self, cost: int) -> bool:
        """Whether every list within a cost is known."""
        return self._known.get(cost) is not None

    def _loads(self, room: Basis) -> dict[str, tuple[Any, int]]:
        """How many of each item on offer are taken, and how many are owned."""
        return {item: (expression(room.items(item)), self._survey.stock.get(item, 0)) for item in self._survey.offers}

    def _bought(self, room: Basis, solver: cp_model.CpSolver) -> Purchase:
        loads = self._loads(room)
        taken = {item: load if isinstance(load, int) else solver.value(load) for item, (load, _) in loads.items()}
        return {item: max(0, taken[item] - owned) for item, (_, owned) in loads.items()}

    def _keep_out(self, room: Basis, purchase: Purchase) -> None:
        ways: list[Any] = []
        for item, (load, owned) in self._loads(room).items():
            bought = purchase[item]
            for other in ([load <= owned + bought - 1] if bought else []) + [load >= owned + bought + 1]:
                if not isinstance(other, bool):
                    ways.append(room.model.new_bool_var(""))
                    room.model.add(other).only_enforce_if(ways[-1])
        room.model.add_bool_or(ways or [False])

    def _lists(self, cost: int | None) -> Sequence[Purchase]:
        """The lists for the least cost that is known and no less; none where there is none."""
        costs = [known for known, lists in self._known.items() if cost is not None and known >= cost and lists]
        return self._known[min(costs)] or () if costs else ()

    def kinds_within(self, kinds: Sequence[Kind], cost: int | None) -> Sequence[Kind]:
        """The kinds of card of which some are owned or can be bought within a cost."""
        lists = self._lists(cost)
        offered, owned = self._survey.offers, self._survey.stock
        if not lists:
            return kinds
        return [k for k in kinds if k.id not in offered or owned.get(k.id) or any(own[k.id] for own in lists)]

    def hold(self, room: Basis, cost: int | None) -> None:
        """Hold a model to what can be bought within a cost, as far as that is known."""
        lists = self._lists(cost)
        if not lists:
            return
        chosen = [1] if len(lists) == 1 else [room.model.new_bool_var("") for _ in lists]
        if len(lists) > 1:
            room.model.add_exactly_one(chosen)
        for item, (load, owned) in self._loads(room).items():
            amounts = [own[item] for own in lists]
            add(room.model, load <= owned + expression(list(zip(amounts, chosen, strict=True))))
            add(
                room.model,
                load >= expression([(owned + n, term) for n, term in zip(amounts, chosen, strict=True) if n]),
            )
