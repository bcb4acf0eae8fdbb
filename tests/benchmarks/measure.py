"""Times whole processes in turn, and asserts the optimum that the timed plan finds.

Run as ``python tests/benchmarks/measure.py [--runs N]`` from the repository's folder, in its environment.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Collection

LIVE_ROOM = "scenarios/quay-live-room.toml"
LIVE_ROOM_COSTS = ["2870.00", "2870.00", "3060.00", "3060.00", "3230.00"]

COMMANDS = {
    "import click and rich": [sys.executable, "-c", "import click, rich.console"],
    "help": [sys.executable, "-m", "cli", "--help"],
    "import CP-SAT": [sys.executable, "-c", "from ortools.sat.python import cp_model"],
    "plan live room": [sys.executable, "-m", "cli", "plan", LIVE_ROOM, "--format", "json"],
}


def once(command: list[str], codes: Collection[int] = (0,)) -> tuple[float, float, bytes]:
    """Seconds, peak memory in MB and output of one run that ends with one of some exit codes."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert process.stdout is not None
    output = process.stdout.read()
    _, status, usage = os.wait4(process.pid, 0)
    assert os.waitstatus_to_exitcode(status) in codes, command
    return time.perf_counter() - start, usage.ru_maxrss / 1024, output


def main() -> None:
    """Print medians and the ratios that matter."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=5)
    runs = parser.parse_args().runs
    seconds: dict[str, list[float]] = {name: [] for name in COMMANDS}
    memory: dict[str, float] = {}
    for turn in range(runs + 1):
        for name, command in COMMANDS.items():
            elapsed, peak, output = once(command)
            if turn:
                seconds[name].append(elapsed)
            memory[name] = max(memory.get(name, 0.0), peak)
            if name == "plan live room":
                report = json.loads(output)
                assert report["proven"]
                assert [build["cost"] for build in report["builds"]] == LIVE_ROOM_COSTS
    medians = {name: statistics.median(times) for name, times in seconds.items()}
    for name, median in medians.items():
        print(f"{name:22} {median:7.3f} s  {memory[name]:6.0f} MB")
    print(f"help / import click and rich   {medians['help'] / medians['import click and rich']:.2f}")
    print(f"plan live room / import CP-SAT {medians['plan live room'] / medians['import CP-SAT']:.2f}")


if __name__ == "__main__":
    main()
