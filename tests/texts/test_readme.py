"""The examples of both READMEs are run: commands print what they show, files load, all that can be said is named."""

from __future__ import annotations

import doctest
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from decimal import Decimal
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from cli.main import cli
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
SCENARIOS = (ROOT / "scenarios/README.md").read_text(encoding="utf-8")
FILES_TEXT = (ROOT / "scenarios/FILES.md").read_text(encoding="utf-8")
RUNS = re.findall(r"```console\n\$ strapwork (.*)\n([\s\S]*?)```", TEXT + SCENARIOS)
FIRST = next(command for command, _ in RUNS if command.startswith("start "))
"""Writes the scenario that it names last."""
PYTHON = re.findall(r"```pycon\n([\s\S]*?)```", TEXT)
FILES = re.findall(r"```toml\n# (\w+)\n([\s\S]*?)```", TEXT + FILES_TEXT)


@pytest.mark.parametrize(("command", "shown"), RUNS, ids=[command for command, _ in RUNS])
def test_a_run_prints_what_the_readme_shows(command: str, shown: str, tmp_path: Path) -> None:
    ran = run(command, writable(tmp_path) if command == FIRST else ROOT)
    assert ran.stdout == shown
    assert ran.returncode in (0, 1)


def test_the_first_scenario_plans_by_the_line_that_is_shown(tmp_path: Path) -> None:
    folder = writable(tmp_path)
    shown = run(FIRST, folder).stdout
    (line,) = re.findall(r"^Next\n  strapwork (.*)$", shown, re.MULTILINE)
    assert line == f"plan {FIRST.rpartition(' ')[2]}"
    planned = run(line, folder)
    assert (planned.returncode, planned.stderr) == (0, "")


def writable(folder: Path) -> Path:
    shutil.copytree(ROOT / "scenarios", folder / "scenarios")
    return folder


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "cli", *shlex.split(command)],
        cwd=folder,
        env={**os.environ, "COLUMNS": "80", "NO_COLOR": "1", "PYTHONPATH": str(ROOT)},
        check=False,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )


@pytest.mark.parametrize(("kind", "text"), FILES, ids=[kind for kind, _ in FILES])
def test_a_file_by_example_is_valid(kind: str, text: str) -> None:
    nouns: dict[str, type[Hardware | Scenario | Build]] = {"hardware": Hardware, "scenario": Scenario, "build": Build}
    assert nouns[kind].model_validate(tomllib.loads(text, parse_float=Decimal)).format == 1


def test_every_command_and_option_is_named() -> None:
    for name, command in cli.every().items():
        assert f"strapwork {name}" in TEXT
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert all(option in TEXT for option in parameter.opts), parameter.opts


def test_there_are_two_set_up_lines_and_the_examples_are_there() -> None:
    blocks = re.findall(r"```sh\n([\s\S]*?)```", TEXT)
    assert [block.count("\n") for block in blocks] == [1, 1]
    assert blocks[1].rstrip().endswith("-m pytest")
    assert len(RUNS) >= 8
    assert {kind for kind, _ in FILES} == {"hardware", "scenario", "build"}


def test_a_newcomer_sees_an_answer_within_one_screen() -> None:
    lines = TEXT.splitlines()
    answer = next(n for n, line in enumerate(lines) if line == "```console")
    assert lines.index("```", answer) < 48
    headings = [line.removeprefix("## ") for line in lines if line.startswith("## ")]
    assert headings[:7] == [
        "Set up",
        "An answer",
        "Cautions",
        "Your first scenario",
        "What to buy",
        "Fit a mix rig",
        "Is the tracking plan possible",
    ]


KEYS = [
    (model, key)
    for what in ("scenario", "hardware", "build")
    for schema in [json.loads(CliRunner().invoke(cli, ["schema", what]).stdout)]
    for model, part in [(schema["title"], schema), *schema["$defs"].items()]
    for key in part.get("properties", {})
]


def test_every_key_of_the_files_is_named() -> None:
    assert len(KEYS) > 100
    assert [(model, key) for model, key in KEYS if not re.search(rf"\b{key}\b", TEXT + FILES_TEXT)] == []


def test_what_programs_do_is_true(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    (text,) = PYTHON
    example = doctest.DocTestParser().get_doctest(text, {}, "README.md", None, None)
    assert len(example.examples) >= 5
    assert doctest.DocTestRunner().run(example).failed == 0
