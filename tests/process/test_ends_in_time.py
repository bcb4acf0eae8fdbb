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
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from process.conftest import Run, Start
from largest import SIZES, write

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="reads what a process has run from /proc")

WITHIN_S = 1.0
"""So soon a command ends after Ctrl-C, or after its limit and a twentieth of that."""

STARVED = 10
"""A machine that is busy with other things lets a process run for a part of the time; so small a part at the least."""

MOST_S = 60
"""A process that has not ended so long after is ended by force."""

READY = """
import sys
def tell(event, given, told=[]):
    if event == "import" and given[0] == "cli.stop" and not told:
        told.append(sys.stderr.write("ready\\n"))
        sys.stderr.flush()
sys.addaudithook(tell)
"""
"""Tells when the entry point imports its first module: before that the interpreter takes the signal as it likes."""

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
    ("campus", ("why",)),
    ("campus", ("reach", "--room", "room 1")),
    ("campus", ("why-not", "--room", "room 1", "--without-orders")),
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

    def within(self, seconds: float) -> bool:
        """Whether it took no longer than that, apart from waiting for its turn."""
        turns = STARVED * self.ran_s
        return self.after_s <= seconds or (self.ran_s <= seconds and self.after_s <= seconds + turns)


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


def outcome_of(output: str) -> str:
    """What a document says that it came to; about one of several rooms, what all of them together did."""
    document = json.loads(output)
    return str(document.get("outcome", document.get("campus")))


def let_run(start: Start, folder: Path, arguments: tuple[str, ...], told_at: float | None = None) -> Ended:
    """Run a command; so many seconds after its first line it is told Ctrl-C, and what it does from then on counts."""
    output, errors = folder / "output", folder / "errors"
    with output.open("w") as out, errors.open("w") as err:
        process = start(*arguments, first=READY, stdout=out, stderr=err)
        began: float | None = None
        gone, ran, since = 0, 0.0, time.monotonic()
        while not gone:
            now = time.monotonic()
            if began is None and errors.stat().st_size:
                began = now
            if told_at is not None and began is not None and now >= began + told_at:
                since, ran, told_at = now, ran_s(process), None
                process.send_signal(signal.SIGINT)
            if now > since + MOST_S:
                process.kill()
                pytest.fail(f"{arguments} does not end")
            time.sleep(0.005)
            gone, status, used = os.wait4(process.pid, os.WNOHANG)
        process.returncode = os.waitstatus_to_exitcode(status)
    after, ran = time.monotonic() - since, used.ru_utime + used.ru_stime - ran
    if told_at is not None:  # it ended before that
        after = ran = 0.0
    said = errors.read_text(encoding="utf-8").removeprefix("ready\n")
    return Ended(process.returncode, output.read_text(encoding="utf-8"), said, after, ran)


def interrupted(start: Start, folder: Path, size: str, path: str, asked: tuple[str, ...], moment_s: float) -> None:
    """Interrupt a command at a moment, and see that it ends in time with what it has or with nothing."""
    command, *options = asked
    arguments = (command, path, *options, "--format", "json")
    ended = let_run(start, folder, arguments, moment_s)
    at = (size, asked, moment_s, ended.after_s, ended.ran_s)
    assert ended.code in (130, 0, 1), (at, ended.errors[-2000:])
    assert "Traceback" not in ended.errors, (at, ended.errors[-2000:])
    assert ended.within(WITHIN_S), at
    if ended.output:
        assert outcome_of(ended.output) in ("found", "impossible", "unknown", "worse", "equal", "does"), at


def moments(count: int, seed: int) -> list[tuple[str, tuple[str, ...], float]]:
    """What is interrupted when: each question in turn, at any moment from the first import to deep in the search."""
    drawn = random.Random(seed)
    return [(*ASKED[n % len(ASKED)], drawn.choice((0.5, 2.0, 8.0)) * drawn.random() + 0.1) for n in range(count)]


@pytest.mark.parametrize(("size", "asked", "moment_s"), moments(len(ASKED), 1)[::4])
def test_ctrl_c_on_the_largest_files(
    start: Start,
    tmp_path: Path,
    scenario: Callable[[str], str],
    size: str,
    asked: tuple[str, ...],
    moment_s: float,
) -> None:
    interrupted(start, tmp_path, size, scenario(size), asked, min(moment_s, 3.0))


@pytest.mark.slow
def test_ctrl_c_at_a_hundred_moments(start: Start, tmp_path: Path, scenario: Callable[[str], str]) -> None:
    for size, asked, moment_s in moments(100, 2):
        interrupted(start, tmp_path, size, scenario(size), asked, moment_s)


@pytest.mark.parametrize(("size", "asked"), ASKED[3::5])
def test_a_limit_on_the_largest_files(
    start: Start,
    tmp_path: Path,
    scenario: Callable[[str], str],
    size: str,
    asked: tuple[str, ...],
) -> None:
    limit(start, tmp_path, scenario(size), asked, 1.0)


@pytest.mark.slow
@pytest.mark.parametrize("seconds", [0.1, 1.0, 4.0])
@pytest.mark.parametrize(("size", "asked"), ASKED)
def test_limits_on_the_largest_files(
    start: Start,
    tmp_path: Path,
    scenario: Callable[[str], str],
    size: str,
    asked: tuple[str, ...],
    seconds: float,
) -> None:
    limit(start, tmp_path, scenario(size), asked, seconds)


def limit(start: Start, folder: Path, path: str, asked: tuple[str, ...], seconds: float) -> None:
    """Give a command a limit, and see that it keeps it and says what it knows."""
    command, *options = asked
    arguments = (command, path, *options, "--limit", str(seconds), "--format", "json")
    ended = let_run(start, folder, arguments)
    assert ended.within(1.05 * seconds + WITHIN_S), (asked, ended.after_s, ended.ran_s)
    assert "Traceback" not in ended.errors
    if not ended.output:
        assert (ended.code, ended.errors.strip()) == (3, "the limit ended it before the search could begin")
        return
    outcome = outcome_of(ended.output)
    assert ended.code == {"found": 0, "worse": 0, "equal": 0, "does": 0, "impossible": 1, "unknown": 3}[outcome], (
        ended.errors
    )


READING = """
import solver.files.reading
def load_scenario(_):
    while True:
        pass
solver.files.reading.load_scenario = load_scenario
"""


def test_a_limit_that_ends_while_the_files_are_still_read(strapwork: Run) -> None:
    ran = strapwork("plan", "scenarios/quay-live-room.toml", "--limit", "0.2", first=READING)
    told = "the limit ended it before the search could begin\n"
    assert (ran.returncode, ran.stdout, ran.stderr) == (3, "", told)
