"""Why a scenario is impossible, as whole processes beside the plan of the scenario that it was made from.

Run as ``PYTHONPATH=. python tests/benchmarks/measure_why.py [--runs N] [--cases NAME...]`` from the repository's
folder. The cases are those of `tests/texts/test_why.py`, each a shipped scenario with one thing made impossible; each
answer has to be complete and word for word what the test asserts.
"""

from __future__ import annotations

import argparse
import statistics
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent / "oracle")]

from measure import once  # noqa: E402 - after the path to it
from test_why import CASES, TEXTS, edited  # noqa: E402 - after the path to it

IMPORT = [sys.executable, "-c", "from ortools.sat.python import cp_model"]


def compare(name: str, runs: int) -> float:
    """One case and its plan in turns, printed as a row: how many times the plan it takes."""
    base, _ = CASES[name]
    times: dict[str, list[float]] = {"why": [], "plan": [], "import": []}
    with TemporaryDirectory() as folder:
        commands = {
            "why": [sys.executable, "-m", "cli", "why", str(edited(name, Path(folder)))],
            "plan": [sys.executable, "-m", "cli", "plan", f"scenarios/{base}"],
            "import": IMPORT,
        }
        for _ in range(runs):
            for label, command in commands.items():
                seconds, memory, output = once(command, (0, 1))
                times[label].append(seconds)
                if label == "why":
                    assert output.decode() == (TEXTS / f"{name}.txt").read_text(encoding="utf-8"), name
                    peak = memory
    why, plan, bare = (statistics.median(own) for own in times.values())
    print(f"| {name} | {base.removesuffix('.toml')} | {why:.2f} | {plan:.2f} | {why / plan:.1f} | {why / bare:.1f} "
          f"| {peak:.0f} |", flush=True)  # fmt: skip
    return why / plan


def main() -> None:
    """Print a row for every case, and the median and the greatest ratio."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--cases", nargs="+", default=list(CASES))
    given = parser.parse_args()
    print("| case | made from | why s | plan s | times the plan | times the import | MB |")
    print("|---|---|---|---|---|---|---|")
    ratios = [compare(name, given.runs) for name in given.cases]
    print(f"why / plan: median {statistics.median(ratios):.1f}, greatest {max(ratios):.1f}")


if __name__ == "__main__":
    main()
