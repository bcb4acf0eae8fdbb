"""Fronts of twelve slots and twenty kinds of card as whole processes, against the import of the solver package.

Run as ``PYTHONPATH=. python tests/benchmarks/measure_front.py [--runs N] [--cap SECONDS] [--workers N]`` from the
repository's folder. Scenarios are `midsize.trade_off`. Asserted in every run: each front is complete; the plain front
of `baseline_front` is the same where it finishes, and otherwise every build that it found is on ours or beaten by it.
On the smaller scenarios it has to finish, without the cap.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import tomlkit

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "oracle")]

import midsize  # noqa: E402 - after the path to it
from baseline_front import Point  # noqa: E402 - after the path to it
from measure import once  # noqa: E402 - after the path to it

SMALL = [(seed, 8, (2, 2)) for seed in (1, 2, 3, 5, 7)]
"""Seed, kinds of card and settings of each strap group: those that the plain front finishes."""

LARGE = [(seed, 20, shape) for shape in ((4, 3), (4, 4)) for seed in (1, 2, 3, 4, 5)]

UNCAPPED_S = 1000.0

IMPORT = [sys.executable, "-c", "from ortools.sat.python import cp_model"]


def write(seed: int, kinds: int, shape: tuple[int, ...], folder: Path) -> Path:
    """A scenario as files."""
    drawn = midsize.trade_off(seed, kinds, shape)
    for name, noun in (("midsize.toml", drawn.hardware), ("room.toml", drawn.scenario)):
        table = noun.model_dump(by_alias=True, exclude_unset=True)
        (folder / name).write_text(tomlkit.dumps(_plain(table)), encoding="utf-8")
    return folder / "room.toml"


def _plain(value: Any, key: str = "") -> Any:
    """As the files have it: money is text, all else that is counted a number."""
    if isinstance(value, dict):
        return {k: _plain(v, k) for k, v in value.items() if v is not None}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    if isinstance(value, Decimal):
        return str(value) if key in ("price", "budget") else float(value)
    return value


def points_of(output: bytes) -> list[Point]:
    """Cost in minor units, unused and cooling level of a front's document, which has to be complete."""
    front = json.loads(output)["front"]
    assert front["complete"]
    step_k = Decimal(front["cooling_step_k"])
    return [
        (int(Decimal(v["cost"]) * 100), int(v["unused"]), int(Decimal(point["counts_as"].split()[0]) / step_k))
        for point in front["points"]
        for v in (point["values"],)
    ]


def plain(path: Path, cap_s: float) -> tuple[list[Point], bool, float]:
    """The plain front in a process of its own."""
    program = (
        "import sys, json; from pathlib import Path; from baseline_front import front; "
        "from solver.files.reading import load_scenario; from solver.room.survey import survey_room; "
        "found = load_scenario(Path(sys.argv[1])); "
        "print(json.dumps(front(survey_room(found.scenario, found.hardware), float(sys.argv[2]))))"
    )
    command = [sys.executable, "-c", program, str(path), str(cap_s)]
    ran = subprocess.run(command, capture_output=True, check=True, env={"PYTHONPATH": f"{HERE}:{HERE.parents[1]}"})
    points, finished, seconds = json.loads(ran.stdout)
    return [tuple(point) for point in points], finished, seconds


def compare(
    case: tuple[int, int, tuple[int, ...]], runs: int, cap_s: float, workers: int | None
) -> tuple[float, float]:
    """One scenario by both ways and the import in turns, printed as a row: medians of front and import in seconds."""
    with TemporaryDirectory() as folder:
        path = write(*case, Path(folder))
        command = [sys.executable, "-m", "cli", "front", str(path), "--format", "json"]
        command += [] if workers is None else ["--workers", str(workers)]
        ours: list[float] = []
        imports: list[float] = []
        points: list[Point] = []
        for _ in range(runs):
            imports.append(once(IMPORT)[0])
            seconds, memory, output = once(command)
            ours.append(seconds)
            assert points in ([], points_of(output))
            points = points_of(output)
        theirs, finished, plain_s = plain(path, UNCAPPED_S if case in SMALL else cap_s)
    assert finished or case not in SMALL, case
    if finished:
        assert points == theirs, case
    else:
        reached = [any(a <= c and b <= d and e >= f for a, b, e in points) for c, d, f in theirs]
        assert all(reached), (case, points, theirs)
    mine, bare = statistics.median(ours), statistics.median(imports)
    slow = f"{plain_s:.1f}" if finished else f"over {cap_s:.0f}"
    size = f"{case[0]} | {case[1]} | {' x '.join(map(str, case[2]))}"
    print(f"| {size} | {len(points)} | {mine:.2f} | {mine / bare:.1f} | {memory:.0f} | {slow} |", flush=True)
    return mine, bare


def main() -> None:
    """Print a row for every scenario, and the median ratio of the large ones."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--cap", type=float, default=120)
    parser.add_argument("--workers", type=int, help="threads of the search; as many as it takes by itself without it")
    given = parser.parse_args()
    print("| seed | kinds | settings | points | front s | times the import | MB | plain front s |")
    print("|---|---|---|---|---|---|---|---|")
    for case in SMALL:
        compare(case, given.runs, given.cap, given.workers)
    large = [compare(case, given.runs, given.cap, given.workers) for case in LARGE]
    print(f"import: {statistics.median(bare for _, bare in large):.2f} s")
    print(f"front / import, median of the large: {statistics.median(mine / bare for mine, bare in large):.1f}")


if __name__ == "__main__":
    main()
