"""Why a room cannot be built, and the smallest changes that make it possible."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, TypeVar

from solver.relax.document import all_needed
from solver.reports.describe import describe_build, shortage_notes
from solver.reports.report import Clash, Report
from solver.reports.why import By, Found, clash_report, in_order
from solver.room.survey import Survey
from solver.room.wish import Wish
from solver.search.ask.clash import clash
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock


class Outcome(Protocol):
    """What a search of a room comes to."""

    @property
    def outcome(self) -> str:
        """Found, impossible or unknown."""
        ...


Answer = TypeVar("Answer", bound=Outcome)


def why(survey: Survey, clock: Clock, workers: int, by: By) -> tuple[Report, list[Found]]:
    """Whether a scenario is possible and, where it is proven not to be, why not.

    Where it is possible only because needs that are nice to have give way: why not all of them can be met.
    """
    ranking = rank(survey, 1, workers=workers, clock=clock)
    found: list[Found] = []
    told = None
    builds = [
        describe_build(b.standing.survey, b.standing, b.figures, 1, b.proven, dict(b.stages)) for b in ranking.builds
    ]
    if ranking.outcome == "impossible":
        told, found = explain_clash(survey, clock, workers, by)
    elif any(build.short for build in builds):
        told, found = explain_clash(all_needed(survey), clock, workers, by)
    report = Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome=ranking.outcome,
        proven=ranking.outcome == "impossible" or all(build.proven for build in builds),
        criteria=list(survey.rank),
        clash=told,
        notes=[*shortage_notes(builds), *(short.text for build in builds for short in build.short)],
    )
    return report, found


def explain_clash(
    survey: Survey, clock: Clock, workers: int, by: By, fixed: frozenset[Wish] = frozenset()
) -> tuple[Clash, list[Found]]:
    """The clash of an impossible scenario as the report has it, and its ways out in the same order.

    Wishes of `fixed` do not give way.
    """
    found = clash(survey, clock, workers, fixed=fixed)
    ways = in_order([Found(way.changes, way.cheapest.figures) for way in found.ways], by)
    return clash_report(survey, ways, found), ways


def answer_or_why(
    survey: Survey, ask: Callable[[Survey], Answer], workers: int, clock: Clock
) -> tuple[Answer, Clash | None]:
    """The answer about a room, and why there is no build where that is proven."""
    found = ask(survey)
    told = explain_clash(survey, clock, workers, "work")[0] if found.outcome == "impossible" else None
    return found, told
