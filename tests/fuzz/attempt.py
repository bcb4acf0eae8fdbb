"""Commands on damaged files, and with options of every kind, in this process.

Every outcome is an answer or faults in words, and none takes long. ``python tests/fuzz/attempt.py files 300 9000`` or
``options`` tries the seeds from 300 on.
"""

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

sys.path.insert(0, str(Path(__file__).parents[1]))

import options
from mutate import HARDWARE, damaged
from pace import slower

from cli.main import asks_for_json, run

MOST_SECONDS = 2.0
"""Processor time that a command may take on a usual machine (`pace`), without what its search is given."""

SEARCH_SECONDS = 0.2
OPTIONS_SECONDS = 2.0
"""What searches are given on top of `MOST_SECONDS` where options are tried: some ask for no limit."""

EVERY_PLAN, EVERY_EXPLAIN, EVERY_BLOCKS, EVERY_ORDER, EVERY_RACK = 10, 5, 4, 3, 4
"""One case in so many is also planned, its build explained, ordered as work or put in racks, or its hardware file shown
as blocks."""


def commands(seed: int) -> list[list[str]]:
    """The commands that a case is given to."""
    form = ["--format", "json"] if seed % 2 else []
    found = [["check", "room.toml", "build.toml", *form]]
    if seed % EVERY_BLOCKS == 0:
        found.append(["blocks", HARDWARE, *form])
    if seed % EVERY_EXPLAIN == 3:
        found.append(["explain", "room.toml", "--build", "build.toml", *form])
    if seed % EVERY_ORDER == 2:
        found.append(["work-order", "room.toml", "build.toml", *form])
        found.append(["channels", "room.toml", "build.toml", *form])
        found.append(["looms", "room.toml", "build.toml", *form])
        found.append(["find", "room.toml", "build.toml", "A:1", *form])
        found.append(["labels", "room.toml", "build.toml", *form])
        found.append(["diff", "room.toml", "build.toml", "build.toml", *form])
        found.append(["pack", "room.toml", "build.toml", "--to", "handover", "--anyway", "--force", *form])
    if seed % EVERY_RACK == 1:
        found.append(["clock", "room.toml", "--limit", str(SEARCH_SECONDS), *form])
        found.append(["rack", "room.toml", "build.toml", "--limit", str(SEARCH_SECONDS), *form])
    if seed % EVERY_PLAN == 1:
        found.append(["plan", "room.toml", "--top", "2", "--limit", str(SEARCH_SECONDS), *form])
    return found


def complaint(arguments: list[str], folder: Path, search_s: float) -> tuple[int, str | None]:
    """Run a command on the files of a folder: its exit code, and what is wrong with how it answered, if anything.

    `search_s` is what its search is given on top.
    """
    out, err = io.StringIO(), io.StringIO()
    begun = time.process_time()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(arguments)
    took = time.process_time() - begun - search_s
    said, told = err.getvalue(), out.getvalue()
    if code not in (0, 1, 2, 3):
        return code, f"exit {code}\n{said[-1500:]}"
    if code == 2 and not re.search(r": \d+ faults?|Error: |^[^\n]+: [^\n]+\n", said):
        return code, f"exit 2 without a fault\n{said[-500:]}"
    if any(not (c.isprintable() or c == "\n") for c in said + told):
        return code, "control characters on the screen"
    if asks_for_json(arguments) and not {"-h", "--help"} & set(arguments):
        try:
            json.loads(told)
        except ValueError:
            return code, f"no document, or more than one: {told[:200]!r}"
    return code, f"took {took:.1f} s" if took > MOST_SECONDS and took > MOST_SECONDS * slower() else None


def findings(seeds: range, outcomes: Counter[str] | None = None) -> Iterator[tuple[int, list[str], str]]:
    """Seed, command and complaint of every case that was not answered as it should be."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "hardware").mkdir()
        for seed in seeds:
            for file, data in damaged(seed).items():
                (folder / file).write_bytes(data)
            for arguments in commands(seed):
                code, wrong = complaint(
                    arguments, folder, SEARCH_SECONDS if arguments[0] in ("plan", "rack", "clock") else 0
                )
                if outcomes is not None:
                    outcomes[f"{arguments[0]} exit {code}"] += 1
                if wrong is not None:
                    yield seed, arguments, wrong


def findings_of_options(seeds: range, outcomes: Counter[str] | None = None) -> Iterator[tuple[int, list[str], str]]:
    """The same of made-up command lines; they also write to nothing that they have no business with."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        options.furnish(folder)
        for seed in seeds:
            arguments = options.arguments(seed)
            options.refurnish(folder)
            law = options.Law.of(folder)
            code, wrong = complaint(arguments, folder, OPTIONS_SECONDS)
            wrong = wrong or law.broken(folder, arguments)
            for made in options.Law.of(folder).before.keys() - law.before.keys():
                (folder / made).unlink()
            for inner in sorted(folder.rglob("*"), reverse=True):
                if inner.is_dir() and not inner.is_symlink() and not any(inner.iterdir()):
                    inner.rmdir()
            if outcomes is not None:
                outcomes[f"{arguments[0]} exit {code}"] += 1
            if wrong is not None:
                yield seed, arguments, wrong


if __name__ == "__main__":
    sys.stdin = io.StringIO()  # no terminal that a command could ask at
    what, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    tally: Counter[str] = Counter()
    total = 0
    begun = time.perf_counter()
    tried = {"files": findings, "options": findings_of_options}[what](range(first, last), tally)
    for seed, arguments, wrong in tried:
        total += 1
        print(f"seed {seed}: {arguments!r}: {wrong}"[:3000], flush=True)
    print(f"{last - first} cases in {time.perf_counter() - begun:.0f} s, {total} findings")
    print(", ".join(f"{count} x {outcome}" for outcome, count in sorted(tally.items())))
