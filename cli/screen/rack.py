"""The screen of `rack`: each rack from the front to scale, what stands where, and what to mind."""

from __future__ import annotations

from math import ceil

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, grid, indented, labelled, page, show_assumed, show_faulty
from solver.racks.figures import at_least_kg, kelvin, kg
from solver.reports.rack import RackPlace, Racks, RackSheet

WIDE = 22
"""Columns of a panel: 482.6 mm are 10.9 units of 44.45 mm, and a line is about twice as high as a column is wide."""

LIFTING = (
    "Before anything is lifted: the rack stands on a level floor and is bolted down or has its feet out. It is filled "
    "from the foot up, as drawn, rails before what stands on them. How many lift is from figures in the files (two "
    "above 25 kg or above the shoulder); local rules come first."
)

HEADINGS = {
    "found": "everything has a place, proven best",
    "impossible": "not everything has a place, proven",
    "unknown": "no places were found within the limit",
    "drawn": "as the build draws it",
}


def show_racks(document: Racks) -> None:
    """Print every rack."""
    with page() as out:
        show_faulty(out, document.scenario, document.faults, "Do not fill a rack by this drawing.")
        out.print(Text(document.scenario, "bold"))
        for note in document.notes:
            out.print(Text(note[:1].upper() + note[1:]))
        for sheet in document.racks:
            out.print()
            _sheet(out, sheet)
        show_assumed(out, document.assumed)
        if any(sheet.places for sheet in document.racks):
            out.print()
            out.print(Text(LIFTING))
            out.print()
            out.print(Text(CAUTIONS))


def _sheet(out: Console, sheet: RackSheet) -> None:
    said = HEADINGS[sheet.outcome]
    if sheet.outcome == "found" and not sheet.proven:
        said = "everything has a place; not proven that there are none better"
    if sheet.outcome == "found" and sheet.proven and sheet.not_checked:
        said += "; see NOT CHECKED"
    room = f"{sheet.room}, rack" if sheet.room else "Rack"
    out.print(Text(f"{room} {sheet.name}, {sheet.units} units: {said}", "bold"))
    if sheet.places:
        out.print()
        out.print(indented(Text("\n".join(_elevation(sheet)))))
        out.print()
        _places(out, sheet)
    if sheet.outcome == "impossible":
        _why(out, sheet)
    if sheet.not_checked:
        out.print()
        out.print(labelled([("NOT CHECKED", what) for what in sheet.not_checked]))


def _elevation(sheet: RackSheet) -> list[str]:
    """A line for each unit, from above, as seen from the front; a name stands at the top of its thing."""
    rows = dict.fromkeys(range(1, sheet.units + 1), " " * WIDE)
    rows |= {unit: "  air".ljust(WIDE) for unit in sheet.air}
    for place in sheet.places:
        top = place.unit + place.height_u - 1
        for unit in range(place.unit, top + 1):
            text = place.name[: WIDE - 2] if unit == top else ""
            fill = "_" if unit == place.unit else " "
            rows[unit] = f"{fill}{text}".ljust(WIDE, fill) if unit in rows or unit > 0 else ""
    edge = "+" + "-" * WIDE + "+"
    lines = [f"{unit:>4} |{rows[unit]}|" for unit in sorted(rows, reverse=True)]
    return [f"unit {edge}", *lines, f"     {edge}"]


def _places(out: Console, sheet: RackSheet) -> None:
    table = grid("units", "thing", "kg", "lift", "on rails", "mm deep", "watts", right=(2, 3, 5, 6))
    for place in sheet.places:
        top = place.unit + place.height_u - 1
        table.add_row(
            str(top) if place.height_u == 1 else f"{place.unit}-{top}",
            place.name,
            _weight(place),
            "?" if place.people is None else f"{place.people}{'+' if place.weightless else ''}",
            "yes" if place.on_rails else "?" if place.weightless else "",
            "?" if place.depth_mm is None else f"{place.depth_mm:.0f}",
            "?" if place.heat_w is None else f"{ceil(place.heat_w)}{'+' if place.unheated else ''}",
        )
    out.print(indented(table))
    rows = []
    for each in sheet.lengths:
        most = "" if each.most_mm is None else f" of {each.most_mm:.0f} mm"
        times = f"{each.count} x " if each.count > 1 else ""
        rows.append(f"{times}{each.ends[0]} to {each.ends[1]}: {ceil(each.length_mm)} mm{most}")
    told = [("cables" if not n else "", row) for n, row in enumerate(rows)]
    warmer = [_warmer(place) for place in sheet.places if place.rise_k is not None]
    if warmer:
        warmer.append("an estimate: none to all of the heat below rises to an inlet; all that is known is judged")
    told += [("warmth from below" if not n else "", row) for n, row in enumerate(warmer)]
    told.append(("reserve", "no free unit" if sheet.reserve in (None, "-") else f"units {sheet.reserve}"))
    if sheet.weight_kg:
        told.append(("weight", _in_all(sheet)))
    out.print()
    out.print(indented(labelled(told)))


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
    rise, more = round(1000 * (place.rise_k or 0)), " or more" if place.rise_untold else ""
    if place.most_rise_k is None:
        return f"{place.name}: up to {ceil(rise / 100) / 10:.1f} K{more}, no limit given"
    up, allowed = kelvin(rise, round(1000 * place.most_rise_k))
    return f"{place.name}: up to {up} K{more}, {allowed} K allowed"


def _why(out: Console, sheet: RackSheet) -> None:
    if sheet.ways:
        all_listed = "each smallest set of things to change is listed" if sheet.complete else "more may exist"
        out.print()
        out.print(Text(f"Ways out, the least work first; {all_listed}", "bold"))
        table = grid("", "change")
        for n, way in enumerate(sheet.ways, start=1):
            table.add_row(str(n), "\nand ".join(way.changes))
        out.print(indented(table))
    if sheet.clash:
        out.print()
        out.print(Text("These cannot all be kept; without any one of them they can", "bold"))
        for line in sheet.clash:
            out.print(indented(Text(line)))
