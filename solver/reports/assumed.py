"""What a scenario does not say and decides an answer all the same: the defaults that take its place."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from solver.reports.wording import kilohertz
from solver.room.hardware import Hardware
from solver.room.racks import Rack
from solver.room.scenario import Scenario


def assumed(scenario: Scenario, hardware: Hardware) -> list[str]:
    """Each default that a scenario leans on, in words; nothing about what its files give no figures for."""
    return list(_assumed(scenario, hardware))


def _assumed(scenario: Scenario, hardware: Hardware) -> Iterator[str]:
    rooms, limits = scenario.rooms(), scenario.limits
    said = limits.model_fields_set
    if "sample_rate" not in scenario.model_fields_set and any(room.sample_rate is None for room in rooms):
        yield kilohertz(scenario.sample_rate)
    if "rank" not in scenario.model_fields_set:
        yield f"ranked by {', '.join(scenario.rank)}"
    chassis = {frame.chassis for room in rooms for frame in room.frame}
    own = [model for model in hardware.chassis if model.id in chassis]
    if "rail_reserve" not in said and any(model.rails is not None for model in own):
        yield f"{limits.rail_reserve} of each rail is kept in reserve"
    airs = [air for room in rooms if (air := scenario.air_in(room)) is not None]
    if not airs or all(model.air is None for model in own):
        return
    if "refuse_below_k" not in said:
        yield f"refused under {limits.refuse_below_k} K of cooling margin"
    if "warn_below_k" not in said:
        yield f"warned under {limits.warn_below_k} K"
    if "cooling" in scenario.rank:
        if "step_k" not in said:
            yield f"margins are compared in steps of {limits.step_k} K"
        if "enough_k" not in said:
            yield f"{limits.enough_k} K are enough"
    if any("altitude_m" not in air.model_fields_set for air in airs):
        yield "0 m above the sea"


def assumed_of_racks(scenario: Scenario) -> list[str]:
    """Each default that the racks of a scenario lean on, in words."""
    racks = [rack for room in scenario.rooms() for rack in room.rack]
    bare = {key: [rack for rack in racks if key not in rack.model_fields_set] for key in ASSUMED_OF_RACKS}
    said = [f"{_racks_told(racks, own)}{ASSUMED_OF_RACKS[key](own[0])}" for key, own in bare.items() if own]
    items = [item.name for rack in racks for item in rack.item if "air" not in item.model_fields_set]
    return [*said, *([f"{', '.join(items)}: air from below"] if items else [])]


ASSUMED_OF_RACKS: dict[str, Callable[[Rack], str]] = {
    "rank": lambda rack: f"ranked by {', '.join(rack.rank)}",
    "spare_mm": lambda rack: f"{rack.spare_mm} mm of each cable beside its way up or down",
    "foot_mm": lambda rack: f"unit 1 is {rack.foot_mm} mm above the floor",
    "ears_kg": lambda rack: f"things above {rack.ears_kg} kg on rails",
}
"""Defaults of a rack by their keys, in words."""


def _racks_told(racks: list[Rack], own: list[Rack]) -> str:
    """Which of several racks a default is of; nothing where it is of all."""
    return "" if len(own) == len(racks) else f"rack {', '.join(rack.name for rack in own)}: "
