"""What a scenario says of its kinds of day, or phases: which needs each has, and what does not go with them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Literal

from solver.files.partcheck import repeated, same_names
from solver.room.faults import Fault, Path, unknown
from solver.room.scenario import MOVING, Scenario
from solver.room.times import Phase, Setup

KEYS = {"setup": ("straps", "over_setups"), "phase": ("moves", "cost_of")}
"""Keys of a scenario that are for its kinds of day, or its phases, alone."""


def said_in_vain(file: str, scenario: Scenario, word: Literal["setup", "phase"]) -> Iterator[Fault]:
    """Keys that are for parts, where there are none."""
    for key in KEYS[word]:
        if key in scenario.model_fields_set:
            message = f"is for several {word}s, and there is no [[{word}]]: it changes nothing"
            yield Fault(file, (key,), message, str(getattr(scenario, key)), severity="warning")


def check_parts(
    file: str,
    scenario: Scenario,
    word: Literal["setup", "phase"],
    parts: Sequence[Setup | Phase],
    without: Collection[str],
) -> Iterator[Fault]:
    """Parts with one name, needs that are not known or in none, and what is not planned where there are parts.

    Parameters
    ----------
    word
        The key of the parts.
    without
        Keys of the scenario that do not go with them.
    """
    yield from same_names(file, (), word, [part.name for part in parts])
    needs = {need.name for need in scenario.need}
    for part in parts:
        path: Path = (word, part.name, "needs")
        yield from repeated(file, path, part.needs)
        for name in part.needs:
            if name not in needs:
                yield unknown(file, path, name, needs, "is no need of this scenario")
        for need in scenario.need:
            tied = [other for other in (need.returns_on, *need.apart_from) if other is not None]
            missing = [other for other in tied if need.name in part.needs and other not in part.needs]
            if missing:
                message = f'"{need.name}" is there without "{missing[0]}", which it speaks of'
                yield Fault(file, path, message, need.name)
    used = {name for part in parts for name in part.needs}
    for name in sorted(needs - used):
        message = f"is a need of no {word}, so nothing serves it"
        yield Fault(file, ("need", name), message, name, severity="warning")
    if scenario.room:
        yield Fault(file, (word,), "is for scenarios of one room")
    for key in without:
        if getattr(scenario, key):
            yield Fault(file, (key,), f"does not go with {word}s")
    for criterion in scenario.rank:
        if criterion in MOVING:
            yield Fault(file, ("rank",), f"{criterion} does not go with {word}s", criterion)
    for need in scenario.need:
        if need.importance == "nice":
            yield Fault(file, ("need", need.name, "importance"), f"nice to have does not go with {word}s", "nice")
