"""CP-SAT without the wait for pandas.

`cp_model` imports pandas, which takes longer than all the rest of it, for the annotations of functions that handle
series of variables. Nothing here calls those. While it is imported, empty classes stand in for the two that it names;
whoever calls such a function afterwards gets pandas itself. Only a command does this, whose process is its own: another
program may be importing pandas in that very moment.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType

NAME = "ortools.sat.python.cp_model"
ANNOTATED = ("Index", "Series")


def load_cpsat() -> None:
    """Import CP-SAT, unless it is there."""
    if "pandas" in sys.modules or NAME in sys.modules:
        return
    pandas = ModuleType("pandas")
    for name in ANNOTATED:
        setattr(pandas, name, type(name, (), {}))
    sys.modules["pandas"] = pandas
    try:
        import_module(NAME)
    except AttributeError:  # it names more of pandas than these two, and is imported with pandas later
        return
    finally:
        del sys.modules["pandas"]
    for name in ANNOTATED:
        delattr(pandas, name)
    pandas.__dict__["__getattr__"] = lambda name: getattr(import_module("pandas"), name)
