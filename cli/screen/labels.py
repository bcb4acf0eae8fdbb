"""The screen of `labels`: strip by strip, each text beside what it stands for."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import grid, indented, labelled, page, show_faulty
from solver.reports.labels import Label, LabelList
from solver.reports.wording import kilohertz
from solver.room.words import in_runs


def show_labels(document: LabelList) -> None:
    """Print the labels; what is faulty first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        show_faulty(out, title, document.faults, "Do not label this before it is put right.")
        out.print(Text(f"Labels: {title}", "bold"))
        out.print(Text(f"{len(document.labels)} labels of at most {document.width} characters; bays from the front"))
        for strip in in_runs(document.labels, lambda one, other: _strip(one) == _strip(other)):
            first = strip[0]
            where = f"{first.room}, {first.strip}" if first.room else first.strip
            out.print()
            out.print(Text(f"bay {where}" if first.on == "bay" else where, "bold"))
            table = grid("at", "label", "in full")
            for label in strip:
                table.add_row(label.at, label.text if label.fits else f"TOO LONG: {label.text}", _whole(label))
            out.print(indented(table))
        if document.notes:
            out.print()
            out.print(labelled([("NOTE", note) for note in document.notes]))


def _strip(label: Label) -> tuple[str, str | None, str]:
    return label.on, label.room, label.strip


def _whole(label: Label) -> str:
    return "" if label.text == label.whole else label.whole
