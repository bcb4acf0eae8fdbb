"""The mains: voltage, tariff, and which breaker feeds what."""

from typing import Annotated

from pydantic import Field, Strict

from solver.physics.mains import Curve
from solver.room.hardware import Chassis
from solver.room.words import MOST_PARTS, Money, Noun, Quantity, Text


class Mains(Noun):
    """The supply of the building. `kwh_price` is in the scenario's currency."""

    volts: Annotated[int, Strict(), Field(ge=90, le=260)]
    hours_a_year: Annotated[int, Strict(), Field(ge=0, le=8784)] = 8760
    kwh_price: Money | None = None


class Breaker(Noun):
    """A circuit breaker. `feeds` names frames, or single supplies of a frame that has several, such as "A 2".

    `other_a` is what else it carries, `other_leakage_ma` what of that leaks to earth; `rcd_ma` is what trips the
    residual-current device before it.
    """

    name: Text
    rated_a: Annotated[Quantity, Field(gt=0)]
    curve: Curve | None = None
    rcd_ma: Annotated[Quantity, Field(gt=0)] | None = None
    feeds: tuple[Text, ...] = Field((), max_length=MOST_PARTS)
    other_a: Quantity | None = None
    other_leakage_ma: Quantity | None = None


def inlet_names(frame: str, chassis: Chassis) -> tuple[str, ...]:
    """What the mains inlets of a frame are called: the frame's name, with a number where it has several supplies."""
    count = chassis.supply.count
    return (frame,) if count == 1 else tuple(f"{frame} {n}" for n in range(1, count + 1))
