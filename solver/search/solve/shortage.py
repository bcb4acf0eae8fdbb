"""How short needs that are nice to have must be where not all needs can be met: the least, before anything is ranked.

First the fewest channels in all, then the fewest needs. Every build of a scenario keeps to that, so the answer is put
into the survey, and whatever is asked afterwards is asked of that survey.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal, Protocol, TypeVar

from solver.room.survey import Shortage, Survey
from solver.search.model.scale import Scale, Stage
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.stages import Chosen, Least, RankedBuild, Search, audited


class _Outcome(Protocol):
    """What a search of a room comes to."""

    @property
    def outcome(self) -> str: ...


Answer = TypeVar("Answer", bound=_Outcome)

SHORT: Stage = ("short", "short_needs")
"""What is asked for first where not all needs can be met."""


@dataclass(frozen=True)
class LeastShort:
    """The least that needs which are nice to have are short: a survey that allows for it, and a seating that does it.

    `impossible`: not even with nothing of what is nice to have. `unknown`: the time was over before anything was found.
    """

    outcome: Literal["found", "impossible", "unknown"]
    survey: Survey
    seating: Seating | None = None
    proven: bool = False
    bound: int = 1
    """No build is short of fewer channels."""


def may_give_way(survey: Survey) -> bool:
    """Whether there is anything that may give way and does not yet."""
    return not survey.short.channels and any(need.nice and need.demand for need in survey.needs)


def least_short(survey: Survey, clock: Clock, workers: int = 1) -> LeastShort:
    """The least shortage of a room where not all needs can be met.

    Parameters
    ----------
    survey
        A room that has been proven impossible with every need met, of which some are nice to have.
    """
    nice = [need.demand for need in survey.needs if need.nice and need.demand]
    loosened = replace(survey, short=Shortage(sum(nice), len(nice)), rank=SHORT, slack={})
    latest: list[Seating] = []

    def ask() -> Least:
        search = Search.of(loosened, clock, workers)
        search.latest = latest
        return search.least(SHORT, {})

    try:
        least = clock.step(ask)
    except Stopped:
        if not latest:
            return LeastShort("unknown", survey)
        return LeastShort("found", replace(survey, short=loosened.short), latest[0])
    scale = Scale.of(loosened)
    if least.value is None or least.seating is None:
        return LeastShort("impossible" if least.proven else "unknown", survey)
    values = scale.split(SHORT, least.value)
    short = Shortage(values["short"], values["short_needs"])
    bound = max(1, scale.split(SHORT, max(0, least.bound))["short"])
    return LeastShort("found", replace(survey, short=short), least.seating, least.proven, bound)


def needs_giving_way(
    survey: Survey, ask: Callable[[Survey], Answer], clock: Clock, workers: int
) -> tuple[Answer, LeastShort | None]:
    """An answer about a room; where not all needs can be met, about the room with what is least short.

    Returns
    -------
    tuple
        The answer, and what was found to be least short: None where nothing has to give way.
    """
    answer = ask(survey)
    if answer.outcome != "impossible" or not may_give_way(survey):
        return answer, None
    least = least_short(survey, clock, workers)
    return (ask(least.survey) if least.outcome == "found" else answer), least


def builds_under(
    least: LeastShort, outcome: str, builds: Sequence[RankedBuild], clock: Clock
) -> tuple[RankedBuild, ...]:
    """The builds of an answer about the room with what is least short, each with what is proven of that.

    Parameters
    ----------
    least
        What was found to be least short; not impossible.
    outcome, builds
        The answer. Where the time was over before it had any, the build that was found with the shortage stands.

    Raises
    ------
    SearchError
        If the answer is that there is none, or a build is short of less: a defect.
    """
    if least.outcome == "unknown":
        return ()
    if outcome == "impossible":
        raise SearchError(f"nothing is found that is short by {least.survey.short}")
    return tuple(held_against(least, build) for build in builds) or tuple(any_build(least, clock))


def held_against(least: LeastShort, build: RankedBuild) -> RankedBuild:
    """A build with what is proven of its shortage; without that nothing of its rank is.

    Raises
    ------
    SearchError
        If the build is short of less than is said to be proven the least: a defect.
    """
    short = least.survey.short
    if least.proven and (build.figures.short, build.figures.short_needs) != (short.channels, short.needs):
        raise SearchError(f"the least shortage is said to be {short}, the audit finds {build.figures}")
    stages = {**dict.fromkeys(SHORT, least.proven), **{c: least.proven and p for c, p in build.stages.items()}}
    bounds = build.bounds if least.proven else {SHORT[0]: least.bound}
    return replace(build, proven=least.proven and build.proven, stages=stages, bounds=bounds)


def any_build(least: LeastShort, clock: Clock) -> list[RankedBuild]:
    """The build that was found with the shortage, where the time was over before any was ranked."""
    assert least.seating is not None
    chosen = Chosen(least.seating, stages=dict.fromkeys(least.survey.rank, False))
    try:
        return [held_against(least, clock.step(partial(audited, least.survey, chosen)))]
    except Stopped:
        return []
