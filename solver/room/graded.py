"""What may come to be more than a scenario says, and is never easier then: a need, the air at the inlet, heat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, assert_never

from solver.room.hardware import Hardware
from solver.room.scenario import Scenario
from solver.room.words import in_thousandths, parse_percent


@dataclass(frozen=True, slots=True)
class Grade:
    """A figure that may be anything from `low` to `high`, and is `now`.

    Channels of the need with a `name`, millikelvin above 0 C of the air at the inlet, or per cent of the heat of cards
    and boards.
    """

    of: Literal["need", "inlet", "heat"]
    name: str
    low: int
    now: int
    high: int


def grades(scenario: Scenario) -> tuple[Grade, ...]:
    """What of a scenario may come to be more, in the order of the file: needs, air, heat."""
    tolerance = scenario.tolerance
    if tolerance is None:
        return ()
    channels = {need.name: need.channels for need in scenario.need}
    found = [Grade("need", own.name, own.from_, channels[own.name], own.to) for own in tolerance.need]
    if tolerance.inlet_c is not None and scenario.air is not None:
        ends = (tolerance.inlet_c.from_, scenario.air.inlet_c, tolerance.inlet_c.to)
        found.append(Grade("inlet", "inlet air", *map(in_thousandths, ends)))
    if tolerance.heat is not None:
        low, high = (parse_percent(end, 1000) for end in (tolerance.heat.from_, tolerance.heat.to))
        found.append(Grade("heat", "heat of cards", low, 100, high))
    return tuple(found)


def changed(scenario: Scenario, hardware: Hardware, at: Sequence[tuple[Grade, int]]) -> tuple[Scenario, Hardware]:
    """A scenario and its hardware with figures as they may come to be."""
    for grade, value in at:
        match grade.of:
            case "need":
                needs = [
                    need.model_copy(update={"channels": value}) if need.name == grade.name else need
                    for need in scenario.need
                ]
                scenario = scenario.model_copy(update={"need": tuple(needs)})
            case "inlet":
                assert scenario.air is not None
                air = scenario.air.model_copy(update={"inlet_c": Decimal(value) / 1000})
                scenario = scenario.model_copy(update={"air": air})
            case "heat":
                hotter = {
                    group: tuple(
                        part if part.heat_w is None else part.model_copy(update={"heat_w": part.heat_w * value / 100})
                        for part in getattr(hardware, group)
                    )
                    for group in ("card", "board")
                }
                hardware = hardware.model_copy(update=hotter)
            case _:
                assert_never(grade.of)
    return scenario, hardware
