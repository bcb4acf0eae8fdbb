"""The screen of `looms`: what is not wired, each loom pin by pin, the plugs that they take."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, Grid, grid, indented, labelled, page, show_faulty
from solver.reports.looms import LoomConductors, LoomList, LoomSheet
from solver.reports.wording import kilohertz
from solver.room.words import write_ranges


def show_looms(document: LoomList) -> None:
    """Print the looms; what is faulty or not wired first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        show_faulty(out, title, document.faults, "Do not wire this before it is put right.")
        count = len(document.looms)
        out.print(Text(f"Looms: {title}", "bold"))
        out.print(Text(f"{count or 'no'} loom{'' if count == 1 else 's'}, named by frame, slot and connector"))
        if document.not_wired:
            out.print()
            out.print(labelled([("NOT WIRED", text) for text in document.not_wired]))
        for loom in document.looms:
            _loom(out, loom)
        if document.bill:
            out.print()
            out.print(Text("Plugs at the cards", "bold"))
            table = grid("count", "plug", "looms", right=(0,))
            for sort in document.bill:
                table.add_row(
                    str(sort.count), _plug(sort.connector_type, sort.plug, sort.thread), ", ".join(sort.looms)
                )
            out.print(indented(table))
        if document.notes:
            out.print()
            out.print(labelled([("NOTE", note) for note in document.notes]))
        if document.looms:
            out.print()
            out.print(Text(CAUTIONS))


def _loom(out: Console, loom: LoomSheet) -> None:
    out.print()
    room = f"{loom.room}, " if loom.room else ""
    out.print(Text(f"{room}{loom.name}: {loom.card} in slot {loom.slot}, {loom.numbers}", "bold"))
    plug = _plug(loom.connector_type, loom.plug, loom.thread)
    if loom.points:
        plug += f"; to {', '.join(loom.points)}"
    if not loom.wired:
        out.print(indented(Text(f"{plug}; NOT WIRED: no pinout is described")))
        return
    unused = f"; pins not used: {', '.join(loom.unused_pins)}" if loom.unused_pins else ""
    crossed = "" if loom.straight_to == loom.pinout else f"; straight only to {loom.straight_to}, CROSSED to its like"
    out.print(indented(Text(f"{plug}; pinout {loom.pinout}{unused}{crossed}")))
    if loom.cable is not None:
        length = f", {loom.length_m} m" if loom.length_m else ""
        wired = f", {loom.wiring}" if loom.wiring else ""
        end = f"; other end {_plug(loom.other_end, loom.other_plug, None)}" if loom.other_end else ""
        out.print(indented(Text(f"cable {loom.cable}{wired}{length}{end}")))
    out.print(indented(_lines(loom)))


def _plug(kind: str, plug: str | None, thread: str | None) -> str:
    return f"{kind} {plug or 'of unknown gender'}{f', {thread}' if thread else ''}"


def _lines(loom: LoomSheet) -> Grid:
    ends = any(line.far_end for line in loom.lines)
    end = ["far end"] if ends else []
    table = grid("line", "number", "hot", "cold", "shield", *end, "carries", right=(2, 3, 4))
    for line in loom.lines:
        far = [line.far_end or "-"] if ends else []
        number = f"{loom.frame} {line.direction} {write_ranges(line.numbers)}" if line.numbers else "no number"
        name = f"{line.direction} {line.line}"
        table.add_row(name, number, line.hot, line.cold or "-", line.shield, *far, _carries(line))
    return table


def _carries(line: LoomConductors) -> str:
    if not line.card_channels:
        return "no channel at this rate"
    return ", ".join(line.carries) or "not used"
