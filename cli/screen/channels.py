"""The screen of `channels`: a row a number."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import grid, labelled, page, show_faulty
from solver.reports.channels import ChannelList, ChannelRow
from solver.reports.wording import kilohertz

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
        plugs = ["connector"] if (wired or bays) and not several and not ends else []  # names leave it no place
        plugs += ["point"] if bays else ["pins"] if wired and not ends else []
        plugs += ["far end"] if ends else []
        headings = ("number", "slot", "card", "ch", *plugs, "carries")
        table = grid(*headings, right=(1, 3))
        for row in document.rows:
            where = f"{row.room}, {row.frame}" if several and row.room else row.frame
            on_plug = {
                "connector": row.connector or "-",
                "point": _point(row),
                "pins": _pins(row),
                "far end": row.far_end or "-",
            }
            number = f"{where} {row.direction} {row.number}"
            seat = [number, str(row.slot), row.card, str(row.card_channel)]
            table.add_row(*seat, *(on_plug[plug] for plug in plugs), row.carries)
        out.print(table)
        if plugs:
            out.print()
            out.print(Text(POINTS if bays else ELSEWHERE if ends else PINS))
        told = [("NOT WIRED", text) for text in document.not_wired] + [("NOTE", note) for note in document.notes]
        if told:
            out.print()
            out.print(labelled(told))


def _point(row: ChannelRow) -> str:
    return "-" if row.bay is None else f"{row.bay} {row.point}"


def _pins(row: ChannelRow) -> str:
    return "NOT WIRED" if row.hot is None else f"{row.hot}/{row.cold or '-'}/{row.shield}"
