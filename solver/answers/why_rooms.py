"""Why several rooms cannot all be built: which of them clash over what they share, and the smallest ways out."""

from __future__ import annotations

from collections.abc import Sequence

from solver.answers.rooms import plan_rooms
from solver.answers.why import explain_clash
from solver.files.reading import Loaded
from solver.judge.campus import Campus
from solver.reports.assumed import assumed
from solver.reports.campus_why import CampusWhy, FoundWay, campus_why, in_order
from solver.reports.describe_campus import describe_campus
from solver.reports.element import file_warnings
from solver.reports.share import alone
from solver.reports.why import By
from solver.room.ready import survey_room
from solver.search.campus.clash import clash_of_rooms
from solver.search.solve.clock import Clock


def why_rooms(
    campus: Campus, loaded: Loaded, clock: Clock, workers: int, by: By
) -> tuple[CampusWhy, Sequence[FoundWay]]:
    """Whether all rooms can be built together and, where that is proven not to be, why not; and the ways out."""
    answer, ways = _why(campus, clock, workers, by)
    told = {"warnings": file_warnings(loaded.warnings), "assumed": assumed(loaded.scenario, loaded.hardware)}
    return answer.model_copy(update=told), ways


def _why(campus: Campus, clock: Clock, workers: int, by: By) -> tuple[CampusWhy, Sequence[FoundWay]]:
    planned = plan_rooms(campus, workers, clock)
    if planned.outcome != "impossible":
        answer = campus_why(campus, planned.outcome)
        if planned.best is not None:
            build, _ = describe_campus(campus, planned.best.standing, planned.best.figures, planned.best.proven)
            answer = answer.model_copy(update={"short": [short.text for short in build.short]})
        return answer, ()
    found = clash_of_rooms(campus, clock, workers)
    surveys = [campus.rooms[room] for room in found.alone]
    clashes = [
        explain_clash(survey_room(alone(s.scenario, s.room or ""), s.hardware), clock, workers, by)[0] for s in surveys
    ]
    ways = in_order(found.ways, by)
    return campus_why(campus, "impossible", found, clashes, ways), ways
