"""The reach of a scenario as a document: the most channels of each need, what stops it, and what each step costs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from solver.reports.broken import broken_limit
from solver.reports.describe import describe_build, shortage_notes
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.report import BuildReport
from solver.reports.wording import in_words, money
from solver.room.demand import asking
from solver.room.survey import Survey
from solver.room.words import SIDES, Direction

if TYPE_CHECKING:
    from solver.search.ask.reach import Most, Reach, Reaches, Stop


class MostChannels(Element):
    """The most channels, null where even none of this need leaves the other needs unmet; not proven: at least."""

    channels: int | None
    proven: bool


class Hurdle(Element):
    """What keeps so many `channels` from being served.

    `cause` is the code of a rule whose limits alone could be lifted to go on, or `together`: more than one of them; too
    few `numbers`; or what the `frames` can seat and number. `broken` are limits of that rule as the cheapest build has
    them that serves the channels without these limits, and `cost` is what that one costs; null where no build was
    looked for.
    """

    cause: str
    channels: int
    cost: str | None
    broken: list[BrokenLimit]
    text: str


class CostStep(Element):
    """The cheapest build for any number of channels from `first` to `last`; audited. It serves `last`.

    Proven: nothing cheaper serves `first`, and nothing as cheap more than `last`.
    """

    first: int
    last: int
    cost: str
    within_budget: bool
    proven: bool
    build: BuildReport


class NeedReach(Element):
    """One need, or a `bare` signal that no need asks for. `asked` counts the spare channels too.

    `stops` hold one channel above `within_budget`, each alone could be lifted to go on; `stops_then` one above
    `any_money` where money stops it first, or together with something else. Null: not known, the time was over.
    `steps` begin at what is asked for.
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


class ReachReport(Element):
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
    return Hurdle(
        cause=stop.code,
        channels=stop.channels,
        broken=[broken_limit(survey, reading) for reading in stop.broken],
        cost=None if stop.cost is None else money(survey, stop.cost),
        text=_text(survey, reach, stop),
    )


def _text(survey: Survey, reach: Reach, stop: Stop) -> str:
    """What stops a need, with its figures."""
    match stop.cause:
        case "numbers":
            to_be_had = " that boards to be had give" if _lacks_boards(survey) else ""
            return f"numbers: {stop.asked} {SIDES[reach.need.direction]} of {stop.at_most}{to_be_had}"
        case "together":
            return "more than one limit together"
        case "frames":
            asked = any(site.spec.straps for site in survey.frames)
            return f"slots and numbers{', with the settings that are asked for' if asked else ''}"
        case rule:
            return in_words(survey, rule.hurdle(survey, stop.channels, stop.broken))


def _lacks_boards(survey: Survey) -> bool:
    """Whether a frame that takes any board that fits could take one that is not to be had."""
    return any(
        survey.most_of(board) == 0 for site in survey.frames if not site.spec.board for board in site.chassis.boards
    )
