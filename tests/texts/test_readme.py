"""The README's examples are run: commands print what it shows, files load, every command and option is named."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from decimal import Decimal
from pathlib import Path

import click
import pytest

from cli.main import cli
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
RUNS = re.findall(r"```console\n\$ strapwork (.*)\n([\s\S]*?)```", TEXT)
FILES = re.findall(r"```toml\n# (\w+)\n([\s\S]*?)```", TEXT)


@pytest.mark.parametrize(("command", "shown"), RUNS, ids=[command for command, _ in RUNS])
def test_a_run_prints_what_the_readme_shows(command, shown):
    environment = {**os.environ, "COLUMNS": "80", "NO_COLOR": "1"}
    ran = subprocess.run(
        [sys.executable, "-m", "cli", *command.split()],
        cwd=ROOT,
        env=environment,
        check=False,
        capture_output=True,
        text=True,
    )
    assert ran.stdout == shown
    assert ran.returncode in (0, 1)


@pytest.mark.parametrize(("kind", "text"), FILES, ids=[kind for kind, _ in FILES])
def test_a_file_by_example_is_valid(kind, text):
    model = {"hardware": Hardware, "scenario": Scenario, "build": Build}[kind]
    assert model.model_validate(tomllib.loads(text, parse_float=Decimal)).format == 1


def test_every_command_and_option_is_named():
    for name, command in cli.commands.items():
        assert f"strapwork {name}" in TEXT
        for parameter in command.params:
            if isinstance(parameter, click.Option):
                assert all(option in TEXT for option in parameter.opts), parameter.opts


def test_there_are_two_set_up_lines_and_the_examples_are_there():
    blocks = re.findall(r"```sh\n([\s\S]*?)```", TEXT)
    assert [block.count("\n") for block in blocks] == [1, 1]
    assert blocks[1].rstrip().endswith("-m pytest")
    assert len(RUNS) >= 3
    assert {kind for kind, _ in FILES} == {"hardware", "scenario", "build"}
