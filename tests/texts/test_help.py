"""What a newcomer sees first: lines to copy that work, and every summary whole."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from cli.main import cli

ROOT = Path(__file__).parents[2]

HELP = """\
strapwork plan scenarios/quay-mix-rig.toml
strapwork check scenarios/quay-filled.toml scenarios/quay-filled-drawn.toml
strapwork why scenarios/quay-impossible.toml

Usage: strapwork [OPTIONS] COMMAND [ARGS]...

  Plan, check and rank builds of modular converter frames.

  The lines above say what fits, whether a build is right, and what would make
  an impossible scenario possible.

  Exit codes: 0 found or clean, 1 proven impossible or faulty, 2 bad usage or
  files, 3 a limit ended the search without an answer, 4 internal error, 130
  interrupted (143 by SIGTERM).

Options:
  --version   Its version.
  -h, --help  Show this message and exit.

Commands:
"""


def strapwork(*arguments: str, columns: str = "80", **more: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "COLUMNS": columns, "PYTHONPATH": str(ROOT), **more}
    command = [sys.executable, "-m", "cli", *arguments]
    return subprocess.run(command, cwd=ROOT, env=environment, check=False, capture_output=True, text=True)


def test_help_begins_with_three_lines_to_copy() -> None:
    asked = strapwork("--help")
    assert (asked.returncode, asked.stderr) == (0, "")
    assert asked.stdout.startswith(HELP)
    assert strapwork("-h").stdout == asked.stdout
    alone = strapwork()
    assert (alone.returncode, alone.stdout, alone.stderr) == (2, "", asked.stdout)


@pytest.mark.parametrize(("line", "code"), list(zip(HELP.splitlines()[:3], (0, 1, 1), strict=True)))
def test_the_lines_work_as_they_stand(line: str, code: int) -> None:
    ran = strapwork(*line.split()[1:])
    assert (ran.returncode, ran.stderr) == (code, "")
    assert ran.stdout


@pytest.mark.parametrize("columns", ["60", "80", "120"])
def test_no_summary_is_cut(columns: str) -> None:
    told = strapwork("--help", columns=columns).stdout
    assert "..." not in told.split("Commands:")[1]
    assert max(map(len, told.splitlines())) <= max(int(columns), 75)
    words = " ".join(told.split())
    for name, command in cli.every().items():
        summary = " ".join((command.help or "").split("\n\n")[0].split())
        assert f"{name} {summary}" in words
        assert summary.endswith(".")


@pytest.mark.parametrize("name", cli.every())
def test_the_help_of_a_command_says_of_every_option_what_it_does(name: str) -> None:
    told = strapwork(name, "--help")
    assert (told.returncode, told.stderr) == (0, "")
    assert max(map(len, told.stdout.splitlines())) <= 80
    for parameter in cli.every()[name].params:
        if parameter.param_type_name == "option":
            assert parameter.help
            assert parameter.opts[-1] in told.stdout


@pytest.mark.parametrize(
    ("line", "offered"),
    [("strapwork wh", ["why", "why-not"]), ("strapwork plan --sa", ["--save"]), ("strapwork schema h", ["hardware"])],
)
def test_a_shell_completes_commands_options_and_choices(line: str, offered: list[str]) -> None:
    words = {"COMP_WORDS": line, "COMP_CWORD": str(line.count(" "))}
    ran = strapwork(**words, _STRAPWORK_COMPLETE="bash_complete")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert [row.partition(",")[2] for row in ran.stdout.splitlines()] == offered


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_is_told_how_to_complete(shell: str) -> None:
    ran = strapwork(_STRAPWORK_COMPLETE=f"{shell}_source")
    assert ran.returncode == 0
    assert f"_STRAPWORK_COMPLETE={shell}_complete" in ran.stdout


@pytest.mark.parametrize(
    ("typed", "told"), [("plna", 'no command "plna"; did you mean plan?'), ("zz", 'no command "zz"')]
)
def test_of_a_command_that_is_none_the_nearest_is_told(typed: str, told: str) -> None:
    ran = strapwork(typed)
    assert ran.returncode == 2
    assert ran.stderr.splitlines()[-1] == f"Error: {told}"
