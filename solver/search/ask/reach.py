"""How far a scenario reaches: the most channels of one need or signal with every other need kept, and what they cost.

One model for each combination of strap settings, in which one need asks for any number of channels. More channels are
never easier, so the least cost is a step function of them: the cheapest build that serves so many, and among those the
one that serves the most, is one step; the next begins one channel above. What lies within the budget, and the most of
all, are read from the steps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial, reduce
from typing import Literal

from solver import rules
from solver.fitted.standing import stand
from solver.judge import audit
from solver.room.demand import asking, bare_signals, most_numbers
from solver.room.survey import Need, Survey
from solver.rules.limit import Reading, Rule
from solver.search.ask.opened import Opened, Point
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.shortage import held_against, needs_giving_way
from solver.search.solve.stages import Chosen, RankedBuild, audited

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

    def itself() -> tuple[Point | None, RankedBuild | None, bool]:
        point, proven = Opened.of(anyhow, clock).best(0)
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


def _audited(survey: Survey, point: Point, proven: bool) -> RankedBuild:
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
    models = Opened.of(survey, clock, need, channels, _room(survey, need))
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
    point, proven = Opened.of(alone, clock, need, 1, _room(survey, need)).best(1)
    if point is not None:
        _audited(asking(alone, need, point.channels), point, proven)
        return Most(point.channels, proven)
    without, sure = Opened.of(alone, clock, need).best(0)
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
        together = _lifted(survey, rules.LIST)
        possible = Opened.of(together, clock, _own(together, need), channels, channels).possible(channels)
        if not possible:
            return None if possible is None else (Stop("frames", channels),)
    hopeless: set[bytes] = set()
    found: list[Stop] = []
    alone, known = _alone(survey, need, channels, clock, hopeless)
    if not known:
        return None
    for rule in rules.LIST:
        if rule.limits_money and dearer is not None:
            spent = tuple(Reading(limit, dearer.cost) for limit in rule.limits(survey))
            found.insert(0, Stop(rule, channels, spent, dearer.cost))
        lifted = rule.lifted(survey) if rule in alone else None
        if lifted is None:
            continue
        spared = [(rule, limit) for limit in rule.limits(survey)] if rule.sparing else []
        also = rule.wants(survey) if rule.sparing else ()
        own = _own(lifted, need)
        point, proven = Opened.of(lifted, clock, own, channels, channels, spared, also, hopeless).best(channels)
        if point is None and not proven:
            return None
        if point is not None:
            build = _audited(asking(lifted, own, channels), point, proven).build
            broken = tuple(audit.faults(target, stand(target, build)))
            left = {limit for _, limit in rules.limits(asking(lifted, own, channels))}
            broken_by_it = tuple(each for each in broken if each.limit.rule == rule.code)
            apart = [each for each in broken if each not in broken_by_it and not _with_it(rule, each)]
            if not broken or any(each.limit in left for each in apart):
                raise SearchError(f"only {rule.code} was lifted for {channels} of {need.name}, and broken is {broken}")
            if broken_by_it:  # else what was lifted with it stops the need, and is found by itself
                found.append(Stop(rule, channels, broken_by_it, point.cost))
    return tuple(found) or (Stop("together", channels),)


def _with_it(rule: Rule, broken: Reading) -> bool:
    """Whether a limit may be broken only because another is: with that one lifted, the audit has found it kept."""
    return rule.silencing and rules.ALL[broken.limit.rule].speaks_of == "lines"


def _alone(survey: Survey, need: Need, channels: int, clock: Clock, hopeless: set[bytes]) -> tuple[set[Rule], bool]:
    """The rules without one of which so many channels may be served; whether time was enough to know.

    What cannot be without several cannot be without one of them: so they are lifted together, then by halves.
    """
    apart: tuple[list[Rule], list[Rule]] = [], []
    for rule in rules.LIST:
        if not rule.limits_money and rule.lifted(survey) is not None:
            apart[rule.shared].append(rule)
    waiting = [own for own in apart if own]
    found: set[Rule] = set()
    while waiting:
        group = waiting.pop()
        if len(group) == 1:
            found.update(group)
            continue
        lifted = _lifted(survey, group)
        own = _own(lifted, need)
        possible = Opened.of(lifted, clock, own, channels, channels, hopeless=hopeless).possible(channels)
        if possible is None:
            return found, False
        if possible:
            waiting += [group[: len(group) // 2], group[len(group) // 2 :]]
    return found, True


def _lifted(survey: Survey, every: Iterable[Rule]) -> Survey:
    """A room without some rules."""
    return reduce(lambda room, rule: rule.lifted(room) or room, every, survey)


def _own(survey: Survey, need: Need) -> Need:
    """A need as a room has it that asks less of it than the one that it is taken from."""
    return next((own for own in survey.needs if own.name == need.name), need)
