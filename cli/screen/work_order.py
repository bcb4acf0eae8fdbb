"""The screen of a work order: what to do, boxes to tick, what to retype, the test sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.text import Text

from cli.screen.page import Grid, grid, indented, labelled, page, show_faulty
from solver.reports.wording import kilohertz
from solver.reports.work_order import Check, OrderStep, Retyped, TestRow, TestSheet, WorkOrder
from solver.room.words import channel_told, in_runs, write_ranges

BOX = "[ ]"

SILENT = "heard, and so off until their lines are belled out:"

HEADS: dict[Check, str] = {
    "identity": "is it",
    "level": "level",
    "polarity": "pol",
    "noise": "noise",
    "phantom": "48 V",
    "mono": "mono",
}
"""Headings of the boxes, short enough for a line of 80 columns."""


def show_work_order(order: WorkOrder) -> None:
    """Print a work order; one line where there is nothing to do."""
    with page() as out:
        room = f", {order.room}" if order.room else ""
        title = f"{order.scenario}{room}, {kilohertz(order.sample_rate)}"
        show_faulty(out, title, order.faults, "Do not build this before it is put right.")
        if order.nothing_to_do:
            out.print(Text(f"{title}: {order.summary}"))
            return
        out.print(Text(f"Work order: {title}", "bold"))
        out.print(Text(f"From {order.start}: {order.summary}"))
        out.print(_minutes(order))
        for caution in order.cautions:
            out.print(Text(caution))
        for section in order.sections:
            out.print()
            out.print(Text(section.title, "bold"))
            table = grid("", "", "do", "min", right=(1, 3))
            for step in section.steps:
                table.add_row(BOX, str(step.number), step.text, _span(step))
            out.print(indented(table))
        if order.retype:
            out.print()
            out.print(Text("To retype in the recorder", "bold"))
            out.print(indented(_retype_table(order.retype)))
            out.print(indented(Text("Look also at routing, inserts, monitor mixes, templates and strips.")))
        if order.test_sheet is not None:
            _test_sheet(out, order.test_sheet)
        out.print()
        out.print(labelled([("NOTE", note) for note in order.notes]))


def _minutes(order: WorkOrder) -> Text:
    return Text(
        f"{order.minutes_least} to {order.minutes_most} minutes with the test. Turn back where it is not done "
        f"{order.turn_back_minutes} minutes before the session. {order.way_back}"
    )


def _span(step: OrderStep) -> str:
    if step.minutes_least == step.minutes_most:
        return str(step.minutes_most or "")
    return f"{step.minutes_least}-{step.minutes_most}"


def _retype_table(rows: Sequence[Retyped]) -> Grid:
    at_host = any(row.old_host or row.new_host for row in rows)
    host = ["old host", "new host"] if at_host else []
    table = grid("", "need", "channel", "old number", "new number", *host)
    for run in in_runs(rows, _follows):
        first = run[0]
        table.add_row(
            BOX,
            f"{first.room}, {first.need}" if first.room else first.need,
            first.name or write_ranges([row.channel for row in run]),
            f"{first.old_frame} {first.direction} {write_ranges([row.old_number for row in run])}",
            f"{first.new_frame} {first.direction} {write_ranges([row.new_number for row in run])}",
            *([_hosts([row.old_host for row in run]), _hosts([row.new_host for row in run])] if at_host else []),
        )
    return table


def _hosts(numbers: Sequence[int | None]) -> str:
    """Numbers at the host, "-" where there are none."""
    return write_ranges([number for number in numbers if number is not None])


def _follows(one: Retyped, other: Retyped) -> bool:
    if one.name or other.name:
        return False
    alike = (one.room, one.need, one.direction, one.old_frame, one.new_frame)
    if alike != (other.room, other.need, other.direction, other.old_frame, other.new_frame):
        return False
    steps = (
        other.channel - one.channel,
        other.old_number - one.old_number,
        other.new_number - one.new_number,
    )
    hosts = [(one.old_host, other.old_host), (one.new_host, other.new_host)]
    return steps == (1, 1, 1) and all(b == (None if a is None else a + 1) for a, b in hosts)


def _test_sheet(out: Console, sheet: TestSheet) -> None:
    out.print()
    what = "every check" if sheet.time == "all" else f"{sheet.time} minutes"
    count = len(sheet.rows)
    out.print(Text(f"Test sheet, {what}: {count} numbers, about {sheet.minutes} minutes", "bold"))
    if sheet.left_out:
        out.print(Text(f"NOT TESTED in that time: {sheet.left_out} more number{'s' if sheet.left_out > 1 else ''}"))
        if sheet.blocks_left_out:
            out.print(indented(Text(f"none of {'; '.join(sheet.blocks_left_out)}")))
        if sheet.heard_left_out:
            out.print(indented(Text(f"{SILENT} {'; '.join(sheet.heard_left_out)}")))
    out.print(Text(sheet.order))
    for note in sheet.notes:
        out.print(Text(note))
    out.print()
    out.print(Text("Clock first", "bold"))
    looked_at = [*(line.text for line in sheet.clock_lines), *(lock.text for lock in sheet.clock)]
    out.print(indented(labelled([(BOX, text) for text in looked_at])))
    ways = list(dict.fromkeys(_way(row) for row in sheet.rows))
    if ways:
        out.print()
        out.print(Text("How", "bold"))
        out.print(indented(labelled([(_letter(n), text) for n, text in enumerate(map("; ".join, ways))])))
        out.print()
        out.print(indented(_rows(sheet.rows, ways)))


def _way(row: TestRow) -> tuple[str, ...]:
    kind = f"{row.signal} {row.direction}: send {row.send}"
    return kind, f"see it on {row.see}", f"expect {row.expect}"


def _letter(number: int) -> str:
    return chr(ord("a") + number) if number < 26 else f"a{number}"


def _rows(rows: Sequence[TestRow], ways: Sequence[tuple[str, ...]]) -> Grid:
    checks = [check for check in HEADS if any(check in row.checks for row in rows)]
    far = any(row.far_end for row in rows)
    more = ["far end"] if far else []
    at_host = any(row.host for row in rows)
    table = grid(
        "number", *(["host"] if at_host else []), "carries", "slot", "how", *more, *(HEADS[check] for check in checks)
    )
    for row in rows:
        table.add_row(
            _number(row),
            *([_hosts([row.host])] if at_host else []),
            channel_told(row.need, row.channel, row.name, row.spare),
            f"{row.slot}: {row.card_channel}",
            _letter(ways.index(_way(row))),
            *([row.far_end or "-"] if far else []),
            *_boxes(row, checks),
        )
    return table


def _number(row: TestRow) -> str:
    room = f"{row.room}, " if row.room else ""
    return f"{room}{row.frame} {row.direction} {row.number}"


def _boxes(row: TestRow, checks: Sequence[Check]) -> Iterator[str]:
    for check in checks:
        yield " ".join(filter(None, (BOX, row.beside(check)))) if check in row.checks else ""
