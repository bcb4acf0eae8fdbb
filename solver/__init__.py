"""Strapwork's engine, and its door for programs: one function a question, which gives the document of the answer.

>>> import solver
>>> solver.plan("scenarios/quay-mix-rig.toml", top=1).builds[0].cost
'3030.00'

Each takes the file of a scenario, or a `Scenario` with its `Hardware`, and the options of the command that has its
name. What it gives is what the command prints with ``--format json``: `as_json` has the same bytes. A limit that is
over, or a plan that is proven impossible, is an answer; whatever is raised is a `StrapworkError`: `FileFaults` with
all that is wrong with the files, `WrongQuestion` for what cannot be asked so, and `SearchError` for a defect of this
package. No signal is listened to, so that any thread may ask. The search package is imported when it is first needed.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from solver.door.changes import diff, pack, work_order
from solver.door.clocks import clock
from solver.door.drawn import channels, check, find, input_list, labels, looms
from solver.door.failing import failed, single_points
from solver.door.files import blocks, load
from solver.door.racks import power, rack
from solver.door.reasons import why, why_not
from solver.door.searched import explain, front, plan, reach, tolerance
from solver.room.errors import StrapworkError, WrongQuestion

if TYPE_CHECKING:
    from solver.room.build import Build
    from solver.room.faults import FileFaults
    from solver.room.hardware import Hardware
    from solver.room.scenario import Scenario
    from solver.search.solve.clock import SearchError

__all__ = [
    "Build",
    "FileFaults",
    "Hardware",
    "Scenario",
    "SearchError",
    "StrapworkError",
    "WrongQuestion",
    "blocks",
    "channels",
    "check",
    "clock",
    "diff",
    "explain",
    "failed",
    "find",
    "front",
    "input_list",
    "labels",
    "load",
    "looms",
    "pack",
    "plan",
    "power",
    "rack",
    "reach",
    "single_points",
    "tolerance",
    "why",
    "why_not",
    "work_order",
]

_LATER = {
    "Build": "solver.room.build",
    "FileFaults": "solver.room.faults",
    "Hardware": "solver.room.hardware",
    "Scenario": "solver.room.scenario",
    "SearchError": "solver.search.solve.clock",
}
"""What is imported when it is asked for."""


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module 'solver' has no attribute {name!r}")
    return getattr(import_module(_LATER[name]), name)
