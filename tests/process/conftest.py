"""Real processes, in an environment that takes nothing over from the one the tests run in."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal, Protocol, overload

import pytest

ROOT = Path(__file__).parents[2]
TAKEN = {"PATH", "HOME", "TMPDIR", "SYSTEMROOT"}
ENTRY = "from cli.__main__ import main\nmain()\n"


class Run(Protocol):
    """Runs the command to its end; its output is text, unless bytes are asked for."""

    @overload
    def __call__(self, *arguments: str, text: Literal[True] = True, **how: Any) -> subprocess.CompletedProcess[str]: ...
    @overload
    def __call__(self, *arguments: str, text: Literal[False], **how: Any) -> subprocess.CompletedProcess[bytes]: ...


Start = Callable[..., subprocess.Popen[str]]
"""Starts the command and leaves it running."""


def environment(**more: str) -> dict[str, str]:
    own = {key: value for key, value in os.environ.items() if key in TAKEN}
    return {**own, "PYTHONPATH": str(ROOT), **more}


def command(*arguments: str, first: str = "") -> list[str]:
    """The command line; `first` is Python that is run before the entry point, to bring something about."""
    return [sys.executable, "-c", first + "\n" + ENTRY, *arguments]


@pytest.fixture(scope="session")
def strapwork() -> Run:
    def run(
        *arguments: str,
        first: str = "",
        env: dict[str, str] | None = None,
        prefix: Sequence[str] = (),
        text: bool = True,
        **how: Any,
    ) -> subprocess.CompletedProcess[Any]:
        streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "stdin": subprocess.DEVNULL}
        return subprocess.run(
            [*prefix, *command(*arguments, first=first)],
            check=False,
            **{
                "cwd": ROOT,
                "env": environment(**(env or {})),
                "text": text,
                "timeout": 60,
                **streams,
                **how,
            },
        )

    return run


@pytest.fixture(scope="session")
def start() -> Start:
    def popen(*arguments: str, first: str = "", env: dict[str, str] | None = None, **how: Any) -> subprocess.Popen[str]:
        streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "stdin": subprocess.DEVNULL}
        return subprocess.Popen(
            command(*arguments, first=first),
            **{"cwd": ROOT, "env": environment(**(env or {})), "text": True, **streams, **how},
        )

    return popen
