"""Plans, fronts and reasons of rooms whose needs ask for numbers, as whole processes against the import of CP-SAT.

Run as ``PYTHONPATH=. python tests/benchmarks/measure_numbers.py [--runs N] [--seeds 1 2 3]`` from the repository's
folder. Rooms are the drum day that ships and those of `numbered_rooms`; where nothing can be built, the reason is timed
in place of plan and front. Asserted in every run: what is found is proven, and a front complete.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from measure import once
from numbered_rooms import write

IMPORT = [sys.executable, "-c", "from ortools.sat.python import cp_model"]

SLOTS = (12, 16, 20)


def _ask(command: str, room: Path) -> tuple[float, float, bool]:
    """Seconds and MB of a command, and whether it found anything."""
    seconds, peak, output = once([sys.executable, "-m", "cli", command, str(room), "--format", "json"], (0, 1))
    answer = json.loads(output)
    assert answer.get("proven", answer.get("complete")), (command, room)
    return seconds, peak, answer["outcome"] == "found"


def main() -> None:
    """Print medians and ratios."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--seeds", type=int, nargs="*", default=[1, 2, 3, 4])
    asked = parser.parse_args()
    with TemporaryDirectory() as folder:
        rooms = {"quay-drum-day": Path("scenarios/quay-drum-day.toml")}
        for slots in SLOTS:
            for seed in asked.seeds:
                rooms[f"{slots} slots, seed {seed}"] = write(Path(folder) / f"{slots}-{seed}", seed, slots=slots)
        ratios: dict[str, list[float]] = {"plan": [], "front": [], "why": []}
        for name, room in rooms.items():
            seconds: dict[str, list[float]] = {"import": [], "plan": [], "front": [], "why": []}
            peak = 0.0
            for _ in range(asked.runs):
                seconds["import"].append(once(IMPORT)[0])
                took, most, found = _ask("plan", room)
                other = "front" if found else "why"
                seconds["plan" if found else "why"].append(took)
                if found:
                    took, more, _ = _ask(other, room)
                    seconds["front"].append(took)
                    peak = max(peak, more)
                peak = max(peak, most)
            unit = statistics.median(seconds.pop("import"))
            told = []
            for what, own in seconds.items():
                if own:
                    ratios[what].append(statistics.median(own) / unit)
                    told.append(f"{what} {statistics.median(own):6.2f} s {ratios[what][-1]:5.1f} x")
            print(f"{name:20} import {unit:5.2f} s  {'  '.join(told)}  {peak:4.0f} MB")
        for what, own in ratios.items():
            if own:
                print(f"{what}: median {statistics.median(own):.1f} times the import, at most {max(own):.1f}")


if __name__ == "__main__":
    main()
