"""The installed command, from a wheel and editable, started in a folder that has a `solver` and a `cli` of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX layout of environments")

ROOT = Path(__file__).parents[2]
SOURCES = ("cli", "solver", "pyproject.toml", "README.md", "LICENSE")
PIP = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What is built from, apart from the checkout, so that nothing is left there."""
    pytest.importorskip("setuptools", minversion="77")
    folder = tmp_path_factory.mktemp("source")
    for name in SOURCES:
        path = ROOT / name
        if path.is_dir():
            shutil.copytree(path, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(path, folder / name)
    return folder


@pytest.fixture(scope="module")
def wheel(source: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run([*PIP, "wheel", "--no-deps", "--no-build-isolation", "-w", folder, source], check=True)
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module", params=["wheel", "editable"])
def installed(request: pytest.FixtureRequest, source: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The command in an environment of its own that finds the dependencies in the one of the tests."""
    folder = tmp_path_factory.mktemp(request.param)
    venv.create(folder, with_pip=False)
    (site,) = folder.glob("lib/python3*/site-packages")
    (site / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n")
    what: list[str | Path] = ["-e", source] if request.param == "editable" else [request.getfixturevalue("wheel")]
    python = folder / "bin" / "python"
    subprocess.run(
        [*PIP, "--python", python, "install", "--no-deps", "--no-build-isolation", "--ignore-installed", *what],
        check=True,
    )
    return folder / "bin" / "strapwork"


@pytest.fixture
def decoys(tmp_path: Path) -> Path:
    for name in ("solver", "cli"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text("raise RuntimeError('another package')\n")
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    return tmp_path


def test_the_wheel_holds_every_module_and_nothing_else(wheel: Path) -> None:
    names = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    modules = {str(p.relative_to(ROOT)) for top in ("cli", "solver") for p in (ROOT / top).rglob("*.py")}
    data = {"cli/py.typed", "solver/py.typed", "solver/reports/keys.toml", "solver/room/pinouts.toml"}
    data |= {str(p.relative_to(ROOT)) for p in (ROOT / "cli/page/templates").iterdir()}
    assert names == modules | data


def test_in_a_folder_with_packages_of_the_same_names(installed: Path, decoys: Path) -> None:
    own = {key: value for key, value in os.environ.items() if key in ("PATH", "HOME")}

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run([installed, *arguments], cwd=decoys, env=own, check=False, capture_output=True, text=True)

    mix = "scenarios/quay-mix-rig.toml"
    assert run("--version").stdout.startswith("strapwork 0.")
    planned = run("plan", mix, "--top", "1", "--save", "build.toml")
    assert (planned.returncode, planned.stderr) == (0, "")
    assert "Build 1" in planned.stdout
    assert run("check", mix, "build.toml").returncode == 0
    assert run("pack", mix, "build.toml", "--to", "handover").returncode == 0
    assert (decoys / "handover" / "index.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert run("plan", "scenarios/quay-impossible.toml").returncode == 1
    assert "in kelvin (K)" in run("schema", "scenario").stdout
    safe = [str(installed.with_name("python")), "-P", "-m", "cli", "blocks", "scenarios/hardware/quay.toml"]
    blocks = subprocess.run(safe, cwd=decoys, env=own, check=False, capture_output=True, text=True)
    assert (blocks.returncode, blocks.stdout) == (0, run("blocks", "scenarios/hardware/quay.toml").stdout)
