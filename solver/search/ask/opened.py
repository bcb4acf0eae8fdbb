"""A room in which one need asks for any number of channels: the cheapest builds that serve so many.

One model for each combination of strap settings; more channels are never easier, so what a model was known to weigh at
least holds for more of them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from hashlib import sha256
from operator import contains
from typing import Any

from solver import rules
from solver.room.buying import most_money
from solver.room.demand import asking
from solver.room.kind import Kind
from solver.room.survey import Need, Survey
from solver.rules.limit import Limit, Rule
from solver.search.model.basis import Option
from solver.search.model.cpsat import cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.options import all_options, useful_kinds
from solver.search.model.scale import NEVER, Scale
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.bundle import Bundle, bundles
from solver.search.solve.clock import Clock
from solver.search.solve.part import Part, Shared
from solver.search.solve.solving import Way, new_solver
from solver.search.solve.stages import models_of


class _Open(CpDraft):
    """A draft in which one need asks for any number of channels up to the most: `channels` says how many.

    What it has less than `demand` is short, where it is nice to have. Limits that are `spared` may be broken, by
    `beyond` together.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Option]],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        need: Need | None,
        asked: Need | None = None,
        spared: Sequence[tuple[Rule, Limit]] = (),
        also: Collection[str] = (),
    ) -> None:
        self.need = need
        self.asked = asked
        self.spared = {limit for _, limit in spared}
        self.also = also
        self.beyond: list[cp_model.IntVar] = []
        self.channels: cp_model.IntVar | int = 0
        super().__init__(survey, options, kinds, [*limits, *spared])
        self.cost()

    def wanted(self) -> set[str]:
        """Those that limits which are spared ask for, too."""
        return super().wanted() | set(self.also)

    def _given(self, limit: Limit) -> Any:
        """What is taken beyond a limit that is spared: as much as it needs, and as little as can be."""
        if limit not in self.spared:
            return super()._given(limit)
        self.beyond.append(self.model.new_int_var(0, limit.give[-1], ""))
        return self.beyond[-1]

    def ask(self, limit: Limit, need: Need) -> None:
        if need != self.need:
            super().ask(limit, need)
            return
        self.channels = self.model.new_int_var(0, limit.bound, "")
        self.services.asked[need] = self.channels
        if self.asked is not None and self.survey.may_lack(self.asked):
            self.model.add(self.lacking(self.asked) + self.channels >= self.asked.demand)

    def outlast(self, limit: Limit, need: Need) -> None:
        if need == self.need:
            self._outlast(need, self.channels - need.spare)
        else:
            super().outlast(limit, need)


@dataclass(frozen=True)
class Point:
    """A seating, the channels that it serves and its cost in minor units; the least `weight` is the best."""

    weight: int
    channels: int
    cost: int
    seating: Seating


BOUNDED = 4
"""Fewer layouts are not bounded together: each is asked at once."""

FEW = 4
"""Rooms of more models in which needs ask for numbers are asked as one, too, whether anything is better."""

SOON = 0.2
"""Deterministic seconds in which that is to show that nothing is."""


@dataclass
class _Model:
    """One combination of settings: what no seating of it weighs less than, and its best one if it is known."""

    state: Callable[[], _Open]
    options: Sequence[Sequence[Option]]
    least: int = -NEVER
    best: Point | None = None

    @cached_property
    def draft(self) -> _Open:
        """Its model, stated when it is first asked."""
        return self.state()


@dataclass
class Opened:
    """All combinations, asked for ever more channels."""

    survey: Survey
    clock: Clock
    most: int
    unit: int
    models: list[_Model] = field(default_factory=list)
    together: _Model | None = None
    """All of them as one, where that mostly sees that none has anything better."""
    hopeless: set[bytes] = field(default_factory=set)
    """Questions without an answer, of these models and of others that state the same."""

    @classmethod
    def of(
        cls,
        survey: Survey,
        clock: Clock,
        need: Need | None = None,
        at_least: int = 0,
        most: int = 0,
        spared: Sequence[tuple[Rule, Limit]] = (),
        also: Collection[str] = (),
        hopeless: set[bytes] | None = None,
    ) -> Opened:
        """For a need between two numbers of channels; without one for the survey as it is.

        Of limits that are `spared` as little as can be is broken, before anything else; `also` are cards to do that
        with, though nothing else asks for them. What is `hopeless` is not asked again.
        """
        unit = Scale.of(survey).units["cost"]
        models = cls(survey, clock, most, unit, hopeless=set() if hopeless is None else hopeless)
        if at_least > most:
            return models
        opened = survey if need is None else asking(survey, need, most)
        wide = None if need is None else next(n for n in opened.needs if n.name == need.name)
        limits = rules.limits(opened)
        start = survey if need is None else asking(survey, need, at_least)

        def stated(options: Sequence[Sequence[Option]], useful: Collection[Kind]) -> _Open:
            clock.check()
            kinds = [kind for kind in survey.kinds.values() if kind in useful or kind.id in also]
            return _Open(opened, options, kinds, limits, wide, need, spared, also)

        for part in _parts(start, clock, bounded=not also):
            bound = part.lower(("cost",), {})
            least = (most + 1) * (part.scale.split(("cost",), bound)["cost"] // unit) - most if bound >= 0 else -NEVER
            models.models.append(_Model(partial(stated, part.options, part.kinds), part.options, least))
        if survey.particular and len(models.models) > FEW:
            every = all_options(start)
            models.together = _Model(partial(stated, every, useful_kinds(start)), every)
        return models

    def best(self, at_least: int) -> tuple[Point | None, bool]:
        """The cheapest for so many channels or more, and the most channels at that cost; whether that is proven.

        To be asked with growing numbers: what a model was known to weigh at least then still holds.
        """
        best: Point | None = None
        proven = True
        if self.together is not None and self.models:
            best, settled = self._together(self.together, at_least)
            if settled:
                return best, True
        for model in sorted(self.models, key=lambda m: m.least):
            if best is not None and model.least >= best.weight:
                break
            known = model.best
            if known is None or known.channels < at_least:
                known, sure = self._solve(model, at_least, best)
                proven = proven and sure
            if known is not None and (best is None or known.weight < best.weight):
                best = known
        return best, proven

    def _together(self, together: _Model, at_least: int) -> tuple[Point | None, bool]:
        """The same, asked of all as one while that soon says more: the settings that it finds are asked by themselves.

        Whether the best is known then.
        """
        best: Point | None = None
        while True:
            found, sure = self._solve(together, at_least, best, SOON)
            if found is None or sure:
                return found or best, sure
            own = next(m for m in self.models if all(map(contains, m.options, found.seating.options)))
            known, sure = self._solve(own, at_least, best)
            if known is None or not sure:
                return known or best, False
            best = known

    def possible(self, at_least: int) -> bool | None:
        """Whether so many channels can be served at all; None where time ran out."""
        sure = True
        for model in self.models:
            point, known = self._solve(model, at_least, None, any_will_do=True)
            if point is not None:
                return True
            sure = sure and known
        return False if sure else None

    def _solve(
        self,
        model: _Model,
        at_least: int,
        ahead: Point | None,
        effort: float | None = None,
        *,
        any_will_do: bool = False,
    ) -> tuple[Point | None, bool]:
        draft = model.draft.copy()
        channels, cost = model.draft.channels, expression([(a // self.unit, t) for a, t in draft.cost()])
        add(draft.model, channels >= at_least)
        asked = sha256(str(draft.model.proto).encode()).digest()
        if asked in self.hopeless:
            model.least = NEVER
            return None, True
        weight = (self.most + 1) * cost - channels
        dearest = (self.most + 1) * (most_money(self.survey) // self.unit + 1)
        # Sums of money that no studio has would not leave room for it.
        if dearest * sum(limit.give[-1] for limit in model.draft.spared) < NEVER:
            weight = dearest * expression([(1, over) for over in model.draft.beyond]) + weight
        if ahead is not None:
            add(draft.model, weight <= ahead.weight - 1)
        if not isinstance(weight, int) and not any_will_do:
            draft.model.minimize(weight)
        solver = _thorough_solver()
        solver.parameters.stop_after_first_solution = any_will_do
        if effort is not None:
            solver.parameters.max_deterministic_time = effort
        status = self.clock.solve(solver, draft.model)
        if status == "none":
            model.least = NEVER if ahead is None else max(model.least, ahead.weight)
            if ahead is None:
                self.hopeless.add(asked)
        if status not in ("proven", "found"):
            return None, status == "none"
        options = tuple(
            next(o for o, t in draft.choices(site) if isinstance(t, int) or solver.boolean_value(t))
            for site in self.survey.frames
        )
        cards = tuple(
            tuple(sorted((s.slot, s.kind.id) for s in draft.seats(site) if solver.boolean_value(s.term)))
            for site in self.survey.frames
        )
        point = Point(
            solver.value(weight), solver.value(channels), solver.value(cost) * self.unit, Seating(options, cards)
        )
        if status == "proven" and not any_will_do:
            model.least, model.best = point.weight, point
        return point, status == "proven"


def _parts(survey: Survey, clock: Clock, *, bounded: bool) -> list[Part]:
    """The models of a room; of one frame those that can be built as far as cards counted over runs can say it."""
    shared = Shared.of(survey, rough=True)
    if not bounded or len(survey.frames) > 1 or survey.from_what_stands:
        return models_of(survey, shared)
    found: list[Part] = []
    waiting = bundles(survey, useful_kinds(survey), shared, Part)
    while waiting:
        node = waiting.pop()
        if isinstance(node, Bundle) and len(node.layouts) >= BOUNDED:
            node.relaxed(("cost",), {}, (), clock, None)
        if not node.may_keep({}):
            continue
        if isinstance(node, Part):
            found.append(node)
        else:
            waiting += node.within
    return found


def _thorough_solver() -> cp_model.CpSolver:
    """Near what the frames can hold the relaxation alone decides little: cuts and preparation then pay."""
    solver = new_solver(Way.THOROUGH)
    solver.parameters.cp_model_probing_level = 2
    solver.parameters.symmetry_level = 2
    return solver
