"""The screen of `diff`: what changes hands, or one line where nothing does."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, Grid, grid, indented, labelled, page, show_faulty
from solver.reports.difference import CardPlace, ChannelChange, Difference, LoomChange, PointChange, PointPlace
from solver.reports.together import moving_together, was_and_becomes
from solver.reports.wording import kilohertz
from solver.room.words import in_runs, write_ranges


def show_difference(document: Difference) -> None:
    """Print what changes; what is faulty first."""
    with page() as out:
        room = f", {document.room}" if document.room else ""
        title = f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"
        show_faulty(out, title, document.faults, "Do not build this before it is put right.")
        if document.nothing_to_do:
            out.print(Text(f"{title}: {document.summary}"))
        else:
            _changes(out, title, document)
        if document.notes:
            out.print()
            out.print(labelled([("NOTE", note) for note in document.notes]))
        if not document.nothing_to_do:
            out.print()
            out.print(Text(CAUTIONS))


def _changes(out: Console, title: str, document: Difference) -> None:
    out.print(Text(f"What changes: {title}", "bold"))
    out.print(Text(document.summary))
    rows = [("lid off", ", ".join(document.lids_off)), ("lid stays on", ", ".join(document.lids_on))]
    out.print()
    out.print(labelled([row for row in rows if row[1]]))
    tables = (
        ("Boards", _boards(document)),
        ("Straps", _straps(document)),
        ("Cards", _cards(document)),
        ("Settings of cards", _settings(document)),
        ("Channels of needs", _channels(document.channels)),
        ("Looms, by their connectors", _looms(document.looms)),
        ("Points of bays, the cards' ones", _points(document.points)),
    )
    for heading, table in tables:
        if table.rows:
            out.print()
            out.print(Text(heading, "bold"))
            out.print(indented(table))


def _boards(document: Difference) -> Grid:
    table = grid("frame", "was", "becomes")
    for board in document.boards:
        table.add_row(_in_room(board.room, board.frame), board.before or "nothing known", board.after)
    return table


def _straps(document: Difference) -> Grid:
    table = grid("frame", "straps", "strap", "was", "becomes")
    for strap in document.straps:
        was = strap.before or "not known"
        table.add_row(_in_room(strap.room, strap.frame), strap.group, strap.strap or "switch", was, strap.after)
    return table


def _cards(document: Difference) -> Grid:
    table = grid("card", "was", "becomes")
    for card in document.cards:
        table.add_row(card.told, _seat(card.before, "not in"), _seat(card.after, "out"))
    return table


def _settings(document: Difference) -> Grid:
    table = grid("card", "setting", "channels", "was", "becomes")
    for one in document.settings:
        card = _in_room(one.room, f"{one.card}, {one.frame} slot {one.slot}")
        channels = f"{one.direction} {one.channels or 'all'}"
        table.add_row(card, one.setting, channels, one.before or "as it comes", one.after)
    return table


def _seat(seat: CardPlace | None, without: str) -> str:
    return without if seat is None else seat.text


def _in_room(room: str | None, frame: str) -> str:
    return f"{room}, {frame}" if room else frame


def _looms(changes: Sequence[LoomChange]) -> Grid:
    table = grid("need", "channels", "was", "becomes")
    for run in in_runs(changes, _same_loom):
        first = run[0]
        numbers = write_ranges([change.channel for change in run])
        table.add_row(_in_room(first.room, first.need), numbers, first.before, first.after)
    return table


def _same_loom(one: LoomChange, other: LoomChange) -> bool:
    ends = (one.before, one.after) == (other.before, other.after)
    return ends and (one.room, one.need, one.channel + 1) == (other.room, other.need, other.channel)


def _points(changes: Sequence[PointChange]) -> Grid:
    table = grid("need", "channels", "was", "becomes")
    for run in in_runs(changes, _follows):
        first = run[0]
        table.add_row(
            _in_room(first.room, first.need),
            write_ranges([change.channel for change in run]),
            _from_to([change.before for change in run], "on none"),
            _from_to([change.after for change in run], "on none"),
        )
    return table


def _follows(one: PointChange, other: PointChange) -> bool:
    if (one.room, one.need, one.channel + 1) != (other.room, other.need, other.channel):
        return False
    return _next(one.before) == other.before and _next(one.after) == other.after


def _next(point: PointPlace | None) -> PointPlace | None:
    """The point beside it."""
    return None if point is None else point.model_copy(update={"point": f"{point.point[0]}{int(point.point[1:]) + 1}"})


def _from_to(points: Sequence[PointPlace | None], without: str) -> str:
    first, last = points[0], points[-1]
    if first is None or last is None:
        return without
    return first.text if first == last else f"{first.text}-{last.point}"


def _channels(changes: Sequence[ChannelChange]) -> Grid:
    table = grid("need", "channels", "was", "becomes")
    for run in moving_together(changes):
        first = run[0]
        was, becomes = was_and_becomes(run)
        table.add_row(
            _in_room(first.room, first.need),
            write_ranges([change.channel for change in run]),
            was or "not served",
            becomes or "not served",
        )
    return table
