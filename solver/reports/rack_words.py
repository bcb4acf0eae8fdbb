"""What a rack comes to in words: one wording for the screen and for the page of a pack."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from solver.racks.figures import at_least_kg, kelvin, kg
from solver.reports.rack import RackPlace, RackSheet

LIFTING = (
    "Before anything is lifted: the rack stands on a level floor and is bolted down or has its feet out. It is filled "
    "from the foot up, as drawn, rails before what stands on them. How many lift is from figures in the files (two "
    "above 25 kg or above the shoulder); local rules come first."
)

COLUMNS = ("units", "thing", "kg", "lift", "on rails", "mm deep", "watts")


def place_row(place: RackPlace) -> tuple[str, ...]:
    """A thing under `COLUMNS`; a plus where what no file tells comes to it, a question mark where nothing is told."""
    top = place.unit + place.height_u - 1
    more = "+" if place.weightless else ""
    return (
        str(top) if place.height_u == 1 else f"{place.unit}-{top}",
        place.name,
        _weight(place),
        "?" if place.people is None else f"{place.people}{more}",
        "yes" if place.on_rails else "?" if more else "",
        "?" if place.depth_mm is None else f"{place.depth_mm:.0f}",
        "?" if place.heat_w is None else f"{ceil(place.heat_w)}{'+' if place.unheated else ''}",
    )


def facts(sheet: RackSheet) -> Iterator[tuple[str, str]]:
    """Lengths of cables, warmth from below, what is left and what all weighs, each with its label."""
    for each in sheet.lengths:
        most = "" if each.most_mm is None else f" of {each.most_mm:.0f} mm"
        times = f"{each.count} x " if each.count > 1 else ""
        yield "cables", f"{times}{each.ends[0]} to {each.ends[1]}: {ceil(each.length_mm)} mm{most}"
    warmer = [_warmer(place) for place in sheet.places if place.rise_k is not None]
    if warmer:
        warmer.append("an estimate: none to all of the heat below rises to an inlet; all that is known is judged")
    yield from (("warmth from below", row) for row in warmer)
    yield "reserve", "no free unit" if sheet.reserve in (None, "-") else f"units {sheet.reserve}"
    if sheet.weight_kg:
        yield "weight", _in_all(sheet)


def _weight(place: RackPlace) -> str:
    """What a thing weighs, or what is known of that, rounded down, with a plus."""
    if place.weight_kg is None:
        return "?"
    if not place.weightless:
        return f"{place.weight_kg:.1f}"
    return f"{at_least_kg(round(1000 * place.weight_kg)).removesuffix(' kg')}+"


def _in_all(sheet: RackSheet) -> str:
    """What all of it weighs, or at least, and how high the centre of that is."""
    grams, more = round(1000 * (sheet.weight_kg or 0)), any(place.weightless for place in sheet.places)
    weight = f"at least {at_least_kg(grams)}, the centre of that" if more else f"{kg(grams)}, its centre"
    return f"{weight} {sheet.centre_u or 0:.1f} U above the foot"


def _warmer(place: RackPlace) -> str:
    """How much warmer what rises from below makes its inlet at most: some of it may leave at the rear."""
    rise = round(1000 * (place.rise_k or 0))
    least, rises = ("at least", " if all of it rises") if place.rise_untold else ("up to", "")
    if place.most_rise_k is None:
        return f"{place.name}: {least} {ceil(rise / 100) / 10:.1f} K{rises}, no limit given"
    up, allowed = kelvin(rise, round(1000 * place.most_rise_k))
    return f"{place.name}: {least} {up} K{rises}, {allowed} K allowed"
