"""What is left of a faulty file without the entries that have faults, so that the rest is compared all the same."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from solver.room.faults import TABLES, Fault, label
from solver.room.words import Noun

AnyNoun = TypeVar("AnyNoun", bound=Noun)

STAND_INS: dict[str, Any] = {"format": 1, "title": "untitled"}
"""Keys that nothing is compared with."""

DECISIVE = frozenset({"currency", "hardware", "rank", "sample_rate"})
"""Keys that much else depends on: with a fault here nothing can be said of the rest."""


@dataclass(frozen=True)
class Remainder(Generic[AnyNoun]):
    """A file without its faulty entries. `keys` are the top-level keys that lost some, `lost` the entries' names."""

    noun: AnyNoun
    keys: frozenset[str] = frozenset()
    lost: frozenset[str] = frozenset()


def remainder(model: type[AnyNoun], raw: dict[str, Any], faults: Sequence[Fault]) -> Remainder[AnyNoun] | None:
    """Leave out every entry that a fault names; None if what is left is no such file.

    Parameters
    ----------
    model
        The noun that was read.
    raw
        The data as the file gives it.
    faults
        What is wrong with single values; their paths begin with a top-level key and the name of an entry.
    """
    keys = {str(fault.path[0]) for fault in faults if fault.path}
    if any(not fault.path for fault in faults) or keys & DECISIVE:
        return None
    left = {key: value for key, value in raw.items() if key not in keys}
    left |= {key: value for key, value in STAND_INS.items() if key in keys}
    lost: set[str] = set()
    for key in keys & raw.keys():
        whole = any(len(fault.path) == 1 for fault in faults if fault.path[0] == key)
        bad = {fault.path[1] for fault in faults if fault.path[0] == key and len(fault.path) > 1}
        value = raw[key]
        lost |= {str(name) for name in bad}
        if isinstance(value, list) and key in TABLES and not whole:
            left[key] = [item for n, item in enumerate(value, 1) if label(item, n) not in bad]
        elif isinstance(value, dict) and key == "stock" and not whole:
            left[key] = {name: item for name, item in value.items() if name not in bad}
    if "room" in keys and not left.get("room"):
        return None
    try:
        noun = model.model_validate(left)
    except ValidationError:
        return None
    return Remainder(noun, frozenset(keys), frozenset(lost))


def still_true(faults: Iterable[Fault], rests: Iterable[Remainder[Any] | None]) -> list[Fault]:
    """Of faults found in remainders, those that do not come from what was left out; warnings can wait."""
    known = [rest for rest in rests if rest is not None and rest.keys]
    if not known:
        return list(faults)
    keys = {key for rest in known for key in rest.keys}
    lost = {name for rest in known for name in rest.lost}
    return [
        fault
        for fault in faults
        if fault.severity == "fault"
        and fault.found not in lost
        and not (len(fault.path) == 1 and fault.path[0] in keys)
    ]
