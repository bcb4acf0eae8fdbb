"""The screen of `rack`: each rack from the front to scale, what stands where, and what to mind."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, grid, indented, labelled, page, show_assumed, show_faulty
from solver.reports.rack import Racks, RackSheet
from solver.reports.rack_words import COLUMNS, LIFTING, facts, place_row

WIDE = 22
"""Columns of a panel: 482.6 mm are 10.9 units of 44.45 mm, and a line is about twice as high as a column is wide."""

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
    table = grid(*COLUMNS, right=(2, 3, 5, 6))
    for place in sheet.places:
        table.add_row(*place_row(place))
    out.print(indented(table))
    told = list(facts(sheet))
    labels = [label for label, _ in told]
    out.print()
    out.print(
        indented(labelled([("" if label in labels[:n] else label, text) for n, (label, text) in enumerate(told)]))
    )


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
