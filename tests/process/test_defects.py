"""A defect of the program itself ends in 4 and says what to send; never in 1, which means impossible."""

from __future__ import annotations

import sys
import tomllib
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from process.conftest import Run

ROOT = Path(__file__).parents[2]
MIX = "scenarios/quay-mix-rig.toml"

WRONG_FIGURES = """
import dataclasses, solver.judge.criteria as criteria
def figures(*given, real=criteria.figures):
    found = real(*given)
    return dataclasses.replace(found, cost=found.cost + 1)
criteria.figures = figures
"""


def test_a_search_that_the_audit_contradicts(strapwork: Run, tmp_path: Path) -> None:
    ran = strapwork("plan", MIX, "--top", "1", first=WRONG_FIGURES)
    assert ran.returncode == 4
    assert ran.stdout == ""
    assert "Traceback" in ran.stderr
    assert "SearchError" in ran.stderr
    assert "the same command with --dump-model FILE writes the model" in ran.stderr
    told = ran.stderr[ran.stderr.index("internal error") :]
    assert f"ortools {version('ortools')}" in told
    assert f"Python {sys.version.split()[0]}" in told
    assert f"command: strapwork plan {MIX} --top 1\n" in told
    assert f"file: {ROOT / MIX}\n" in told


@pytest.mark.parametrize(
    "command",
    [
        ("plan",),
        ("front",),
        ("explain",),
        ("why",),
        ("why-not", "--card", "aes-8"),
        ("reach", "--need", "reference in"),
    ],
    ids=lambda command: command[0],
)
def test_the_model_of_a_search_that_went_wrong(strapwork: Run, tmp_path: Path, command: tuple[str, ...]) -> None:
    dump = tmp_path / "model.txt"
    ran = strapwork(*command, MIX, "--dump-model", str(dump), first=WRONG_FIGURES)
    assert ran.returncode == 4
    assert f"the model is in {dump}\n" in ran.stderr
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    model.proto.parse_text_format(dump.read_text(encoding="utf-8"))
    assert len(model.proto.variables) > 10
    decided = (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)
    assert cp_model.CpSolver().solve(model) in decided
    assert list(tmp_path.iterdir()) == [dump]


def test_a_model_that_cannot_be_written_does_not_hide_the_defect(strapwork: Run, tmp_path: Path) -> None:
    late = "\nimport os\nos.fsync = lambda _: (_ for _ in ()).throw(OSError(28, 'No space left on device'))\n"
    ran = strapwork("plan", MIX, "--top", "1", "--dump-model", str(tmp_path / "m.txt"), first=WRONG_FIGURES + late)
    assert ran.returncode == 4
    assert "the model cannot be written" in ran.stderr
    assert "SearchError" in ran.stderr
    assert list(tmp_path.iterdir()) == []


def test_without_a_defect_no_model_is_written(strapwork: Run, tmp_path: Path) -> None:
    assert strapwork("plan", MIX, "--top", "1", "--dump-model", str(tmp_path / "m.txt")).returncode == 0
    assert list(tmp_path.iterdir()) == []


CRASHES = {
    "a panic": "import solver.fitted.standing as s\ndef stand(*_): raise BaseException('panic')\ns.stand = stand\n",
    "check": "import solver.fitted.standing as s\ndef stand(*_): return [][0]\ns.stand = stand\n",
    "no memory": "import solver.fitted.standing as s\ndef stand(*_): raise MemoryError\ns.stand = stand\n",
    "too deep": "import solver.fitted.standing as s\ndef stand(a, b): return stand(a, b)\ns.stand = stand\n",
}


@pytest.mark.parametrize("crash", CRASHES.values(), ids=CRASHES)
def test_a_crash(strapwork: Run, crash: str) -> None:
    ran = strapwork("check", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml", first=crash)
    assert (ran.returncode, ran.stdout) == (4, "")
    assert "internal error" in ran.stderr
    assert "scenarios/quay-filled-drawn.toml\n" in ran.stderr


@pytest.mark.parametrize("package", ["click", "pydantic", "ortools", "rich"])
def test_a_package_that_cannot_be_imported(strapwork: Run, tmp_path: Path, package: str) -> None:
    (tmp_path / f"{package}.py").write_text("raise ImportError('broken here')\n")
    ran = strapwork("plan", MIX, "--top", "1", env={"PYTHONPATH": f"{tmp_path}:{ROOT}"})
    assert (ran.returncode, ran.stdout) == (4, "")
    assert "broken here" in ran.stderr


def test_versions(strapwork: Run) -> None:
    probe = """
import os, sys
leave = os._exit
def told(code):
    heavy = {'ortools', 'pandas', 'pydantic', 'rich', 'numpy'}
    print(sorted({m.split('.')[0] for m in sys.modules} & heavy), file=sys.stderr, flush=True)
    leave(code)
os._exit = told
"""
    ran = strapwork("versions", first=probe)
    assert ran.returncode == 0
    assert ran.stderr == "[]\n"
    told = dict(line.split(maxsplit=1) for line in ran.stdout.splitlines())
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for requirement in project["dependencies"]:
        name = requirement.split(">=")[0]
        assert told[name] == version(name)
    assert told["strapwork"] == version("strapwork")
    assert told["Python"].startswith(sys.version.split()[0])
    assert strapwork("--version").stdout == f"strapwork {version('strapwork')}\n"


def test_versions_of_a_copy_that_is_not_installed(strapwork: Run) -> None:
    hidden = (
        "import importlib.metadata as m\ndef version(name): raise m.PackageNotFoundError(name)\nm.version = version\n"
    )
    assert strapwork("--version", first=hidden).stdout == "strapwork not installed\n"
    assert strapwork("versions", first=hidden).returncode == 0
