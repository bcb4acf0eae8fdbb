"""What commands that search nothing take beside what importing pydantic and rich takes.

Processor seconds of whole processes, the median of five that take turns.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
RIG = "scenarios/quay-mix-rig.toml"
FIRST, NEXT = "scenarios/quay-mix-rig-first-drawn.toml", "scenarios/quay-mix-rig-next-drawn.toml"

IMPORTS = "from pydantic import BaseModel; import rich.console, rich.table"
"""What every command needs of them; the bare names of both packages load next to nothing."""

COMMANDS = {
    "--help": ("--help",),
    "check": ("check", RIG, NEXT),
    "channels": ("channels", RIG, NEXT),
    "looms": ("looms", RIG, NEXT),
    "labels": ("labels", RIG, NEXT),
    "find": ("find", RIG, NEXT, "M:in:17"),
    "diff": ("diff", RIG, FIRST, NEXT),
    "work-order": ("work-order", RIG, NEXT, "--from", FIRST),
}


def seconds(*arguments: str) -> float:
    """The processor time of a process of Python with these arguments, with compiled modules in place."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run([sys.executable, *arguments], cwd=ROOT, env=environment, check=False, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Print a line for the imports and one for each command."""
    runs = {"imports": ("-c", IMPORTS), **{name: ("-m", "cli", *own) for name, own in COMMANDS.items()}}
    rounds = [{name: seconds(*arguments) for name, arguments in runs.items()} for _ in range(6)]
    took = {name: median(each[name] for each in rounds[1:]) for name in runs}  # the first round compiles modules
    for name, own in took.items():
        print(f"{name:12} {own:.3f} s  {own / took['imports']:.2f} times the imports")


if __name__ == "__main__":
    main()
