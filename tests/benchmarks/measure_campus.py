"""Campuses of growing size: the search by prices against one mixed-integer programme on HiGHS, in the same run.

Run as ``PYTHONPATH=. python tests/benchmarks/measure_campus.py [--sizes 10 20 40 80] [--seeds 1 2 3] [--cap SECONDS]``
from the repository's folder; with ``--cooling`` the search alone, ranked by cooling too. Each solve is a process of its
own. It is asserted that the search proves what it ranks by, that HiGHS has the same optima where it finishes, that its
bound and incumbent enclose ours where the cap ends it, and that the search is faster at every size.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "oracle")]


def ours(rooms: int, seed: int, workers: int) -> dict[str, Any]:
    """Seconds to proven cost, to proven unused and to the audited build, from the scenario on."""
    import campuses

    from solver.judge.campus import survey_campus
    from solver.search.campus.planning import plan_campus

    pair = campuses.campus(rooms, seed)
    start = time.perf_counter()
    at: dict[str, float] = {}

    def note(stage: str, best: int | None, bound: int | None) -> None:
        if best is not None and best == bound:
            at[stage] = time.perf_counter() - start

    found = plan_campus(survey_campus(*pair), workers, progress=note)
    assert found.best is not None
    assert found.best.stages == {"cost": True, "unused": True}
    figures = found.best.figures
    seconds = {"cost_s": at["cost"], "unused_s": at["unused"], "audited_s": time.perf_counter() - start}
    return {"cost": figures.cost, "unused": figures.unused, **seconds}


def cooled(rooms: int, seed: int, workers: int) -> dict[str, Any]:
    """The same campus ranked by cooling too: seconds to the audited build with all three proven."""
    import campuses

    from solver.judge.campus import survey_campus
    from solver.search.campus.planning import plan_campus

    scenario, hardware = campuses.campus(rooms, seed)
    campus = survey_campus(scenario.model_copy(update={"rank": ("cost", "unused", "cooling")}), hardware)
    start = time.perf_counter()
    found = plan_campus(campus, workers)
    assert found.best is not None
    assert found.best.proven
    figures = found.best.figures
    kelvin = figures.level * campus.purse.step_mk // 1000
    return {"cost": figures.cost, "unused": figures.unused, "margin_k": kelvin, "s": time.perf_counter() - start}


def highs(rooms: int, seed: int, cost: int, cap_s: float) -> dict[str, Any]:
    """What HiGHS comes to: the least cost, then the least unused within our cost."""
    import campus_milp
    import campuses

    programme = campus_milp.CampusProgramme(*campuses.campus(rooms, seed))
    found = {"cost": programme.least_cost(cap_s), "unused": programme.least_unused(cost, cap_s)}
    return {stage: vars(solved) for stage, solved in found.items()}


def _child(*arguments: object) -> tuple[dict[str, Any], str]:
    """The answer of a process of its own; its processor seconds and peak memory in MB as cells of the table."""
    command = [sys.executable, __file__, "--one", *map(str, arguments)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE)
    assert process.stdout is not None
    output = process.stdout.read()
    _, status, usage = os.wait4(process.pid, 0)
    assert status == 0, command
    return json.loads(output), f"{usage.ru_utime + usage.ru_stime:.0f} | {usage.ru_maxrss / 1024:.0f}"


def compare(rooms: int, seed: int, cap_s: float, workers: int) -> None:
    """One campus by both ways, asserted and printed as a row of a table."""
    mine, my_use = _child("ours", rooms, seed, workers)
    theirs, their_use = _child("highs", rooms, seed, mine["cost"], cap_s)
    shown = []
    for stage in ("cost", "unused"):
        solved = theirs[stage]
        if solved["finished"]:
            assert round(solved["value"]) == mine[stage], (rooms, seed, stage, solved, mine)
        else:
            assert solved["bound"] <= mine[stage] + 1e-6
            assert solved["value"] is None or mine[stage] <= solved["value"] + 1e-6
        shown.append(f"{solved['seconds']:.1f}" if solved["finished"] else f"over {cap_s:.0f}")
    assert mine["unused_s"] < theirs["cost"]["seconds"] + theirs["unused"]["seconds"], (rooms, seed)
    times = f"{mine['cost_s']:.1f} | {mine['unused_s']:.1f} | {mine['audited_s']:.1f}"
    figures = f"{mine['cost'] / 100:.2f} | {mine['unused']}"
    print(f"| {rooms} | {seed} | {figures} | {times} | {my_use} | {' | '.join(shown)} | {their_use} |", flush=True)


def show_cooled(rooms: int, seed: int, workers: int) -> None:
    """One campus ranked by cooling, printed as a row of a table."""
    mine, use = _child("cooled", rooms, seed, workers)
    cells = f"{mine['cost'] / 100:.2f} | {mine['unused']} | {mine['margin_k']} | {mine['s']:.1f}"
    print(f"| {rooms} | {seed} | {cells} | {use} |", flush=True)


def main() -> None:
    """Print a row for every size and seed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sizes", type=int, nargs="+", default=[10, 20, 40, 80])
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    parser.add_argument("--cap", type=float, default=120)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--cooling", action="store_true", help="rank by cooling too; HiGHS is not asked")
    parser.add_argument("--one", nargs="+", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.one:
        way, *figures = given.one
        rooms, seed, third = map(int, figures[:3])
        asked = {"ours": ours, "cooled": cooled}
        answer = asked[way](rooms, seed, third) if way in asked else highs(rooms, seed, third, float(figures[3]))
        print(json.dumps(answer))
        return
    if given.cooling:
        print("| rooms | seed | cost | unused | margin K | audited s | CPU s | MB |")
        for rooms in given.sizes:
            for seed in given.seeds:
                show_cooled(rooms, seed, given.workers)
        return
    print("| rooms | seed | cost | unused | ours: cost s | unused s | audited s | CPU s | MB ", end="")
    print("| HiGHS: cost s | unused s | CPU s | MB |")
    for rooms in given.sizes:
        for seed in given.seeds:
            compare(rooms, seed, given.cap, given.workers)


if __name__ == "__main__":
    main()
