"""Commands on damaged files, in this process: every outcome is an answer or faults in words, and none takes long."""

from __future__ import annotations

import contextlib
import io
import json
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from mutate import HARDWARE, damaged

from cli.main import run

MOST_SECONDS = 2.0
"""Processor time that a command may take, the time that `plan` is given for its search left aside."""

SEARCH_SECONDS = 0.2
EVERY_PLAN, EVERY_EXPLAIN, EVERY_BLOCKS = 20, 5, 4
"""One case in so many is also planned, or its build explained, or its hardware file shown as blocks."""


def commands(seed: int) -> list[list[str]]:
    """The commands that a case is given to."""
    form = ["--format", "json"] if seed % 2 else []
    found = [["check", "room.toml", "build.toml", *form]]
    if seed % EVERY_BLOCKS == 0:
        found.append(["blocks", HARDWARE, *form])
    if seed % EVERY_EXPLAIN == 3:
        found.append(["explain", "room.toml", "--build", "build.toml", *form])
    if seed % EVERY_PLAN == 1:
        found.append(["plan", "room.toml", "--top", "2", "--limit", str(SEARCH_SECONDS), *form])
    return found


def complaint(arguments: list[str], folder: Path) -> tuple[int, str | None]:
    """Run a command on the files of a folder: its exit code, and what is wrong with how it answered, if anything."""
    out, err = io.StringIO(), io.StringIO()
    begun = time.process_time()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(arguments)
    took = time.process_time() - begun - (SEARCH_SECONDS if arguments[0] == "plan" else 0)
    said = err.getvalue()
    if code not in (0, 1, 2, 3):
        return code, f"exit {code}\n{said[-1500:]}"
    if code == 2 and not re.search(r": \d+ faults?|Error: ", said):
        return code, f"exit 2 without a fault\n{said[-500:]}"
    if any(not (c.isprintable() or c == "\n") for c in said):
        return code, "control characters on the screen"
    if "json" in arguments and (out.getvalue() or code != 2):
        json.loads(out.getvalue())
    return code, f"took {took:.1f} s" if took > MOST_SECONDS else None


def findings(seeds: range, outcomes: Counter[str] | None = None) -> Iterator[tuple[int, list[str], str]]:
    """Seed, command and complaint of every case that was not answered as it should be."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "hardware").mkdir()
        for seed in seeds:
            for file, data in damaged(seed).items():
                (folder / file).write_bytes(data)
            for arguments in commands(seed):
                code, wrong = complaint(arguments, folder)
                if outcomes is not None:
                    outcomes[f"{arguments[0]} exit {code}"] += 1
                if wrong is not None:
                    yield seed, arguments, wrong


if __name__ == "__main__":
    first, last = (int(argument) for argument in sys.argv[1:3])
    tally: Counter[str] = Counter()
    total = 0
    begun = time.perf_counter()
    for seed, arguments, wrong in findings(range(first, last), tally):
        total += 1
        print(f"seed {seed}: {' '.join(arguments)}: {wrong}", flush=True)
    print(f"{last - first} cases in {time.perf_counter() - begun:.0f} s, {total} findings")
    print(", ".join(f"{count} x {outcome}" for outcome, count in sorted(tally.items())))
