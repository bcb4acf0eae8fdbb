"""The front: complete, beaten by nothing, with the winner of every order on it."""

from __future__ import annotations

import dataclasses
import json
import os
import subprocess
import sys
from itertools import permutations
from pathlib import Path

import brute_force
import generate

from solver import audit, criteria
from solver.report import Report
from solver.search.front import front, scenarios_choice
from solver.search.ranking import rank
from solver.search.stages import RankedBuild
from solver.survey import Survey, survey_room

ROOT = Path(__file__).parents[1]
SEEDS = range(160)


def _key(survey: Survey, build: RankedBuild) -> tuple[int, ...]:
    return tuple(criteria.value(survey, build.figures, c) for c in survey.rank)


def _tried(survey: Survey, found: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Brute force counts cooling in steps reached, the criteria in steps missing."""
    at = [c == "cooling" for c in survey.rank]
    return sorted(tuple(survey.top_level - v if cool else v for v, cool in zip(p, at, strict=True)) for p in found)


def test_the_front_is_the_one_that_trying_all_gives():
    several = 0
    for seed in SEEDS:
        scenario, hardware = generate.random_pair(seed)
        survey = survey_room(scenario, hardware)
        expected = _tried(survey, brute_force.front(scenario, hardware, survey.rank))
        found = front(survey)
        assert found.outcome == ("found" if expected else "impossible"), seed
        assert found.complete, seed
        keys = [_key(survey, point) for point in found.points]
        assert keys == expected, seed
        for point in found.points:
            assert audit.faults(survey, point.standing) == [], seed
            assert criteria.figures(survey, point.standing) == point.figures
        assert not any(a != b and all(x <= y for x, y in zip(a, b, strict=True)) for a in keys for b in keys), seed
        several += len(keys) > 1
    assert several >= 8


def test_the_winner_of_every_order_is_on_the_front():
    orders = 0
    for seed in range(0, 160, 4):
        survey = survey_room(*generate.random_pair(seed))
        found = front(survey)
        if not found.points:
            continue
        assert _key(survey, scenarios_choice(survey, found.points)) == _key(survey, rank(survey, top=1).builds[0]), seed
        for order in permutations(survey.rank):
            other = dataclasses.replace(survey, rank=order, slack={})
            best = rank(other, top=1).builds[0]
            assert _key(survey, best) in [_key(survey, point) for point in found.points], (seed, order)
            orders += 1
    assert orders >= 60


def test_the_number_of_workers_changes_nothing():
    for seed in range(0, 40):
        survey = survey_room(*generate.random_pair(seed))
        assert [p.build for p in front(survey).points] == [p.build for p in front(survey, workers=2).points], seed


def test_out_of_time_nothing_is_called_complete():
    from solver.files import load_scenario

    loaded = load_scenario(ROOT / "scenarios" / "quay-live-room.toml")
    survey = survey_room(loaded.scenario, loaded.hardware)
    found = front(survey, limit_s=0.3)
    assert not found.complete
    assert all(audit.faults(survey, point.standing) == [] for point in found.points)


def test_a_front_as_a_document_and_as_a_screen():
    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "cli", "front", *arguments]
        return subprocess.run(command, cwd=ROOT, env={**os.environ, "COLUMNS": "80"}, capture_output=True, text=True)

    ran = run("scenarios/quay-mix-rig.toml", "--format", "json")
    report = Report.model_validate(json.loads(ran.stdout))
    assert report.front is not None
    assert report.front.complete
    assert [p.values["cost"] for p in report.front.points] == [b.cost for b in report.builds] == ["3030.00", "2380.00"]
    assert report.front.points[0].marks == ["fullest", "the scenario's choice"]
    assert report.front.points[1].step == "8 more unused buy 650.00 less to spend and 2 K more margin"
    screen = run("scenarios/quay-mix-rig.toml", "--show", "2").stdout
    assert "Build 2, frame M" in screen
    assert max(map(len, screen.splitlines())) <= 80
    assert run("scenarios/quay-impossible.toml").returncode == 1
    assert run("scenarios/quay-mix-rig.toml", "--show", "9").returncode == 2
