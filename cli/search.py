"""A search that a signal ends with the best so far, and that tells where its model is when it goes wrong."""

from __future__ import annotations

import gc
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from cli import saving
from cli.codes import FOUND, IMPOSSIBLE, UNKNOWN
from cli.cpsat import load_cpsat
from cli.progress import Meter
from cli.stop import stop

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel

    from solver.search.solve.clock import Clock

Answer = TypeVar("Answer")

OUTCOMES = {"found": FOUND, "impossible": IMPOSSIBLE, "unknown": UNKNOWN}
"""Exit codes by what a search that was not interrupted came to."""


def search(
    ask: Callable[[Clock], Answer], limit_s: float | None, dump_model: Path | None = None, force: bool = False
) -> tuple[Answer, bool]:
    """Ask under a clock that signals stop: the answer, and whether one did. After an error the model is dumped.

    What the command has done before, such as reading files, is part of its limit.

    On a terminal a line says how far it is when it takes long.
    """
    load_cpsat()
    gc.set_threshold(50_000)  # collecting more often frees nothing
    gc.enable()
    from solver.search.solve.clock import Clock

    if dump_model is not None:
        saving.check_dump(dump_model, force)
    clock = Clock(None if limit_s is None else max(0.0, limit_s - stop.spent_s))
    try:
        with Meter(lambda: clock.at):
            return stop.search(lambda: ask(clock), clock.stop)
    except Exception as error:
        error.add_note(_dumped(getattr(error, "model", None) or clock.model, dump_model, force))
        raise


def _dumped(model: CpModel | None, path: Path | None, force: bool) -> str:
    """Write the model of a search that went wrong, as text; what to tell about it."""
    from tempfile import TemporaryDirectory

    from solver.files.writing import write_whole

    if model is None:
        return "no model was solved"
    if path is None:
        return "the same command with --dump-model FILE writes the model"
    try:
        with stop.held(), TemporaryDirectory() as folder:
            draft = Path(folder, "model.txt")
            if not model.export_to_file(str(draft)):
                return "the model cannot be exported"
            text = f"{saving.DUMP_HEADER}\n{draft.read_text(encoding='utf-8')}"
            write_whole(path, text, force, read=saving.read(), foreign=saving.no_dump)
    except OSError as error:
        return f"the model cannot be written: {error}"
    return f"the model is in {path.absolute()}"
