"""Campuses of real size against one mixed-integer programme that was written apart and is solved by HiGHS."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from solver.judge.campus import faults, figures, stand_campus, survey_campus
from solver.search.campus.planning import plan_campus

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))

import campus_milp
import campuses


@pytest.mark.parametrize(
    ("rooms", "seed", "cost", "unused"), [(6, 3, 347000, 66), pytest.param(6, 1, 520000, 70, marks=pytest.mark.slow)]
)
def test_both_have_the_same_optima_and_every_room_is_recounted(rooms: int, seed: int, cost: int, unused: int) -> None:
    scenario, hardware = campuses.campus(rooms, seed)
    campus = survey_campus(scenario, hardware)
    best = plan_campus(campus).best
    assert best is not None
    assert best.proven
    assert (best.figures.cost, best.figures.unused) == (cost, unused)
    again = stand_campus(campus, best.build)
    assert faults(campus, again) == []
    assert figures(campus, again) == best.figures
    programme = campus_milp.CampusProgramme(scenario, hardware)
    for solved, value in ((programme.least_cost(300), cost), (programme.least_unused(cost, 300), unused)):
        assert solved.finished
        assert round(solved.value or 0) == value
