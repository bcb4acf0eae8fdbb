"""The screen of `list`: a row a line, and what another list has otherwise."""

from __future__ import annotations

from rich.text import Text

from cli.screen.page import Grid, grid, labelled, page, show_faulty
from cli.telling import say
from solver.reports.inputlist import ListChange, ListLine, NumberedList
from solver.reports.wording import kilohertz
from solver.room.faults import escape


def show_list(document: NumberedList) -> None:
    """Print the list, or what another one has otherwise; what is faulty first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        show_faulty(out, title, document.faults, "Do not wire this before it is put right.")
        out.print(Text(f"{'List' if document.compared is None else 'List compared'}: {title}", "bold"))
        if document.compared is None:
            numbered = sum(line.number is not None for line in document.lines)
            out.print(
                Text(
                    f"{escape(document.file or 'made of its needs')}: {len(document.lines)} lines, {numbered} numbered"
                )
            )
            out.print()
            out.print(_lines(document))
        else:
            out.print(Text(f"{escape(document.compared)}: {_counted(document)}"))
            if document.changes:
                out.print()
                out.print(_changes(document))
        notes = [("NOTE", note) for note in document.notes]
        if document.other_columns and document.compared is None:
            notes.append(("", f"--format csv also has {', '.join(map(escape, document.other_columns))}"))
        if notes:
            out.print()
            out.print(labelled(notes))


def say_changes(document: NumberedList) -> None:
    """Tell what another list has otherwise, beside a table that has no place for it."""
    for change in document.changes:
        line = "" if change.line is None else f"line {change.line}, "
        say(f"{escape(document.compared or '')}: {line}{change.name}: {_told(change)}")


def _counted(document: NumberedList) -> str:
    lines = len({(change.line, change.name, change.direction) for change in document.changes})
    told = f"{lines} {'line is' if lines == 1 else 'lines are'} not the build's" if lines else "the same as the build"
    silent = document.compared_without_number
    return f"{told}; {silent} of {document.compared_lines} lines without a number" if silent else told


def _lines(document: NumberedList) -> Grid:
    groups = any(line.group for line in document.lines)
    host = any(line.host for line in document.lines)
    table = grid(
        "number",
        *(["host"] if host else []),
        "name",
        "signal",
        *(["group"] if groups else []),
        "slot",
        "card",
        "its channel",
    )
    for line in document.lines:
        at_host = [str(line.host or "-")] if host else []
        cells = [_number(line), *at_host, line.name, line.signal, *([line.group or ""] if groups else [])]
        if line.number is None:
            table.add_row(*cells, "", "", "")
        else:
            table.add_row(*cells, str(line.slot), line.card or "", str(line.card_channel))
    return table


def _number(line: ListLine) -> str:
    number = f"no number, {line.direction}" if line.number is None else f"{line.frame} {line.direction} {line.number}"
    if line.asked is None or (line.frame, line.number) == (line.asked_frame, line.asked):
        return number
    return f"{number} (list: {line.asked_frame} {line.asked})"


def _changes(document: NumberedList) -> Grid:
    table = grid("line", "name", "what is otherwise", right=(0,))
    for change in document.changes:
        table.add_row("" if change.line is None else str(change.line), change.name, _told(change))
    return table


def _told(change: ListChange) -> str:
    here, there = change.here or "none", change.there or "none"
    if change.what == "more":
        return f"one line more{f', which asks for {there}' if change.there else ''}"
    if change.what == "missing":
        return f"is missing; the build has it on {here}" if change.here else "is missing"
    if change.what == "renamed":
        return f'was "{here}"'
    if change.what == "number":
        return f"is on {there}, the build has it {f'on {here}' if change.here else 'without a number'}"
    return f"{change.what} was {here}, is {there}"
