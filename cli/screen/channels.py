"""The screen of `channels`: a row a number."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import grid, indented, page
from solver.reports.channels import ChannelList
from solver.reports.wording import kilohertz


def show_channels(document: ChannelList) -> None:
    """Print the list; what is faulty first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        if document.faults:
            count = len(document.faults)
            out.print(Text(f"FAULTY, {count} fault{'s' if count > 1 else ''}: {title}", "bold"))
            out.print(Text("Do not wire this before it is put right."))
            table = grid("rule", "fault")
            for fault in document.faults:
                table.add_row(fault.rule, fault.text)
            out.print(indented(table))
            out.print()
        used = sum(row.need is not None for row in document.rows)
        out.print(Text(f"Channels: {title}", "bold"))
        out.print(Text(f"{len(document.rows)} numbers that a card answers, {used} of them used; by {document.by}"))
        out.print()
        several = any(row.room for row in document.rows) and document.room is None
        table = grid("number", "slot", "card", "its channel", "carries", right=(1, 3))
        for row in document.rows:
            where = f"{row.room}, {row.frame}" if several and row.room else row.frame
            carries = "not used" if row.need is None else f"{row.need} {row.channel}{' spare' if row.spare else ''}"
            table.add_row(
                f"{where} {row.direction} {row.number}", str(row.slot), row.card, str(row.card_channel), carries
            )
        out.print(table)
