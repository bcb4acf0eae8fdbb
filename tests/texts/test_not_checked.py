"""Figures that were checked and figures that could not be stand side by side only where that is said."""

from __future__ import annotations

from pathlib import Path

import pytest

import solver
from cli.screen.plan import show_plan

ROOT = Path(__file__).parents[2]


def test_the_table_marks_builds_that_lack_figures_which_others_have(capsys: pytest.CaptureFixture[str]) -> None:
    report = solver.plan(ROOT / "scenarios" / "quay-mix-rig.toml", top=2)
    show_plan(report, 1)
    assert "NOT CHECKED" not in capsys.readouterr().out
    first, second = report.builds
    lacking = second.model_copy(update={"unknown": {"cooling": "heat unknown: aux-in-2"}})
    show_plan(report.model_copy(update={"builds": [first, lacking]}), 1)
    table = capsys.readouterr().out.split("Build 1")[0]
    assert table.count("NOT CHECKED") == 1
    assert table.index("NOT CHECKED: cooling") > table.index("\n2")
