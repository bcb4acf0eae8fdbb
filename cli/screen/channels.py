"""The screen of `channels`: a row a number."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import grid, labelled, page, show_faulty
from solver.reports.channels import ChannelList, ChannelRow
from solver.reports.wording import kilohertz
from solver.room.words import DIRECTIONS, in_runs, write_ranges

PINS = "Pins are hot/cold/shield, as on the card's connector."
ELSEWHERE = "Pins are in the list of looms, and with --format csv."
POINTS = (
    "Points of bays are the card's: of inputs the lower one, of outputs the upper one; the far end is on the other of "
    "the pair. Pins are in the list of looms, and with --format csv."
)


def show_channels(document: ChannelList) -> None:
    """Print the list; what is faulty first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        show_faulty(out, title, document.faults, "Do not wire this before it is put right.")
        numbers = {(row.room, row.frame, row.direction, row.number): row.need for row in document.rows}
        used = sum(need is not None for need in numbers.values())
        out.print(Text(f"Channels: {title}", "bold"))
        out.print(Text(f"{len(numbers)} numbers that a card answers, {used} of them used; by {document.by}"))
        out.print()
        several = any(row.room for row in document.rows) and document.room is None
        wired = any(row.connector for row in document.rows)
        bays = any(row.bay for row in document.rows)
        ends = any(row.far_end for row in document.rows)
        host = ["host"] if any(row.host for row in document.rows) else []
        plugs = ["connector"] if (wired or bays) and not several and not ends else []  # names leave it no place
        plugs += ["point"] if bays else ["pins"] if wired and not ends and not host else []
        plugs += ["far end"] if ends else []
        headings = ("number", *host, "slot", "card", "ch", *plugs, "carries")
        table = grid(*headings, right=(1, 2, 4) if host else (1, 3))
        for row in document.rows:
            where = f"{row.room}, {row.frame}" if several and row.room else row.frame
            on_plug = {
                "connector": row.connector or "-",
                "point": _point(row),
                "pins": _pins(row),
                "far end": row.far_end or "-",
            }
            number = f"{where} {row.direction} {row.number}"
            at_host = [str(row.host or "-")] if host else []
            seat = [number, *at_host, str(row.slot), row.card, str(row.card_channel)]
            table.add_row(*seat, *(on_plug[plug] for plug in plugs), row.carries)
        out.print(table)
        if plugs:
            out.print()
            out.print(Text(POINTS if bays else ELSEWHERE if ends or host else PINS))
        if host:
            out.print()
            out.print(labelled([("HOST", text) for text in _ports(document)]))
        told = [("NOT WIRED", text) for text in document.not_wired] + [("NOTE", note) for note in document.notes]
        if told:
            out.print()
            out.print(labelled(told))


def _ports(document: ChannelList) -> list[str]:
    """Which channels of which port the host's numbers are."""
    rows = [row for row in document.rows if row.host is not None]
    rows.sort(key=lambda row: (row.room or "", DIRECTIONS.index(row.direction), row.host or 0))
    runs = in_runs(rows, lambda one, other: (one.room, one.host_port) == (other.room, other.host_port))
    found = []
    for run in runs:
        numbers = write_ranges([row.host or 0 for row in run])
        channels = write_ranges([row.port_channel or 0 for row in run])
        room = f"{run[0].room}, " if document.room is None and run[0].room else ""
        found.append(f"{room}{run[0].direction} {numbers} is channel {channels} of {run[0].host_port}")
    return found


def _point(row: ChannelRow) -> str:
    return "-" if row.bay is None else f"{row.bay} {row.point}"


def _pins(row: ChannelRow) -> str:
    return "NOT WIRED" if row.hot is None else f"{row.hot}/{row.cold or '-'}/{row.shield}"
