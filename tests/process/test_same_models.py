"""The same scenario makes the same models in every process, whatever order sets come in there."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

MODELS_OF = """
import hashlib, sys
from solver.room.ready import survey_room
from solver.search.ask.clash import clash
from solver.search.ask.ranking import rank
from solver.search.model.cpsat import cp_model
from generate import random_pair

solve, asked = cp_model.CpSolver.solve, []
def listening(solver, model, *others):
    asked.append(hashlib.sha256(str(model.proto).encode()).hexdigest())
    return solve(solver, model, *others)
cp_model.CpSolver.solve = listening

for seed in map(int, sys.argv[1].split()):
    survey = survey_room(*random_pair(seed))
    if rank(survey, 2).outcome == "impossible":
        clash(survey)
print("\\n".join(sorted(asked)))
"""
"""What every model holds that is solved for some scenarios, in no order: some are solved at the same time."""


def _models(scenarios: str, seed: str) -> list[str]:
    run = subprocess.run(
        [sys.executable, "-c", MODELS_OF, scenarios],
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'tests/oracle'}"},
        capture_output=True,
        text=True,
        check=True,
    )
    return run.stdout.split()


def test_the_same_models_are_asked_in_every_process() -> None:
    scenarios = "4 26 59"
    models = _models(scenarios, "0")
    assert len(models) > 100
    assert all(_models(scenarios, seed) == models for seed in ("1", "2"))
