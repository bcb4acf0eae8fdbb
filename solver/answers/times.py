"""A scenario and a build of it at each time that it has: on its kinds of day, in its phases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from solver.files.reading import Loaded
from solver.reports.element import BrokenLimit
from solver.room.build import Build
from solver.room.phases import in_phase, owned_in
from solver.room.setups import of_day, scenario_of


def times(loaded: Loaded, build: Build) -> dict[str, tuple[Loaded, Build]]:
    """Both at each time, by its name, as if there were no other; as they are, by no name, where there is but one."""
    scenario = loaded.scenario
    if scenario.setup:
        each = {day.name: (scenario_of(scenario, day), of_day(build, day.name)) for day in scenario.setup}
    elif scenario.phase:
        each = {own.name: (owned_in(scenario, own, build), in_phase(build, own.name)) for own in scenario.phase}
    else:
        return {"": (loaded, build)}
    return {name: (replace(loaded, scenario=own), then) for name, (own, then) in each.items()}


def told_once(found: Mapping[str, Sequence[BrokenLimit]]) -> list[BrokenLimit]:
    """What is wrong at the times, once; what is not so at all of them says at which it is."""
    told: list[BrokenLimit] = []
    for name, faults in found.items():
        for fault in faults:
            always = all(fault in others for others in found.values())
            said = fault if always else fault.model_copy(update={"text": f"{name}: {fault.text}"})
            told += [] if said in told else [said]
    return told
