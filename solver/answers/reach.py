"""How many channels each need of a room can have, what stops it, and what each step costs."""

from __future__ import annotations

from solver.reports.reach import ReachReport, reach_report
from solver.room.survey import Survey
from solver.search.ask import reach as reaching
from solver.search.solve.clock import Clock


def reach(survey: Survey, names: list[str] | None, workers: int, clock: Clock) -> ReachReport:
    """The most channels of each need, as the report has them."""
    return reach_report(survey, reaching.reach(survey, names, clock, workers))
