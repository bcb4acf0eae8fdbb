"""A rack from the front as boxes and texts, in millimetres at a fifth of its size."""

from __future__ import annotations

from dataclasses import dataclass, field

from cli.page.rear import Box, Words, size_of
from solver.physics.rack import UNIT_UM, panel_um
from solver.racks.figures import units as units_of
from solver.reports.rack import RackSheet
from solver.room.words import write_ranges

SCALE = 5
"""So many times smaller than the rack is."""

PANEL = 482.6 / SCALE
"""Width of a panel: 482.6 mm (EIA-310, IEC 60297)."""

UNIT = UNIT_UM / 1000 / SCALE

SIDE = 10.0
"""Left and right of the panels: the numbers of the units."""


@dataclass
class Elevation:
    """The whole drawing, and what it shows in words; every unit has its number on both sides."""

    width: float
    height: float
    told: str
    boxes: list[Box] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)


def elevation(sheet: RackSheet) -> Elevation:
    """Draw a rack to scale as it is seen from the front, unit 1 at its foot."""
    units = max([sheet.units, *(place.unit + place.height_u - 1 for place in sheet.places)])
    drawn = Elevation(PANEL + 2 * SIDE, UNIT * units + 2, _told(sheet))
    drawn.boxes.append(Box(SIDE - 0.5, 0.5, PANEL + 1, UNIT * units + 1, "panel"))
    taken = {unit for place in sheet.places for unit in range(place.unit, place.unit + place.height_u)}
    for unit in range(1, units + 1):
        top = _top(units, unit)
        middle = top + UNIT / 2
        drawn.words += [Words(x, middle, 3.0, str(unit), "slot") for x in (SIDE / 2 - 0.5, SIDE * 1.5 + PANEL + 0.5)]
        if unit not in taken:
            drawn.boxes.append(Box(SIDE + 1, top + 0.6, PANEL - 2, UNIT - 1.2, "empty"))
            told = "air, kept free" if unit in sheet.air else "free"
            drawn.words.append(Words(SIDE + PANEL / 2, middle, 2.6, told, "none"))
    for place in sheet.places:
        top, high = _top(units, place.unit + place.height_u - 1), panel_um(place.height_u) / 1000 / SCALE
        drawn.boxes.append(Box(SIDE, top, PANEL, high, "hole" if place.kind == "item" else "card"))
        size = min(size_of(place.name, PANEL - 4), high / 2)
        drawn.words.append(Words(SIDE + PANEL / 2, top + high / 2, size, place.name, "name"))
    return drawn


def _told(sheet: RackSheet) -> str:
    """What stands where, from above."""
    places = [f"{place.name} in {units_of(range(place.unit, place.unit + place.height_u))}" for place in sheet.places]
    air = f"; kept free for air: {write_ranges(sheet.air)}" if sheet.air else ""
    return f"From above: {', '.join(places)}{air}"


def _top(units: int, unit: int) -> float:
    """Where the upper edge of a unit is."""
    return 1 + UNIT * (units - unit)
