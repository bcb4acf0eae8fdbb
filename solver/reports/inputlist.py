"""The document of `list`: an input list with the numbers of a build, and what another list has otherwise."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Literal

from solver.files.inputlist import InputList, ListedChannel
from solver.handover.looms import Numbered
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.room.words import Direction


class ListLine(Element):
    """A line of the list: what it asks for, and the number that the build gives it; null: none.

    `line` counts the lines of the file. `asked` is the number that the list had, `asked_frame` its frame; `host` is
    what the number is at the host.
    """

    line: int
    name: str
    direction: Direction
    signal: str
    group: str | None
    wants: str
    far: str | None
    need: str
    channel: int
    frame: str | None
    number: int | None
    host: int | None = None
    slot: int | None
    card: str | None
    card_channel: int | None
    asked_frame: str | None
    asked: int | None


class ListChange(Element):
    """What a line of another list has otherwise than the build and this list; `line` null: it has no such line."""

    what: Literal["number", "signal", "group", "setting", "from", "to", "renamed", "more", "missing"]
    name: str
    direction: Direction
    line: int | None
    here: str | None
    there: str | None


class NumberedList(Element):
    """An input list with the numbers that a build gives its lines, or a list made of the scenario's needs.

    `csv` is the list as a file: the one that was read with other numbers and nothing else changed. `changes` are what
    the list of `compared` has otherwise.
    """

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    file: str | None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    faults: list[BrokenLimit] = []
    other_columns: list[str] = []
    lines: list[ListLine]
    csv: str
    compared: str | None = None
    compared_lines: int = 0
    compared_without_number: int = 0
    changes: list[ListChange] = []
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """The list as a file, ready to be sent back; a cell that a spreadsheet would run begins with an apostrophe."""
        return self.csv


def list_lines(listed: InputList, carried: Mapping[tuple[str, int], Numbered]) -> list[ListLine]:
    """The lines of a list that ask for a channel.

    Parameters
    ----------
    carried
        The card channels with a number, by the need and the channel that they carry.
    """
    lines = []
    for channel in listed.channels:
        row = carried.get((channel.need, channel.channel))
        lines.append(
            ListLine(
                line=listed.rows[channel.row].line,
                name=channel.name,
                direction=channel.direction,
                signal=channel.signal,
                group=channel.group,
                wants=channel.wants,
                far=channel.far,
                need=channel.need,
                channel=channel.channel,
                frame=None if row is None else row.frame,
                number=None if row is None else row.number,
                host=None if row is None or row.host is None else row.host.number,
                slot=None if row is None else row.slot,
                card=None if row is None else row.card,
                card_channel=None if row is None else row.card_channel,
                asked_frame=channel.frame,
                asked=channel.number,
            )
        )
    return lines


def list_changes(lines: Sequence[ListLine], other: InputList, columns: Collection[str]) -> list[ListChange]:
    """What another list has otherwise, in the order of its lines; what it lacks comes last.

    Lines are the same by direction and name; one that only its name sets apart is renamed if its number is the build's.

    Parameters
    ----------
    columns
        Those that this list has: what a line comes from or goes to is compared where both lists say it.
    """
    both = {*columns} & {*other.columns}
    waiting: dict[tuple[Direction, str], list[ListLine]] = {}
    for own_line in lines:
        waiting.setdefault((own_line.direction, own_line.name), []).append(own_line)
    pairs: list[tuple[ListedChannel, ListLine | None]] = []
    for channel in other.channels:
        own = waiting.get((channel.direction, channel.name))
        pairs.append((channel, own.pop(0) if own else None))
    left = [each for rest in waiting.values() for each in rest]
    changes: list[ListChange] = []
    for channel, line in pairs:
        at = other.rows[channel.row].line
        was = line
        if line is None and channel.number is not None:
            was = next((each for each in left if _at(each) == _asks(channel)), None)
        if was is None:
            changes.append(_change("more", channel, at, None, _asks(channel)))
            continue
        if line is None:
            left.remove(was)
            changes.append(_change("renamed", channel, at, was.name, channel.name))
        changes += _otherwise(was, channel, at)
        column = channel.far_column
        if column in both and channel.far != was.far:
            changes.append(_change(column, channel, at, was.far, channel.far))
    changes += [
        ListChange(what="missing", name=line.name, direction=line.direction, line=None, here=_at(line), there=None)
        for line in sorted(left, key=lambda each: each.line)
    ]
    return changes


def _otherwise(line: ListLine, channel: ListedChannel, at: int) -> Iterator[ListChange]:
    """What the same line has otherwise; a line that gives no number says nothing of it."""
    if channel.number is not None and _asks(channel) != _at(line):
        yield _change("number", channel, at, _at(line), _asks(channel))
    if channel.signal != line.signal:
        yield _change("signal", channel, at, line.signal, channel.signal)
    if (channel.group or "") != (line.group or ""):
        yield _change("group", channel, at, line.group, channel.group)
    if channel.wants != line.wants:
        yield _change("setting", channel, at, line.wants or None, channel.wants or None)


def _change(
    what: Literal["number", "signal", "group", "setting", "from", "to", "renamed", "more"],
    channel: ListedChannel,
    at: int,
    here: str | None,
    there: str | None,
) -> ListChange:
    return ListChange(what=what, name=channel.name, direction=channel.direction, line=at, here=here, there=there)


def _at(line: ListLine) -> str | None:
    return None if line.number is None else f"{line.frame} {line.direction} {line.number}"


def _asks(channel: ListedChannel) -> str | None:
    return None if channel.number is None else f"{channel.frame} {channel.direction} {channel.number}"
