"""The screen of `find`: one path with all that is on it, or several in short."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from cli.screen.page import Grid, grid, indented, labelled, page, show_faulty
from solver.reports.found import Found, FoundChannel, FoundSlot
from solver.reports.wording import kilohertz
from solver.room.assets import with_serial
from solver.room.bays import point_of
from solver.room.words import in_runs, write_ranges

ALIKE = ("room", "frame", "direction", "slot", "card", "loom", "need", "bay")
"""What channels of one row have in common."""


def show_found(document: Found) -> None:
    """Print what was found; what is faulty first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        show_faulty(out, title, document.faults, "Do not wire this before it is put right.")
        out.print(Text(f"{document.asked}: {title}", "bold"))
        for slot in document.slots:
            out.print(indented(labelled([_slot(slot)])))
        if len(document.channels) == 1:
            _path(out, document.channels[0])
        elif document.channels:
            out.print()
            out.print(indented(_runs(document.channels)))
        elif document.slots:
            out.print(indented(Text("no channel is there")))
        if document.notes:
            out.print()
            out.print(labelled([("NOTE", note) for note in document.notes]))


def _slot(slot: FoundSlot) -> tuple[str, str]:
    room = f"{slot.room}, " if slot.room else ""
    return f"slot {write_ranges(slot.slots)} of {room}{slot.frame}", slot.told


def _path(out: Console, one: FoundChannel) -> None:
    """Everything on one path, from the recorder's side on, each with the name that finds it."""
    number = "no number" if one.number is None else f"{one.frame} {one.direction} {one.number}"
    room = f"{one.room}, " if one.room else ""
    carries = _idle(one) if one.need is None else f"{one.need} {one.channel}{' (to spare)' if one.spare else ''}"
    carries = f"{one.name}, which is {carries}" if one.name else carries
    if one.hot is not None:
        pins = (
            f"hot {one.hot}, cold {one.cold}, shield {one.shield}"
            if one.cold
            else f"hot {one.hot}, shield {one.shield}"
        )
    else:
        pins = "NOT WIRED"
    plug = (
        f"{one.connector} ({one.connector_type}), {pins}" if one.connector else "NOT WIRED: no connector is described"
    )
    table = grid("", "", "find it by")
    table.add_row("number", f"{room}{number}", one.find.get("number", ""))
    if one.host is not None:
        table.add_row("host", f"{one.direction} {one.host}: {one.host_port}, channel {one.port_channel}", "")
    table.add_row("carries", f"{carries}; takes {'/'.join(one.signals)}", one.find.get("need", ""))
    table.add_row(
        "slot",
        f"{one.slot}: {with_serial(one.card, one.serial)}, channel {one.card_channel} {one.direction}",
        one.find["slot"],
    )
    if one.out_of_service:
        table.add_row("OUT OF SERVICE", one.out_of_service, "")
    if one.settings:
        table.add_row("set to", ", ".join(one.settings), "")
    table.add_row("connector", plug, one.find.get("loom", ""))
    if one.bay is not None:
        between = f"{one.normal}-normalled" if one.normal in ("full", "half") else one.normal
        points = f"{one.bay} {one.point}, far end {one.far_point}, {between}"
        table.add_row("bay", points, one.find["bay"])
    if one.via:
        table.add_row("tie line" if len(one.via) == 1 else "tie lines", "; ".join(one.via), one.find["via"])
    if one.cables:
        table.add_row("cable" if len(one.cables) == 1 else "cables", ", ".join(one.cables), one.find["cable"])
    if one.far_end is not None:
        place = f", {one.place}" if one.place else ""
        table.add_row("comes from" if one.direction == "in" else "goes to", one.far_end + place, one.find["far_end"])
    out.print(indented(table))


def _idle(one: FoundChannel) -> str:
    return "out of service" if one.out_of_service else "not used"


def _runs(channels: Sequence[FoundChannel]) -> Grid:
    bays = any(one.bay for one in channels)
    table = grid("number", "slot", "card", "ch", "loom", *(["point"] if bays else []), "carries", right=(1,))
    for run in in_runs(channels, _follows):
        first = run[0]
        numbers = [one.number for one in run if one.number is not None]
        where = f"{first.room}, {first.frame}" if first.room else first.frame
        number = f"{where} {first.direction} {write_ranges(numbers)}" if numbers else f"{where} {first.direction}, none"
        table.add_row(
            number,
            str(first.slot),
            first.card,
            write_ranges([one.card_channel for one in run]),
            first.loom or "-",
            *([_points(run)] if bays else []),
            _carried(run),
        )
    return table


def _points(run: Sequence[FoundChannel]) -> str:
    """The cards' points, those of one row in a run."""
    first, last = run[0], run[-1]
    if first.bay is None:
        return "-"
    return f"{first.bay} {first.point}" if first.point == last.point else f"{first.bay} {first.point}-{last.point}"


def _carried(run: Sequence[FoundChannel]) -> str:
    channels = [one.channel for one in run if one.channel is not None]
    if not channels:
        return _idle(run[0])
    names = ", ".join(one.name for one in run if one.name)
    return f"{run[0].need} {write_ranges(channels)}{f': {names}' if names else ''}"


def _follows(one: FoundChannel, other: FoundChannel) -> bool:
    if any(getattr(one, key) != getattr(other, key) for key in ALIKE):
        return False
    if (one.number is None) != (other.number is None) or one.card_channel + 1 != other.card_channel:
        return False
    if one.number is not None and one.number + 1 != other.number:
        return False
    if one.need is None and _idle(one) != _idle(other):
        return False
    if one.bay is not None and not _beside(one, other):
        return False
    return one.channel is None or one.channel + 1 == other.channel


def _beside(one: FoundChannel, other: FoundChannel) -> bool:
    """Whether the other's point is the same, as those of one line are, or the next one of the row."""
    here, there = point_of(one.point or ""), point_of(other.point or "")
    return here[0] == there[0] and there[1] - here[1] in (0, 1)
