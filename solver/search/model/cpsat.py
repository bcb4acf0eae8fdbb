"""CP-SAT without the wait for pandas.

`cp_model` imports pandas, which takes longer than all the rest of it, for the annotations of functions that handle
series of variables. Nothing here calls those. While it is imported, empty classes stand in for the two that it names;
whoever calls such a function afterwards gets pandas itself.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

NAME = "ortools.sat.python.cp_model"
ANNOTATED = ("Index", "Series")


def _imported() -> Any:
    if "pandas" in sys.modules or NAME in sys.modules:
        return import_module(NAME)
    pandas = ModuleType("pandas")
    for name in ANNOTATED:
        setattr(pandas, name, type(name, (), {}))
    sys.modules["pandas"] = pandas
    try:
        found = import_module(NAME)
    except AttributeError:  # it names more of pandas than these two
        found = None
    finally:
        del sys.modules["pandas"]
    if found is None:
        return import_module(NAME)
    for name in ANNOTATED:
        delattr(pandas, name)
    pandas.__dict__["__getattr__"] = lambda name: getattr(import_module("pandas"), name)
    return found


if not TYPE_CHECKING:
    cp_model = _imported()


class Model(cp_model.CpModel):
    """A model that is copied quickly: without the names in camel case that every instance else is given one by one."""

    def _add_pre_pep8_methods(self) -> None:
        pass

    def clone(self) -> Model:
        """Another model of the same content."""
        twin = Model()
        twin.proto.copy_from(self.proto)
        twin.rebuild_constant_map()
        return twin


__all__ = ["Model", "cp_model"]
