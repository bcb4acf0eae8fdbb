"""What it costs at least that a room survives failures: the cheapest build that does beside the cheapest of all."""

from __future__ import annotations

from dataclasses import replace

from solver import rules
from solver.room.survey import Survey
from solver.search.ask.ranking import Ranking, Readiness, rank
from solver.search.solve.clock import Clock


def readiness(survey: Survey, workers: int, clock: Clock | None) -> Readiness | None:
    """What it costs to survive; None where a room is to survive nothing, or where that is not known in time."""
    what, plain = rules.ready_for(survey)
    if not what:
        return None
    costs = []
    for room in (survey, plain):
        cheapest = rank(replace(room, rank=("cost",), slack={}), 1, workers=workers, clock=clock)
        if not cheapest.builds:
            return None
        costs.append((cheapest.builds[0].figures.cost, cheapest.builds[0].proven))
    (cost, sure), (without, also) = costs
    return Readiness(tuple(what), cost, without, sure and also)


def with_readiness(survey: Survey, ranking: Ranking, workers: int, clock: Clock | None) -> Ranking:
    """A ranking with what it costs to survive."""
    return replace(ranking, ready=readiness(survey, workers, clock)) if ranking.builds else ranking
