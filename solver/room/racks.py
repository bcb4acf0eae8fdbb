"""Racks: how high, deep and strong they are, what stands in them, and what is asked of the places."""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, Strict

from solver.room.hardware import Chassis
from solver.room.words import MOST_PARTS, Celsius, Flag, Noun, Positive, Quantity, Text, parse_ranges

MOST_UNITS = 60
"""The highest rack that is planned, in rack units."""

Units = Annotated[int, Strict(), Field(ge=1, le=MOST_UNITS)]

RackCriterion = Literal["cables", "reserve", "inlet"]


def _one_run(value: str) -> str:
    units = parse_ranges(value, MOST_UNITS)
    if units[-1] - units[0] + 1 != len(units):
        raise ValueError('must be one run of units such as "12-20"')
    return value


UnitRun = Annotated[str, Strict(), Field(max_length=20), AfterValidator(_one_run)]


class RackItem(Noun):
    """Something else in a rack.

    `air` says whether it draws at the front and blows out at the rear, or takes what comes from below and gives its
    heat up the rack. `in_reach` asks for a place that is in the rack's reach.
    """

    name: Text
    height_u: Units
    depth_mm: Quantity | None = None
    weight_kg: Quantity | None = None
    heat_w: Quantity | None = None
    air: Literal["front", "below"] = "below"
    air_limit_c: Celsius | None = None
    keep_away_u: Annotated[int, Strict(), Field(ge=0, le=MOST_UNITS)] = 0
    in_reach: Flag = False


class RackCable(Noun):
    """Cables between two things in a rack, so many of them, none longer than `most_mm` where that is said."""

    ends: tuple[Text, Text]
    count: Positive = 1
    most_mm: Quantity | None = None


class Rack(Noun):
    """One rack. Units are counted from 1 at its foot.

    `frames` and `bays` stand in it by name, with the supplies of the frames. `at` has the lowest unit of what has to
    stay where it is. `air_m3_h` is what goes up through it;
    `spare_mm` what a cable takes beside its way up or down; `foot_mm` how high above the floor unit 1 begins.
    """

    name: Text
    units: Units
    depth_mm: Quantity | None = None
    most_kg: Quantity | None = None
    ears_kg: Quantity = Decimal(15)
    inlet_c: Celsius | None = None
    air_m3_h: Annotated[Quantity, Field(gt=0)] | None = None
    reach: UnitRun | None = None
    centre_below_u: Units | None = None
    spare_mm: Quantity = Decimal(300)
    foot_mm: Quantity = Decimal(100)
    frames: tuple[Text, ...] = Field((), max_length=MOST_PARTS)
    bays: tuple[Text, ...] = Field((), max_length=MOST_PARTS)
    item: tuple[RackItem, ...] = Field((), max_length=MOST_PARTS)
    at: dict[Text, Units] = {}
    cable: tuple[RackCable, ...] = Field((), max_length=MOST_PARTS)
    rank: tuple[RackCriterion, ...] = ("cables", "reserve", "inlet")


def supply_names(frame: str, chassis: Chassis) -> tuple[str, ...]:
    """What the outside supplies of a frame are called in its rack; none where they are inside or have no height."""
    supply = chassis.supply
    if not supply.external or not supply.height_u:
        return ()
    return tuple(f"{frame} supply{f' {n}' if supply.count > 1 else ''}" for n in range(1, supply.count + 1))
