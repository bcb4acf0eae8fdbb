"""The reach of a scenario as a document: the most channels of each need, what stops it, and what each step costs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from solver.reports.describe import broken_limit, describe_build, shortage_notes
from solver.reports.report import BrokenLimit, BuildReport, FileFault, Part
from solver.reports.wording import amount_text, money
from solver.room.demand import asking
from solver.room.survey import Survey
from solver.room.words import SIDES, Direction
from solver.rules.limit import Reading

if TYPE_CHECKING:
    from solver.search.ask.reach import Most, Reach, Reaches, Stop

Cause = Literal["budget", "stock", "rails", "cooling", "together", "numbers", "frames"]
"""What stops a need: limits of one rule that alone could be lifted to let it on, more than one of them `together`, too
few `numbers`, or what the `frames` can seat and number."""


class MostChannels(Part):
    """The most channels, null where even none of this need leaves the other needs unmet; not proven: at least."""

    channels: int | None
    proven: bool


class Hurdle(Part):
    """What keeps so many `channels` from being served.

    `broken` are limits of its kind as the cheapest build has them that serves the channels without these limits, and
    `cost` is what that one costs; null where no build was looked for.
    """

    cause: Cause
    channels: int
    cost: str | None
    broken: list[BrokenLimit]
    text: str


class CostStep(Part):
    """The cheapest build for any number of channels from `first` to `last`; audited. It serves `last`.

    Proven: nothing cheaper serves `first`, and nothing as cheap more than `last`.
    """

    first: int
    last: int
    cost: str
    within_budget: bool
    proven: bool
    build: BuildReport


class NeedReach(Part):
    """One need, or a `bare` signal that no need asks for. `asked` counts the spare channels too.

    `stops` hold one channel above `within_budget`, each alone could be lifted to go on; `stops_then` one above
    `any_money` where money stops it first. Null: not known, the time was over. `steps` begin at what is asked for.
    """

    name: str
    bare: bool
    direction: Direction
    signal: str
    asked: int
    from_stock: MostChannels
    within_budget: MostChannels
    any_money: MostChannels
    stops: list[Hurdle] | None
    stops_then: list[Hurdle] | None
    steps: list[CostStep]


class ReachReport(Part):
    """The answer to `reach`. `cost` is what the scenario itself takes, the least if that is `cost_proven`."""

    format: Literal[1] = 1
    scenario: str
    currency: str
    sample_rate: int
    budget: str | None
    outcome: Literal["found", "impossible", "unknown"]
    proven: bool
    cost: str | None = None
    cost_proven: bool = False
    needs: list[NeedReach] = []
    notes: list[str] = []
    assumed: list[str] = []
    warnings: list[FileFault] = []


def reach_report(survey: Survey, found: Reaches) -> ReachReport:
    """The document of what a search found."""
    survey = found.survey or survey
    needs = [_need(survey, reach) for reach in found.reaches]
    notes: list[str] = []
    if found.build is not None:
        build = found.build
        cheapest = describe_build(survey, build.standing, build.figures, 1, build.proven, dict(build.stages))
        notes = shortage_notes([cheapest])
    return ReachReport(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        budget=None if survey.budget is None else money(survey, survey.budget),
        outcome=found.outcome,
        proven=found.outcome == "impossible" or (found.proven and all(map(_proven, needs))),
        cost=None if found.cost is None else money(survey, found.cost),
        cost_proven=found.proven,
        needs=needs,
        notes=notes,
    )


def _proven(need: NeedReach) -> bool:
    every = (need.from_stock, need.within_budget, need.any_money)
    return all(most.proven for most in every) and need.stops is not None and need.stops_then is not None


def _need(survey: Survey, reach: Reach) -> NeedReach:
    steps = []
    for number, step in enumerate(reach.steps, start=1):
        best = step.best
        asked = asking(survey, reach.need, step.last)
        steps.append(
            CostStep(
                first=step.first,
                last=step.last,
                cost=money(survey, step.cost),
                within_budget=survey.budget is None or step.cost <= survey.budget,
                proven=step.proven,
                build=describe_build(asked, best.standing, best.figures, number, best.proven, dict(best.stages)),
            )
        )
    stops, then = (None if s is None else [_hurdle(survey, reach, x) for x in s] for s in (reach.stops, reach.later))
    return NeedReach(
        name=reach.need.name,
        bare=reach.bare,
        direction=reach.need.direction,
        signal=reach.need.signal,
        asked=reach.need.demand,
        from_stock=_most(reach.stock),
        within_budget=_most(reach.budget),
        any_money=_most(reach.unlimited),
        stops=stops,
        stops_then=then,
        steps=steps,
    )


def _most(most: Most) -> MostChannels:
    return MostChannels(channels=most.channels, proven=most.proven)


def _hurdle(survey: Survey, reach: Reach, stop: Stop) -> Hurdle:
    broken = [broken_limit(survey, reading) for reading in stop.broken]
    cost = None if stop.cost is None else money(survey, stop.cost)
    text = _text(survey, reach, stop)
    return Hurdle(cause=stop.cause, channels=stop.channels, cost=cost, broken=broken, text=text)


def _text(survey: Survey, reach: Reach, stop: Stop) -> str:
    """What stops a need, with its figures."""
    match stop.cause:
        case "budget":
            return (
                f"budget: {stop.channels} cost {money(survey, stop.cost or 0)} of {money(survey, survey.budget or 0)}"
            )
        case "stock":
            lacking = [f"{r.used} x {r.limit.place.subject}, {r.limit.bound} to be had" for r in stop.broken]
            return f"stock and offers: {'; '.join(lacking)}"
        case "rails" | "cooling":
            return f"{stop.cause}: {', '.join(_over(survey, reading) for reading in stop.broken)}"
        case "numbers":
            way = SIDES[reach.need.direction]
            return f"numbers: {stop.asked} {way} of {stop.at_most}"
        case "together":
            return "more than one limit together"
    wishes = any(f.spec.pins or f.spec.keep_empty or f.spec.straps for f in survey.frames) or survey.must_seat
    return f"slots and numbers{', with what the scenario asks of seats and settings' if wishes else ''}"


def _over(survey: Survey, reading: Reading) -> str:
    limit = reading.limit
    if limit.rule == "rails" and limit.source is None:
        site = survey.site(limit.place.frame or "")
        return f"{site.chassis.id if site else ''} supplies no {limit.place.subject}"
    where = [limit.place.subject or ""]
    if len(survey.frames) > 1:
        where.insert(0, f"frame {limit.place.frame}")
    used, bound = (amount_text(survey, limit.unit, n) for n in (reading.used, limit.bound))
    said = f"{used} to spare, at least {bound}" if limit.at_least else f"{used} of {bound}"
    return " ".join(word for word in [*where, said] if word)
