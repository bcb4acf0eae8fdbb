"""The commands inside this process, where a process of their own is not the point: one start for all of them."""

from __future__ import annotations

import io
import subprocess
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from cli.main import run

ROOT = Path(__file__).parents[1]


def strapwork(*arguments: object, cwd: Path = ROOT, columns: int | str = 80) -> subprocess.CompletedProcess[str]:
    """Run a command in a folder, on a screen without colour, and give what a process would have left."""
    given = [str(argument) for argument in arguments]
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(io.StringIO()) as out:
        patch.chdir(cwd)
        patch.setenv("COLUMNS", str(columns))
        for name in ("NO_COLOR", "FORCE_COLOR"):
            patch.delenv(name, raising=False)
        with redirect_stderr(io.StringIO()) as err:
            code = run(given)
    return subprocess.CompletedProcess(given, code, out.getvalue(), err.getvalue())
