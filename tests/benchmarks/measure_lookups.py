"""What commands that search nothing take beside what importing pydantic and rich takes.

Processor seconds of whole processes, the least of nine, with compiled modules in place.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path

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


def seconds(*arguments: str, times: int = 9) -> float:
    """The least processor time of a process of Python with these arguments."""
    taken = []
    for _ in range(times):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        subprocess.run([sys.executable, *arguments], cwd=ROOT, env=environment, check=False, capture_output=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(taken)


def main() -> None:
    """Print a line for the imports and one for each command."""
    imports = seconds("-c", IMPORTS)
    print(f"{'imports':12} {imports:.3f} s")
    for name, arguments in COMMANDS.items():
        took = seconds("-m", "cli", *arguments)
        print(f"{name:12} {took:.3f} s  {took / imports:.1f} times the imports")


if __name__ == "__main__":
    main()
