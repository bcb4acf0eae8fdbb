"""Ctrl-C and `--limit` end a command in time, however large its files are and whatever it is doing at that moment."""

from __future__ import annotations

import json
import os
import random
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from subprocess import Popen
from typing import Any

import pytest
from largest import SIZES, write

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="reads what a process has run from /proc")

WITHIN_S = 1.0
"""So soon a command ends after Ctrl-C, or after its limit and a twentieth of it."""

STARVED = 10
"""A machine that is busy with other things lets a process run for a part of the time; so small a part at the least."""

MOST_S = 40
"""A process that has not ended so long after is ended by force."""

TICKS = os.sysconf("SC_CLK_TCK") if hasattr(os, "sysconf") else 100

ASKED: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("needs", ("plan",)),
    ("needs", ("front",)),
    ("needs", ("why",)),
    ("needs", ("reach",)),
    ("kinds", ("plan",)),
    ("kinds", ("reach",)),
    ("kinds", ("explain",)),
    ("kinds", ("why-not", "--without-orders")),
    ("impossible", ("why",)),
    ("impossible", ("plan",)),
    ("one frame", ("plan",)),
    ("one frame", ("front",)),
    ("one frame", ("why",)),
    ("one frame", ("reach",)),
    ("straps", ("plan",)),
    ("straps", ("why-not", "--card", "c0", "--slot", "3")),
    ("dozens", ("plan",)),
    ("dozens", ("why",)),
    ("dozens", ("explain",)),
    ("all", ("plan",)),
    ("all", ("why",)),
    ("all", ("front",)),
    ("campus", ("plan",)),
)
"""Sizes and what is asked of them."""


@dataclass(frozen=True)
class Ended:
    """How a process ended, and how long after some moment: by the clock, and in seconds that it ran."""

    code: int
    output: str
    errors: str
    after_s: float
    ran_s: float

    @property
    def in_time(self) -> bool:
        """Whether it took no longer than it may, apart from waiting for its turn."""
        return self.after_s <= WITHIN_S or (self.ran_s <= WITHIN_S and self.after_s <= WITHIN_S + STARVED * self.ran_s)


@pytest.fixture(scope="session")
def scenario(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], str]:
    written: dict[str, str] = {}

    def path(name: str) -> str:
        if name not in written:
            written[name] = str(write(tmp_path_factory.mktemp(name.replace(" ", "-")), SIZES[name]))
        return written[name]

    return path


def ran_s(process: Popen[str]) -> float:
    """The seconds that a process has run on any processor, until now."""
    try:
        fields = Path(f"/proc/{process.pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
    except (OSError, IndexError):
        return 0.0
    return (int(fields[11]) + int(fields[12])) / TICKS


def let_run(start: Any, folder: Path, arguments: tuple[str, ...], moment_s: float, number: int | None) -> Ended:
    """Run a command; what it does after a moment counts. `number` is a signal that it gets then, None for none."""
    output, errors = folder / "output", folder / "errors"
    with output.open("w") as out, errors.open("w") as err:
        process = start(*arguments, stdout=out, stderr=err)
        began = time.monotonic()
        gone, ran, told = 0, 0.0, None
        while not gone:
            now = time.monotonic()
            if told is None and now >= began + moment_s:
                told, ran = now, ran_s(process)
                if number is not None:
                    process.send_signal(number)
            if told is not None and now > told + MOST_S:
                process.kill()
                pytest.fail(f"{arguments} does not end {moment_s:.3f} s after its beginning")
            time.sleep(0.005)
            gone, status, used = os.wait4(process.pid, os.WNOHANG)
        process.returncode = os.waitstatus_to_exitcode(status)
    if told is None:
        return Ended(process.returncode, output.read_text(), errors.read_text(), 0, 0)
    after, ran = time.monotonic() - told, used.ru_utime + used.ru_stime - ran
    return Ended(process.returncode, output.read_text(), errors.read_text(), after, ran)


def interrupted(start: Any, folder: Path, size: str, path: str, asked: tuple[str, ...], moment_s: float) -> None:
    """Interrupt a command at a moment, and see that it ends in time with what it has or with nothing."""
    command, *options = asked
    arguments = (command, path, *options, "--format", "json")
    ended = let_run(start, folder, arguments, moment_s, signal.SIGINT)
    at = (size, asked, moment_s, ended.after_s, ended.ran_s)
    assert ended.code in (130, -signal.SIGINT, 0, 1), (at, ended.errors[-2000:])
    assert "Traceback" not in ended.errors, (at, ended.errors[-2000:])
    assert ended.in_time, at
    if ended.output:
        assert json.loads(ended.output)["outcome"] in ("found", "impossible", "unknown", "worse", "does"), at


def moments(count: int, seed: int) -> list[tuple[str, tuple[str, ...], float]]:
    """What is interrupted when: each question in turn, at any moment from the first import to deep in the search."""
    drawn = random.Random(seed)
    return [(*ASKED[n % len(ASKED)], drawn.choice((0.5, 2.0, 8.0)) * drawn.random() + 0.1) for n in range(count)]


@pytest.mark.parametrize(("size", "asked", "moment_s"), moments(len(ASKED), 1)[::2])
def test_ctrl_c_on_the_largest_files(start, tmp_path, scenario, size, asked, moment_s):
    interrupted(start, tmp_path, size, scenario(size), asked, min(moment_s, 3.0))


@pytest.mark.slow
def test_ctrl_c_at_a_hundred_moments(start, tmp_path, scenario):
    for size, asked, moment_s in moments(100, 2):
        interrupted(start, tmp_path, size, scenario(size), asked, moment_s)


@pytest.mark.parametrize(("size", "asked"), ASKED[3:8:2])
def test_a_limit_on_the_largest_files(start, tmp_path, scenario, size, asked):
    limit(start, tmp_path, scenario(size), asked, 1.0)


@pytest.mark.slow
@pytest.mark.parametrize("seconds", [0.1, 1.0, 4.0])
@pytest.mark.parametrize(("size", "asked"), ASKED)
def test_limits_on_the_largest_files(start, tmp_path, scenario, size, asked, seconds):
    limit(start, tmp_path, scenario(size), asked, seconds)


def limit(start: Any, folder: Path, path: str, asked: tuple[str, ...], seconds: float) -> None:
    """Give a command a limit, and see that it keeps it and says what it knows."""
    command, *options = asked
    arguments = (command, path, *options, "--limit", str(seconds), "--format", "json")
    ended = let_run(start, folder, arguments, 1.05 * seconds, None)
    assert ended.in_time, (asked, ended.after_s, ended.ran_s)
    assert "Traceback" not in ended.errors
    outcome = json.loads(ended.output)["outcome"]
    assert ended.code == {"found": 0, "worse": 0, "does": 0, "impossible": 1, "unknown": 3}[outcome], ended.errors
