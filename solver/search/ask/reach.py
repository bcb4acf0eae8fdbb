"""How far a scenario reaches: the most channels of one need or signal with every other need kept, and what they cost.

One model for each combination of strap settings, in which one need asks for any number of channels. More channels are
never easier, so the least cost is a step function of them: the cheapest build that serves so many, and among those the
one that serves the most, is one step; the next begins one channel above. What lies within the budget, and the most of
all, are read from the steps.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property, partial, reduce
from typing import Any, Literal

from solver import rules
from solver.fitted.standing import stand
from solver.judge import audit
from solver.room.buying import most_money
from solver.room.demand import asking, bare_signals, most_numbers
from solver.room.kind import Kind
from solver.room.survey import Need, Survey
from solver.rules.limit import Limit, Reading, Rule
from solver.search.model.basis import Option
from solver.search.model.cpsat import cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.options import all_options, useful_kinds
from solver.search.model.scale import NEVER, Scale
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.part import Shared
from solver.search.solve.shortage import held_against, needs_giving_way
from solver.search.solve.solving import Way, new_solver
from solver.search.solve.stages import Chosen, RankedBuild, audited, models_of

OwnCause = Literal["together", "numbers", "frames"]


@dataclass(frozen=True)
class Most:
    """The most channels: None where even none of this need leaves the other needs unmet."""

    channels: int | None
    proven: bool


@dataclass(frozen=True)
class Step:
    """The cheapest build for any number of channels from `first` to `last`: it serves them all. Cost in minor units."""

    first: int
    last: int
    cost: int
    best: RankedBuild

    @property
    def proven(self) -> bool:
        """Whether nothing cheaper serves `first`, and nothing as cheap more than `last`."""
        return self.best.proven


@dataclass(frozen=True)
class Stop:
    """What keeps so many channels from being served.

    `cause` is a rule whose limits alone could be lifted to go on, or none: more than one of them `together`, too few
    `numbers`, or what the `frames` can seat. `broken` are limits of the rule as the cheapest build has them that keeps
    all others, of a `sparing` rule as one has them that breaks them least; `cost` is what that costs.
    For `numbers`, `asked` and `at_most` count those of the direction.
    """

    cause: Rule | OwnCause
    channels: int
    broken: tuple[Reading, ...] = ()
    cost: int | None = None
    asked: int = 0
    at_most: int = 0

    @property
    def code(self) -> str:
        """What it is, in a word: the code of the rule, or the cause's own."""
        return self.cause if isinstance(self.cause, str) else self.cause.code


@dataclass(frozen=True)
class Reach:
    """What was found of one need. `bare` says that it is a signal that no need asks for.

    `stops` hold for one channel more than the budget allows; `later` for one more than any money buys, where the
    budget stops it before. None: not known, the time was over.
    """

    need: Need
    bare: bool
    stock: Most
    budget: Most
    unlimited: Most
    steps: tuple[Step, ...]
    stops: tuple[Stop, ...] | None
    later: tuple[Stop, ...] | None


@dataclass(frozen=True)
class Reaches:
    """The answer for a room: `found`, `impossible` (proven) or `unknown`.

    `cost` is what the scenario itself takes, at least if that is `proven`. `short` says how short needs that are nice
    to have are in all of it.
    """

    outcome: Literal["found", "impossible", "unknown"]
    cost: int | None = None
    proven: bool = False
    reaches: tuple[Reach, ...] = ()
    stopped: bool = False
    survey: Survey | None = None
    build: RankedBuild | None = None


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
class _Point:
    """A seating, the channels that it serves and its cost in minor units; the least `weight` is the best."""

    weight: int
    channels: int
    cost: int
    seating: Seating


FEW = 4
"""Rooms of more models in which needs ask for numbers are asked as one, too, whether anything is better."""

SOON = 0.2
"""Deterministic seconds in which that is to show that nothing is."""


@dataclass
class _Model:
    """One combination of settings: what no seating of it weighs less than, and its best one if it is known."""

    state: Callable[[], _Open]
    least: int = -NEVER
    best: _Point | None = None

    @cached_property
    def draft(self) -> _Open:
        """Its model, stated when it is first asked."""
        return self.state()


@dataclass
class _Models:
    """All combinations, asked for ever more channels."""

    survey: Survey
    clock: Clock
    most: int
    unit: int
    models: list[_Model] = field(default_factory=list)
    together: _Model | None = None
    """All of them as one, where that mostly sees that none has anything better."""

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
    ) -> _Models:
        """For a need between two numbers of channels; without one for the survey as it is.

        Of limits that are `spared` as little as can be is broken, before anything else; `also` are cards to do that
        with, though nothing else asks for them.
        """
        models = cls(survey, clock, most, Scale.of(survey).units["cost"])
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

        for part in models_of(start, Shared.of(start, rough=True)):
            models.models.append(_Model(partial(stated, part.options, part.kinds)))
        if survey.particular and len(models.models) > FEW:
            models.together = _Model(partial(stated, all_options(start), useful_kinds(start)))
        return models

    def best(self, at_least: int) -> tuple[_Point | None, bool]:
        """The cheapest for so many channels or more, and the most channels at that cost; whether that is proven.

        To be asked with growing numbers: what a model was known to weigh at least then still holds.
        """
        best: _Point | None = None
        proven = True
        together = self.together
        for model in sorted(self.models, key=lambda m: m.least):
            if best is not None and model.least >= best.weight:
                break
            known = model.best
            if known is None or known.channels < at_least:
                known, sure = self._solve(model, at_least, best)
                proven = proven and sure
            if known is not None and (best is None or known.weight < best.weight):
                best = known
            if together is not None:
                if self._solve(together, at_least, best, SOON) == (None, True):
                    break
                together = None
        return best, proven

    def _solve(
        self, model: _Model, at_least: int, ahead: _Point | None, effort: float | None = None
    ) -> tuple[_Point | None, bool]:
        draft = model.draft.copy()
        channels, cost = model.draft.channels, expression([(a // self.unit, t) for a, t in draft.cost()])
        add(draft.model, channels >= at_least)
        weight = (self.most + 1) * cost - channels
        dearest = (self.most + 1) * (most_money(self.survey) // self.unit + 1)
        # Sums of money that no studio has would not leave room for it.
        if dearest * sum(limit.give[-1] for limit in model.draft.spared) < NEVER:
            weight = dearest * expression([(1, over) for over in model.draft.beyond]) + weight
        if ahead is not None:
            add(draft.model, weight <= ahead.weight - 1)
        if not isinstance(weight, int):
            draft.model.minimize(weight)
        solver = _thorough_solver()
        if effort is not None:
            solver.parameters.max_deterministic_time = effort
            solver.parameters.stop_after_first_solution = True
        status = self.clock.solve(solver, draft.model)
        if status == "none":
            model.least = NEVER if ahead is None else max(model.least, ahead.weight)
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
        point = _Point(
            solver.value(weight), solver.value(channels), solver.value(cost) * self.unit, Seating(options, cards)
        )
        if status == "proven":
            model.least, model.best = point.weight, point
        return point, status == "proven"


def _thorough_solver() -> cp_model.CpSolver:
    """Near what the frames can hold the relaxation alone decides little: cuts and preparation then pay."""
    solver = new_solver(Way.THOROUGH)
    solver.parameters.symmetry_level = 2
    return solver


def reach(
    survey: Survey,
    names: Sequence[str] | None = None,
    clock: Clock | None = None,
    workers: int = 1,
) -> Reaches:
    """How many channels each need can have with every other need kept.

    Parameters
    ----------
    survey
        A room.
    names
        Of needs or bare signals; None for all of both.
    clock
        Ends the search early; then the answer says what of it is not proven.
    workers
        Needs that are worked on at the same time. A proven answer does not depend on it.

    Raises
    ------
    SearchError
        If the audit refuses a build, or finds that a limit does not stop what it was said to stop: a defect.
    """
    clock = clock or Clock()
    found, least = needs_giving_way(survey, lambda room: _reaches(room, names, clock, workers), clock, workers)
    if least is None or least.outcome == "impossible":
        return found
    if least.outcome == "unknown":
        return replace(found, outcome="unknown", stopped=clock.over)
    if found.build is not None:
        found = replace(found, build=held_against(least, found.build))
    return found if least.proven else replace(found, proven=False)


def _reaches(survey: Survey, names: Sequence[str] | None, clock: Clock, workers: int) -> Reaches:
    cheapest = replace(survey, rank=("cost",), slack={})
    anyhow = replace(cheapest, budget=None)

    def itself() -> tuple[_Point | None, RankedBuild | None, bool]:
        point, proven = _Models.of(anyhow, clock).best(0)
        return point, None if point is None else _audited(anyhow, point, proven), proven

    try:
        clock.check()
        point, build, proven = clock.step(itself)
    except Stopped:
        return Reaches("unknown", stopped=True)
    if point is None or (survey.budget is not None and point.cost > survey.budget):
        return Reaches("impossible" if proven else "unknown", stopped=clock.over)
    every = [*survey.needs, *bare_signals(survey)]
    asked = [need for need in every if names is None or need.name in names]
    found = [_so_far(survey, need, []) for need in asked]
    done = 0

    def one(place: int) -> None:
        nonlocal done
        clock.check()
        found[place] = _reach(cheapest, asked[place], clock, partial(found.__setitem__, place))
        done += 1
        clock.at = f"{done} of {len(asked)} needs and signals"

    def each() -> None:
        with ThreadPoolExecutor(workers) as pool:
            list(pool.map(one, range(len(asked))))

    with suppress(Stopped):
        clock.step(each)
    return Reaches("found", point.cost, proven, tuple(found), clock.over, survey, build)


def _so_far(survey: Survey, need: Need, steps: Sequence[Step]) -> Reach:
    """What some steps say of a need when the search is left: at least so many channels, not what stops it."""
    within = [step for step in steps if survey.budget is None or step.cost <= survey.budget]
    sure = need.demand - survey.may_lack(need)
    budget, unlimited = (Most(own[-1].last if own else sure, False) for own in (within, steps))
    return Reach(need, need.index < 0, Most(None, False), budget, unlimited, tuple(steps), None, None)


def _reach(survey: Survey, need: Need, clock: Clock, tell: Callable[[Reach], None]) -> Reach:
    """How far one need reaches; what is known of it is told at every step of its cost curve."""
    anyhow = replace(survey, budget=None)
    steps, complete = _steps(anyhow, need, clock, lambda known: tell(_so_far(survey, need, known)))
    sure = need.demand - survey.may_lack(need)
    unlimited = Most(steps[-1].last if steps else sure, complete)
    within = [step for step in steps if survey.budget is None or step.cost <= survey.budget]
    beyond = steps[len(within) :]
    known = all(step.proven for step in [*within, *beyond[:1]]) and (complete or bool(beyond))
    budget = Most(within[-1].last if within else sure, known)
    stock = _from_stock(anyhow, need, clock)
    stops = _stops(survey, need, budget, clock, beyond[0] if beyond else None)
    together = survey.budget is not None and bool(stops) and all(stop.cause == "together" for stop in stops or ())
    goes_on = bool(beyond) or not complete or together
    later = _stops(anyhow, need, unlimited, clock, None) if goes_on else ()
    return Reach(need, need.index < 0, stock, budget, unlimited, tuple(steps), stops, later)


def _audited(survey: Survey, point: _Point, proven: bool) -> RankedBuild:
    return audited(survey, Chosen(point.seating, {"cost": point.cost}, {"cost": proven}))


def _room(survey: Survey, need: Need) -> int:
    """More channels than this of a need leave too few numbers for the others."""
    return max(0, most_numbers(survey, need.direction) - _others(survey, need))


def _others(survey: Survey, need: Need) -> int:
    """Numbers that the other needs of a need's direction take at least."""
    others = [n for n in survey.needs if n.direction == need.direction and n.name != need.name]
    lacking = min(survey.short.channels, sum(map(survey.may_lack, others)))
    return sum(n.demand for n in others) - lacking


def _steps(survey: Survey, need: Need, clock: Clock, tell: Callable[[Sequence[Step]], None]) -> tuple[list[Step], bool]:
    """The cost curve from what is asked for on; whether it is proven to end there."""
    channels = max(1, need.demand - survey.may_lack(need))
    models = _Models.of(survey, clock, need, channels, _room(survey, need))
    steps: list[Step] = []
    while True:
        point, proven = models.best(channels)
        if point is None:
            return steps, proven and all(step.proven for step in steps)
        best = _audited(asking(survey, need, point.channels), point, proven)
        steps.append(Step(channels, point.channels, point.cost, best))
        tell(steps)
        channels = point.channels + 1


def _from_stock(survey: Survey, need: Need, clock: Clock) -> Most:
    """The most without any order."""
    alone = replace(survey, offers={})
    cards = [(item, count) for item, count in survey.stock.items() if item in survey.kinds]
    for other in survey.needs:
        owned = sum(count * survey.kinds[i].taking(other.direction, other.signal) for i, count in cards)
        if other.name != need.name and owned < other.demand - survey.may_lack(other):
            return Most(None, True)
    point, proven = _Models.of(alone, clock, need, 1, _room(survey, need)).best(1)
    if point is not None:
        _audited(asking(alone, need, point.channels), point, proven)
        return Most(point.channels, proven)
    without, sure = _Models.of(alone, clock, need).best(0)
    return Most(None if without is None else 0, proven and (sure or without is not None))


def _stops(survey: Survey, need: Need, most: Most, clock: Clock, dearer: Step | None) -> tuple[Stop, ...] | None:
    """What stops one channel more than the most; None where time ran out before that was known.

    `dearer` is the step of the cost curve that would serve it with no budget.
    """
    if most.channels is None or not most.proven:
        return None
    channels = most.channels + 1
    numbers = most_numbers(survey, need.direction)
    target = asking(survey, need, channels)
    asked = _others(survey, need) + channels
    if asked > numbers:
        return (Stop("numbers", channels, asked=asked, at_most=numbers),)
    if dearer is None:
        together = reduce(lambda room, rule: rule.lifted(room) or room, rules.LIST, survey)
        point, proven = _Models.of(together, clock, need, channels, channels).best(channels)
        if point is None:
            return (Stop("frames", channels),) if proven else None
    found: list[Stop] = []
    for rule in rules.LIST:
        if rule.limits_money and dearer is not None:
            spent = tuple(Reading(limit, dearer.cost) for limit in rule.limits(survey))
            found.insert(0, Stop(rule, channels, spent, dearer.cost))
        lifted = None if rule.limits_money else rule.lifted(survey)
        if lifted is None:
            continue
        spared = [(rule, limit) for limit in rule.limits(survey)] if rule.sparing else []
        also = rule.wants(survey) if rule.sparing else ()
        point, proven = _Models.of(lifted, clock, need, channels, channels, spared, also).best(channels)
        if point is None and not proven:
            return None
        if point is not None:
            build = _audited(asking(lifted, need, channels), point, proven).build
            broken = tuple(audit.faults(target, stand(target, build)))
            if {reading.limit.rule for reading in broken} != {rule.code}:
                raise SearchError(f"only {rule.code} was lifted for {channels} of {need.name}, and broken is {broken}")
            found.append(Stop(rule, channels, broken, point.cost))
    return tuple(found) or (Stop("together", channels),)
