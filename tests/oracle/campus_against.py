"""A campus planned by the search and by trying everything: the same outcome and figures, proven and clean."""

from __future__ import annotations

from collections import Counter

import campus_brute_force

from solver.judge.campus import Campus, faults, stand_campus, survey_campus
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario
from solver.search.campus.planning import RankedCampus, plan_campus


def same_plan(
    seed: int, scenario: Scenario, hardware: Hardware, seen: Counter[str]
) -> tuple[Campus, campus_brute_force.Joint, RankedCampus] | None:
    """The campus and both plans of it, alike in what they are ranked by; None where there is none. Counts outcomes."""
    campus = survey_campus(scenario, hardware)
    expected = campus_brute_force.plan(scenario, hardware)
    found = plan_campus(campus)
    assert found.outcome == ("found" if expected else "impossible"), seed
    seen[found.outcome] += 1
    if expected is None or found.best is None:
        return None
    assert found.best.proven, seed
    top = {"cooling": campus.purse.top_level}
    assert [found.best.figures.value(c) for c in scenario.rank] == [
        expected.bad(c) + top.get(c, 0) for c in scenario.rank
    ], seed
    assert faults(campus, stand_campus(campus, found.best.build)) == [], seed
    return campus, expected, found.best
