"""A search that takes long says on a terminal how far it is, and nothing anywhere else."""

from __future__ import annotations

import os
import re
import select
import subprocess
import time
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from process.conftest import Run, Start

pty = pytest.importorskip("pty")


def test_a_long_search_says_how_far_it_is(start: Start) -> None:
    ours, theirs = pty.openpty()
    process = start(
        "front", "scenarios/quay-live-room.toml", "--workers", "1", stdout=subprocess.DEVNULL, stderr=theirs
    )
    os.close(theirs)
    told = ""
    deadline = time.monotonic() + 60
    while not re.search(r"\d+ builds so far, \d+ s", told) and time.monotonic() < deadline:
        if select.select([ours], [], [], 1.0)[0]:
            try:
                told += os.read(ours, 4096).decode()
            except OSError:
                break
    process.kill()
    process.wait()
    os.close(ours)
    assert re.search(r"\d+ builds so far, \d+ s", told), told


def test_nothing_is_said_to_a_file(strapwork: Run) -> None:
    ran = strapwork("front", "scenarios/quay-live-room.toml", "--workers", "1")
    assert (ran.returncode, ran.stderr) == (0, "")
