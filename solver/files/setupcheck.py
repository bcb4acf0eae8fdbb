"""What a scenario says of several kinds of day: that each can be one, and that all else of it goes with them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.files.partcheck import repeated, same_names
from solver.room.faults import Fault, Path, describe, unknown
from solver.room.scenario import MOVING, Scenario
from solver.room.words import SAMPLE_RATES


def check_setups(file: str, scenario: Scenario) -> Iterator[Fault]:
    """Kinds of day whose needs or rates are not known, and what does not go with several of them."""
    if not scenario.setup:
        return
    yield from same_names(file, (), "setup", [setup.name for setup in scenario.setup])
    needs = {need.name for need in scenario.need}
    for setup in scenario.setup:
        path: Path = ("setup", setup.name)
        yield from repeated(file, (*path, "needs"), setup.needs)
        for name in setup.needs:
            if name not in needs:
                yield unknown(file, (*path, "needs"), name, needs, "is no need of this scenario")
        if setup.sample_rate is not None and setup.sample_rate not in SAMPLE_RATES:
            allowed = tuple(map(str, sorted(SAMPLE_RATES)))
            found = describe(setup.sample_rate)
            yield Fault(file, (*path, "sample_rate"), f"{found} Hz is no known sample rate", found, allowed)
    used = {name for setup in scenario.setup for name in setup.needs}
    for name in sorted(needs - used):
        message = "is a need of no setup, so nothing serves it"
        yield Fault(file, ("need", name), message, name, severity="warning")
    yield from _beside(file, scenario)


def _beside(file: str, scenario: Scenario) -> Iterator[Fault]:
    """What is not planned where there are several kinds of day."""
    if scenario.room:
        yield Fault(file, ("setup",), "is for scenarios of one room")
    if scenario.installed is not None:
        yield Fault(file, ("installed",), "does not go with setups")
    if scenario.tolerance is not None:
        yield Fault(file, ("tolerance",), "does not go with setups")
    if scenario.slack:
        yield Fault(file, ("slack",), "does not go with setups")
    for criterion in scenario.rank:
        if criterion in MOVING:
            yield Fault(file, ("rank",), f"{criterion} does not go with setups", criterion)
    for need in scenario.need:
        if need.importance == "nice":
            yield Fault(file, ("need", need.name, "importance"), "nice to have does not go with setups", "nice")
        tied = [other for other in (need.returns_on, *need.apart_from) if other is not None]
        for setup in scenario.setup:
            missing = [other for other in tied if need.name in setup.needs and other not in setup.needs]
            if missing:
                message = f'"{need.name}" is there without "{missing[0]}", which it speaks of'
                yield Fault(file, ("setup", setup.name, "needs"), message, need.name)
