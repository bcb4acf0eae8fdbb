"""The screens of `failed` and `single-points`: what is lost, and each way to mend it as a sheet to patch by."""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from cli.screen.page import CAUTIONS, Grid, grid, indented, labelled, page, show_faulty
from solver.reports.failed import Failed, PatchMove, Repair, SinglePoints
from solver.reports.wording import kilohertz
from solver.room.words import write_ranges

HEADS = {
    "patching": "Lids on, by patching",
    "shelf": "Lid off, from the shelf",
    "borrow": "Lids on, by patching, from what is less important",
    "room": "Lids on, by patching, from other rooms",
    "hire": "Lid off, with a hire",
    "order": "Lid off, with an order",
}

BEFORE_PATCHING = (
    "Before anything is patched: mute monitors and headphones, tell whoever is in the room, and switch phantom off on "
    "what is unplugged; where it is wanted, on at the new numbers once they are plugged."
)

WHAT_STAYS = (
    "Patching leaves cards set as they are otherwise. A card that takes another's place is set like it before it is "
    "seated; the dead one gets a tag with slot, symptom and date."
)


def show_failed(document: Failed) -> None:
    """Print what is lost and what mends it."""
    with page() as out:
        title = _title(document)
        show_faulty(out, title, document.faults, "What stands is not as this sheet takes it to be.")
        out.print(Text(f"{', '.join(document.failed)} failed: {title}", "bold"))
        for told in document.frames:
            out.print(Text(told[0].upper() + told[1:], "bold"))
        for card in document.cards:
            out.print(indented(Text(card)))
        if document.without_clock:
            rows = [("without a clock", ", ".join(document.without_clock))]
            rows += [("could lead instead", f"{name}; amplifiers off meanwhile") for name in document.could_lead[:1]]
            out.print(indented(labelled(rows)))
        if document.in_doubt:
            _in_doubt(out, document.in_doubt)
        elif not document.affected:
            out.print(Text(_nothing_lost(document)))
        if document.affected:
            count = len(document.affected)
            out.print(Text(f"{count} channel{'s are' if count > 1 else ' is'} on it"))
            out.print(indented(_channels(document.affected)))
        if document.repairs:
            out.print()
            out.print(Text(BEFORE_PATCHING))
        for repair in document.repairs:
            _repair(out, document, repair)
        if len(document.repairs) == 1 and not document.without_clock:
            out.print()
            out.print(Text("No card is exchanged for this: ask with slot:A:5 or A:in:37 where a card has failed."))
        if document.notes:
            out.print()
            out.print(labelled([("NOTE", note) for note in document.notes]))
        if document.repairs:
            out.print()
            out.print(Text(WHAT_STAYS))
            out.print()
            out.print(Text(CAUTIONS))


def _nothing_lost(document: Failed) -> str:
    """What is left to do though no channel is lost."""
    if document.without_clock:
        return "No channel that is needed is lost; see that what is without a clock gets one before it is used."
    if document.frames:
        return "No channel that is needed is lost; what has failed is to be seen to as said above."
    return "Nothing that is needed is on it: there is nothing to mend."


def _title(document: Failed | SinglePoints) -> str:
    room = "" if document.room is None else f", room {document.room}"
    return f"{document.scenario}{room}, {kilohertz(document.sample_rate)}"


def _in_doubt(out: Console, channels: Sequence[PatchMove]) -> None:
    """Inputs that may have lost what their sources need."""
    out.print(
        labelled(
            [
                (
                    "NOT CHECKED",
                    f"{len(channels)} input{'s lose' if len(channels) > 1 else ' loses'} phantom power, and no file "
                    "tells which sources need it: see to each; phantom of a need says it",
                )
            ]
        )
    )
    out.print(indented(_channels(channels)))


def show_single_points(document: SinglePoints) -> None:
    """Print what each failure takes, the worst first."""
    with page() as out:
        title = _title(document)
        show_faulty(out, title, document.faults, "What stands is not as this list takes it to be.")
        out.print(Text(f"{title}: what one failure takes, once all is patched that can be", "bold"))
        if not document.complete:
            out.print(Text("Not all were looked at: the limit was over first."))
        table = grid("fails", "card", "channels", "lost", "of", right=(2, 3))
        for point in document.points:
            needs = ", ".join(f"{need} {count}" for need, count in point.needs.items())
            if point.without_clock:
                needs = "; ".join([*([needs] if needs else []), f"no clock: {', '.join(point.without_clock)}"])
            mark = "" if point.proven else "?"
            table.add_row(
                point.what,
                point.card or point.told or _whole(point.what),
                str(point.channels),
                f"{point.lost}{mark}",
                needs,
            )
        out.print(table)
        worst = document.points[0] if document.points else None
        if worst is not None and worst.lost:
            out.print()
            room = "" if document.room is None else f" --room {shlex.quote(document.room)}"
            out.print(
                Text(f"strapwork failed SCENARIO BUILD {shlex.quote(worst.what)}{room} says what mends the first.")
            )
        if document.notes:
            out.print()
            out.print(labelled([("NOTE", note) for note in document.notes]))


def _repair(out: Console, document: Failed, repair: Repair) -> None:
    out.print()
    mark = "" if repair.proven or repair.outcome == "unknown" else " (not proven to be the least)"
    out.print(Text(f"{HEADS[repair.how]}: {repair.text}{mark}", "bold"))
    shelf = ", ".join(f"{count} x {card}" for card, count in repair.from_shelf.items())
    rows = [("shelf", shelf)] if shelf and repair.order_lines else []
    verb, day = ("hire", " a day") if repair.how == "hire" else ("order", "")
    orders = [
        f"{one.count} x {one.item} at {one.price}{day} = {one.total} {document.currency}{day}"
        for one in repair.order_lines
    ]
    rows += [(verb if not n else "", order) for n, order in enumerate(orders)]
    rows += [("NOTE", note) for note in repair.notes]
    if rows:
        out.print(indented(labelled(rows)))
    if repair.moved:
        out.print(indented(_channels(repair.moved, to=True)))


def _channels(channels: Sequence[PatchMove], *, to: bool = False) -> Grid:
    """Channels that follow each other on numbers that follow each other share a row."""
    corded = to and any(each.cord for each in channels)
    points = not to and any(each.was_point for each in channels)
    hosts = any(each.was_host or each.now_host for each in channels)
    table = grid(
        "channels",
        "from" if to else "on",
        *(["to"] if to else []),
        *(["host"] if hosts else []),
        *(["cord from", "cord to"] if corded else ["bay"] if points else []),
    )
    for run in _runs(channels):
        first, last = run[0], run[-1]
        row = [_called(run), _span(first.was, last.was)]
        if to:
            row.append("lost" if first.now is None or last.now is None else _span(first.now, last.now))
        if hosts:
            ends = [(first.was_host, last.was_host), *([(first.now_host, last.now_host)] if to and first.now else [])]
            row.append(" to ".join(_host(*end) for end in ends))
        if points:
            row.append(_span(first.was_point, last.was_point))
        if corded:
            cords = zip(first.cord or (None, None), last.cord or (None, None), strict=True)
            row += [_span(one, other) for one, other in cords]
        table.add_row(*row)
    return table


def _called(run: Sequence[PatchMove]) -> str:
    numbers = write_ranges([each.channel for each in run])
    names = ", ".join(each.name for each in run if each.name)
    spare = " (to spare)" if run[0].spare else ""
    return f"{run[0].need} {numbers}{spare}{f': {names}' if names else ''}"


def _whole(what: str) -> str:
    """What fails, where it is no card."""
    return {"supply": "one supply", "board": "main board", "fan": "one fan"}.get(what.partition(":")[0], "all of it")


def _span(first: str | None, last: str | None) -> str:
    """From one name to another that differs in its last number."""
    if first is None or last is None:
        return "-"
    return first if first == last else f"{first}-{last.rpartition(':')[2]}"


def _host(first: int | None, last: int | None) -> str:
    return "-" if first is None or last is None else write_ranges(list(range(first, last + 1)))


def _runs(channels: Sequence[PatchMove]) -> list[list[PatchMove]]:
    runs: list[list[PatchMove]] = []
    for each in channels:
        if runs and _follows(runs[-1][-1], each):
            runs[-1].append(each)
        else:
            runs.append([each])
    return runs


def _follows(one: PatchMove, other: PatchMove) -> bool:
    same = (one.need, one.direction, one.spare) == (other.need, other.direction, other.spare)
    return (
        same
        and one.channel + 1 == other.channel
        and _next(one.was, other.was)
        and _next(one.now, other.now)
        and _one_on(one.was_host, other.was_host)
        and _one_on(one.now_host, other.now_host)
        and _next(one.was_point, other.was_point)
        and _next(one.far_point, other.far_point)
        and _next(one.now_point, other.now_point)
    )


def _one_on(one: int | None, other: int | None) -> bool:
    """Whether a number at the host is the next one, or both are missing."""
    return other == (None if one is None else one + 1)


def _next(one: str | None, other: str | None) -> bool:
    """Whether a name is that of the next number or point, or both are missing."""
    if one is None or other is None:
        return one is other
    number, following = (re.search(r"[0-9]+$", name) for name in (one, other))
    if number is None or following is None:
        return False
    return one[: number.start()] == other[: following.start()] and int(number[0]) + 1 == int(following[0])
