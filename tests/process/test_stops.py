"""Ctrl-C, SIGTERM and SIGHUP at any moment: 128 and the signal's number, no traceback, no half answer."""

from __future__ import annotations

import fcntl
import json
import os
import signal
import struct
import subprocess
import termios
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from process.conftest import Run, Start

pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX signals")

LONG = ("plan", "scenarios/quay-live-room.toml", "--top", "100", "--format", "json")
HARDWARE = "scenarios/hardware/quay.toml"
READY = """
import faulthandler, sys
faulthandler.dump_traceback_later(15)
def tell(event, given, told=[]):
    if event == "import" and given[0] == "cli.stop" and not told:
        told.append(sys.stderr.write("ready\\n"))
sys.addaudithook(tell)
"""
"""Tells when the entry point imports its first module, and where a process is that does not end."""

MOMENTS_S = (0, 0.005, 0.015, 0.03, 0.05, 0.08, 0.12, 0.2, 0.3, 0.45, 0.6, 0.8, 1.1)
"""From the first import through those of the CP-SAT package and into the search."""


def ready(process: subprocess.Popen[str]) -> None:
    assert process.stderr is not None
    assert process.stderr.readline() == "ready\n"


def ended(process: subprocess.Popen[str], within_s: float = 20) -> tuple[str, str]:
    """Output and errors of a process that ends in time."""
    try:
        return process.communicate(timeout=within_s)
    except subprocess.TimeoutExpired:
        process.kill()
        pytest.fail(f"it does not end: {process.communicate()[1]}")


@pytest.mark.parametrize(
    ("number", "moments"), [(signal.SIGINT, MOMENTS_S), (signal.SIGTERM, MOMENTS_S[::3])], ids=["ctrl-c", "sigterm"]
)
def test_at_any_moment(start: Start, number: signal.Signals, moments: tuple[float, ...]) -> None:
    early = 0
    for moment in moments:
        process = start(*LONG, first=READY)
        ready(process)
        time.sleep(moment)
        process.send_signal(number)
        output, errors = ended(process)
        # Before the first line of `watch` the system's own end by SIGTERM stands, which a shell shows as 143 too.
        codes = (128 + number, -number) if number == signal.SIGTERM and moment <= 0.03 else (128 + number,)
        assert process.returncode in codes, (moment, errors)
        assert "Traceback" not in errors, (moment, errors)
        early += not output
        if output:
            assert json.loads(output)["complete"] is False
        else:
            assert errors.strip() in ("", "interrupted"), (moment, errors)
    assert early >= 2


def test_a_terminal_that_hangs_up(start: Start) -> None:
    def heed() -> None:
        signal.signal(signal.SIGHUP, signal.SIG_DFL)  # these tests may run where it is ignored

    process = start(*LONG, first=READY, preexec_fn=heed)
    ready(process)
    time.sleep(0.3)
    process.send_signal(signal.SIGHUP)
    ended(process)
    assert process.returncode == 129


def test_what_the_parent_ignores_stays_ignored(start: Start) -> None:
    def ignore() -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.signal(signal.SIGHUP, signal.SIG_IGN)

    process = start("blocks", HARDWARE, first=READY, preexec_fn=ignore)
    ready(process)
    process.send_signal(signal.SIGINT)
    process.send_signal(signal.SIGHUP)
    output, _ = ended(process)
    assert process.returncode == 0
    assert output


FOUND = """
import sys
import solver.search.ask.ranking as ranking
audited = ranking.audited
def told(*given):
    build = audited(*given)
    sys.stderr.write('ready\\n')
    sys.stderr.flush()
    return build
ranking.audited = told
"""


def test_the_best_so_far_is_printed(start: Start) -> None:
    process = start(*LONG, first=FOUND)
    ready(process)
    process.send_signal(signal.SIGINT)
    output, errors = ended(process)
    assert process.returncode == 130, errors
    report = json.loads(output)
    assert (report["outcome"], report["complete"]) == ("found", False)
    assert report["builds"]


DEAF = """
import sys, time
import solver.search.ask.ranking
def rank(*_, **__):
    sys.stderr.write('ready\\n')
    sys.stderr.flush()
    while True:
        time.sleep(0.01)
solver.search.ask.ranking.rank = rank
"""


def test_a_second_ctrl_c_does_not_wait_for_the_search(start: Start) -> None:
    process = start(*LONG, first=DEAF)
    ready(process)
    process.send_signal(signal.SIGINT)
    time.sleep(0.4)
    assert process.poll() is None
    process.send_signal(signal.SIGINT)
    output, errors = ended(process, 5)
    assert (process.returncode, output) == (130, "")
    assert errors.strip() == "interrupted"


def test_while_it_prints_to_a_reader_that_does_not_read(start: Start) -> None:
    process = start("schema", "report")
    assert process.stdout is not None
    fcntl.fcntl(process.stdout, 1031, 4096)  # F_SETPIPE_SZ: less than the schema, so that it has to wait
    for _ in range(200):
        time.sleep(0.05)
        (waiting,) = struct.unpack("i", fcntl.ioctl(process.stdout, termios.FIONREAD, b"\0" * 4))
        if waiting >= 4096:
            break
    assert waiting >= 4096
    process.send_signal(signal.SIGINT)
    time.sleep(0.2)
    _, errors = ended(process)
    assert process.returncode == 130
    assert errors.strip() == "interrupted"


CUT = """
import os, signal
def fsync(_, real=os.fsync):
    os.kill(os.getpid(), signal.SIGINT)
    real(_)
os.fsync = fsync
"""


def test_while_it_saves_a_changed_scenario(strapwork: Run, tmp_path: Path) -> None:
    made = tmp_path / "made.toml"
    ran = strapwork("why", "scenarios/quay-impossible.toml", "--apply", "1", "--to", str(made), first=CUT)
    assert (ran.returncode, ran.stderr) == (130, "interrupted\n")
    assert [path.name for path in tmp_path.iterdir()] == ["made.toml"]
    assert strapwork("plan", str(made), "--top", "1").returncode == 0


def test_while_it_saves(strapwork: Run, tmp_path: Path) -> None:
    saved = tmp_path / "build.toml"
    ran = strapwork("plan", "scenarios/quay-mix-rig.toml", "--top", "1", "--save", str(saved), first=CUT)
    assert ran.returncode == 130, ran.stderr
    assert "Traceback" not in ran.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["build.toml"]
    checked = strapwork("check", "scenarios/quay-mix-rig.toml", str(saved))
    assert checked.returncode == 0


SWALLOWING = """
import os, signal, time
import solver.fitted.standing as standing
def stand(*_):
    try:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(5)
    except BaseException as error:
        raise ValueError("cannot build a validator") from error
standing.stand = stand
"""


def test_a_package_cannot_make_something_else_of_an_interrupt(strapwork: Run) -> None:
    """As one does whose compiled part calls back into Python while it is being imported."""
    ran = strapwork("check", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml", first=SWALLOWING)
    assert (ran.returncode, ran.stdout, ran.stderr) == (130, "", "interrupted\n")


HALF_DEAF = """
import sys, time
import solver.search.ask.ranking as ranking
from solver.search.solve.clock import Clock
told = []
def stop(self):
    told.append(time.monotonic())
Clock.stop = stop
def rank(*_, **__):
    sys.stderr.write('ready\\n')
    sys.stderr.flush()
    while len(told) < 3:
        time.sleep(0.01)
    return ranking.Ranking("unknown")
ranking.rank = rank
"""


def test_a_solver_that_had_yet_to_begin_is_told_again(start: Start) -> None:
    process = start(*LONG, first=HALF_DEAF)
    ready(process)
    process.send_signal(signal.SIGINT)
    output, _ = ended(process, 10)
    assert process.returncode == 130
    assert json.loads(output)["outcome"] == "unknown"


ONE_POINT = """
import sys, time
import solver.search.ask.front as fronts
def split(search, *given, real=fronts._split):
    sys.stderr.write('ready\\n')
    sys.stderr.flush()
    while not search.clock.over:
        time.sleep(0.01)
    return real(search, *given)
fronts._split = split
"""


def test_a_front_that_is_stopped_after_its_first_build(start: Start) -> None:
    process = start("front", "scenarios/quay-mix-rig.toml", first=ONE_POINT)
    ready(process)
    process.send_signal(signal.SIGINT)
    output, errors = ended(process)
    assert (process.returncode, errors) == (130, "")
    assert output.splitlines()[1:3] == [
        "1 build; not complete: the part that was found, and marks compare only these;",
        "each is audited and works; ? marks those that others may beat",
    ]


FAILING = """
import os, signal, solver.search.ask.ranking
def rank(*_, **__):
    os.kill(os.getpid(), signal.SIGINT)
    import time; time.sleep(0.3)
    raise ZeroDivisionError("after the interrupt")
solver.search.ask.ranking.rank = rank
"""


def test_a_defect_is_not_hidden_by_an_interrupt(strapwork: Run) -> None:
    ran = strapwork(*LONG, first=FAILING)
    assert ran.returncode == 4
    assert "ZeroDivisionError: after the interrupt" in ran.stderr
