"""Reads an input list: which bytes are which text, which cells which lines, and what is wrong with any of them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from solver.files.cells import SEPARATORS, Cell, Row, read_rows
from solver.files.contents import EMPTY, MISSING, read_bytes
from solver.files.inputlist import COLUMNS, MARK, SETTING, InputList, ListedChannel, Phantom, numbers_told
from solver.room.faults import Fault, first_told, near, quote, unknown
from solver.room.words import DIRECTIONS, MOST_CHANNELS, MOST_ITEMS, MOST_PARTS, Direction

PHANTOM: tuple[Phantom, ...] = ("wanted", "forbidden", "any")

REQUIRED = ("name", "signal")

LONGEST_TEXT, LONGEST_RANGES = 120, 400


def read_list(
    file: str, path: Path, room: str | None, frames: Sequence[str], taken: Sequence[str], *, wished: bool = True
) -> tuple[InputList | None, list[Fault]]:
    """Read a list; without a fault in it, it is whole.

    Parameters
    ----------
    file
        What messages call it.
    room
        The room that it is for, None where there is one.
    frames
        The frames of that room by name.
    taken
        What the room's other needs are called.
    wished
        Whether plans keep to the numbers that lines ask for.
    """
    data = read_bytes(file, path)
    if isinstance(data, Fault):
        if data.message == MISSING:
            data = replace(data, nearest=_neighbour(path, file))
        return None, [data]
    return parse_list(file, data, room, frames, taken, wished=wished)


def parse_list(
    file: str,
    data: bytes,
    room: str | None,
    frames: Sequence[str],
    taken: Sequence[str] = (),
    *,
    wished: bool = True,
) -> tuple[InputList | None, list[Fault]]:
    """Read the bytes of a list, as `read_list`."""
    text, told = _decoded(file, data)
    if text is None:
        return None, told
    marked = text.startswith(MARK) or bool(told)  # what was no UTF-8 is told to be when it is written
    text = text.removeprefix(MARK)
    separator = _separator(text)
    rows, faults = read_rows(file, text, separator)
    head = next((row for row in rows if row.cells), None)
    if head is None:
        return None, first_told([*told, *faults]) or [Fault(file, (), EMPTY)]
    columns, found = _columns(file, head)
    if not columns:
        faults = [fault for fault in faults if fault.line == head.line]  # another file, which has no cells further down
    told += faults or found
    if any(fault.severity == "fault" for fault in told):
        return None, first_told(told)
    reader = _Lines(InputList(file, room, separator, marked, tuple(rows), columns, wished, ()), frames)
    told += [*reader.faults, *_sized(file, rows, len(head.cells))]
    if not any(fault.severity == "fault" for fault in told):
        told += reader.named(taken)
    told = first_told(sorted(told, key=lambda fault: (fault.line or 0, fault.column or 0)))
    whole = not any(fault.severity == "fault" for fault in told)
    return (replace(reader.list, channels=tuple(reader.channels)) if whole else None), told


def _decoded(file: str, data: bytes) -> tuple[str | None, list[Fault]]:
    """The text of a list in UTF-8, or else in Windows-1252, which is warned of."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff") or b"\0" in data:
        return None, [Fault(file, (), "is UTF-16 or no text at all; save it as CSV in UTF-8")]
    try:
        return data.decode("utf-8"), []
    except UnicodeDecodeError as error:
        at = error.start
    line = len(re.findall(rb"\r\n|\n|\r", data[:at])) + 1
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as error:
        line = len(re.findall(rb"\r\n|\n|\r", data[: error.start])) + 1
        found = f"byte 0x{data[error.start]:02x}"
        return None, [Fault(file, (), "is neither UTF-8 nor Windows-1252 text; save it in UTF-8", found, line=line)]
    begun = max(data.rfind(mark, 0, at) for mark in (b"\r", b"\n", b",", b";")) + 1
    word = re.split(r'[\r\n,;"]', text[begun:].lstrip('"'))[0].strip()
    message = f"is no UTF-8 and was read as Windows-1252; is this right: {quote(word)}? If not, save it in UTF-8"
    return text, [Fault(file, (), message, word, line=line, severity="warning")]


def _separator(text: str) -> str:
    """What stands between the cells: whatever gives the first line more of the columns that are read."""
    head = text.lstrip("\r\n").splitlines()[:1] or [""]
    known = {each: sum(_folded(cell) in COLUMNS for cell in head[0].split(each)) for each in SEPARATORS}
    return max(SEPARATORS, key=lambda each: (known[each], head[0].count(each)))


def _folded(name: str) -> str:
    return name.strip().strip('"').strip().lower()


def _columns(file: str, head: Row) -> tuple[dict[str, int], list[Fault]]:
    """Where the columns are that are read."""
    if set(map(_folded, head.cells[0].text.split("\t"))) & {*COLUMNS} and "\t" in head.cells[0].text:
        return {}, [Fault(file, (), "cells are parted by tabs; save it with commas or semicolons", line=head.line)]
    columns: dict[str, int] = {}
    faults: list[Fault] = []
    others: list[str] = []
    for n, cell in enumerate(head.cells):
        name = _folded(cell.text)
        if name in columns:
            here = f"column {quote(name)} stands there twice"
            faults.append(Fault(file, (), here, name, line=cell.line, column=cell.column))
        elif name in COLUMNS:
            columns[name] = n
        elif name.startswith(SETTING):
            columns[SETTING + cell.text.strip()[len(SETTING) :].strip()] = n
        elif name:
            others.append(name)
    if len(head.cells) > MOST_PARTS:
        faults.append(Fault(file, (), f"has {len(head.cells)} columns; must be at most {MOST_PARTS}", line=head.line))
    for name in COLUMNS:
        if name in columns:
            continue
        meant = near(name, others, 1) if len(name) > 2 else []
        if name in REQUIRED:
            message = f"there is no column {quote(name)}"
            faults.append(Fault(file, (), message, None, tuple(others), next(iter(meant), None), line=head.line))
        elif meant:
            message = f"column {quote(meant[0])} is kept and not read"
            faults.append(Fault(file, (), message, meant[0], (), name, line=head.line, severity="warning"))
    return columns, faults


def _sized(file: str, rows: Sequence[Row], width: int) -> Iterator[Fault]:
    """Lines with more or fewer cells than there are columns, and more lines than a file may have."""
    filled = [row for row in rows if row.cells]
    for row in filled:
        if len(row.cells) != width:
            message = f"has {_counted(len(row.cells), 'cell')}, and there are {_counted(width, 'column')}"
            yield Fault(file, (), message, str(len(row.cells)), line=row.line)
    if len(filled) > MOST_ITEMS + 1:
        message = f"has {len(filled) - 1} lines; must be at most {MOST_ITEMS}"
        yield Fault(file, (), message, str(len(filled) - 1))


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


class _Lines:
    """Reads the lines of a list, one by one and against each other."""

    def __init__(self, read: InputList, frames: Sequence[str]) -> None:
        self.list, self.frames = read, frames
        self.channels: list[ListedChannel] = []
        self.faults: list[Fault] = []
        width = len(read.rows[read.head].cells)
        for n, row in enumerate(read.rows[: read.head + 1 + 2 * MOST_ITEMS]):
            if n > read.head and len(row.cells) == width:
                self._line(n, row)
        self._one_number_each()
        self._one_name_each()
        self._numbers_of_frames()

    def _line(self, index: int, row: Row) -> None:
        cells = {name: row.cells[n] for name, n in self.list.columns.items()}
        said = {name: cells[name].text.strip() if name in cells else "" for name in COLUMNS}
        if not said["name"] and not said["signal"]:
            return  # a number that is free, a heading, an empty line
        before = len(self.faults)
        for name in REQUIRED:
            if not said[name]:
                self._fault(cells[name], name, "is missing")
        for name in ("name", "group", "frame", "from", "to", "pair"):
            if name in cells:
                self._text(cells[name], name, said[name], LONGEST_TEXT)
        signal = said["signal"].lower()
        if signal and not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,63}", signal):
            self._fault(cells["signal"], "signal", "must be letters, digits and hyphens, found ", said["signal"])
        direction = said["direction"].lower() or "in"
        if direction not in DIRECTIONS:
            self._unknown(cells["direction"], "direction", said["direction"], DIRECTIONS, "is not allowed")
        phantom = said["phantom"].lower()
        if phantom and phantom not in PHANTOM:
            self._unknown(cells["phantom"], "phantom", said["phantom"], PHANTOM, "is not allowed")
        settings = sorted((c[len(SETTING) :], own.text.strip()) for c, own in cells.items() if c.startswith(SETTING))
        for name, choice in settings:
            if choice:
                self._text(cells[SETTING + name], SETTING + name, choice, LONGEST_TEXT)
        far = self._far(cells, said, direction)
        number = self._number(cells["number"], said["number"]) if said["number"] else None
        frame = self._frame(cells, said["frame"]) if said["number"] or said["frame"] else None
        if len(self.faults) == before:
            self.channels.append(
                ListedChannel(
                    index,
                    said["name"],
                    signal,
                    "out" if direction == "out" else "in",
                    said["group"] or None,
                    number,
                    frame,
                    "",
                    0,
                    far,
                    next((own for own in PHANTOM if own == phantom), None),
                    tuple((name, choice) for name, choice in settings if choice),
                    said["pair"] or None,
                )
            )

    def _far(self, cells: Mapping[str, Cell], said: Mapping[str, str], direction: str) -> str | None:
        """What a line comes from or goes to: an input comes from something, an output goes there."""
        own, other, way = ("to", "from", "output") if direction == "out" else ("from", "to", "input")
        if said[other]:
            self._fault(cells[other], other, f"is for {'in' if way == 'output' else 'out'}puts, and this is an {way}")
        return said[own] or None

    def _fault(self, cell: Cell, column: str, message: str, found: str | None = None) -> None:
        told = message if found is None else message + quote(found)
        self.faults.append(Fault(self.list.file, (column,), told, found, line=cell.line, column=cell.column))

    def _unknown(self, cell: Cell, column: str, found: str, allowed: Sequence[str], what: str) -> None:
        fault = unknown(self.list.file, (column,), found, allowed, what)
        self.faults.append(replace(fault, line=cell.line, column=cell.column, bare=True))

    def _text(self, cell: Cell, column: str, text: str, most: int) -> None:
        if not text.isprintable():
            message = "must be visible characters without line breaks or control characters, found "
            self._fault(cell, column, message, text)
        elif len(text) > most:
            self._fault(cell, column, f"must be at most {most} characters, found ", text)

    def _number(self, cell: Cell, text: str) -> int | None:
        match = re.fullmatch(r"0{0,9}([1-9][0-9]{0,3})", text, re.ASCII)
        if match and int(match[1]) <= MOST_CHANNELS:
            return int(match[1])
        self._fault(cell, "number", f"must be a whole number from 1 to {MOST_CHANNELS}, found ", text)
        return None

    def _frame(self, cells: Mapping[str, Cell], text: str) -> str | None:
        """The frame that a number is one of: the only one where none is told."""
        if text and text not in self.frames and self.frames:
            self._unknown(cells["frame"], "frame", text, self.frames, "is no frame of this room")
        elif not text and len(self.frames) > 1:
            message = "numbers are those of one frame; say which one in a column of that name: "
            self._fault(cells.get("frame", cells["number"]), "frame", message + ", ".join(map(quote, self.frames)))
        return text or next(iter(self.frames), None)

    def _one_number_each(self) -> None:
        """No number twice."""
        seen: dict[tuple[Direction, str | None, int], ListedChannel] = {}
        for channel in self.channels:
            if channel.number is None:
                continue
            first = seen.setdefault((channel.direction, channel.frame, channel.number), channel)
            if first is not channel:
                line = self.list.rows[first.row].line
                cell = self.list.rows[channel.row].cells[self.list.columns["number"]]
                of = f" of frame {quote(channel.frame)}" if channel.frame and len(self.frames) > 1 else ""
                way = "input" if channel.direction == "in" else "output"
                message = f"{way} {channel.number}{of} is that of {quote(first.name)} in line {line} already"
                self._fault(cell, "number", message)

    def _one_name_each(self) -> None:
        """A warning of two channels of a direction with one name, which is often a line too many."""
        seen: dict[tuple[Direction, str], ListedChannel] = {}
        for channel in self.channels:
            first = seen.setdefault((channel.direction, channel.name), channel)
            if first is not channel:
                line = self.list.rows[first.row].line
                here = self.list.place(channel, "name")
                message = f"{quote(channel.name)} stands in line {line} already; each line is a channel of its own"
                self.faults.append(replace(here, message=message, found=channel.name, severity="warning"))

    def _numbers_of_frames(self) -> None:
        """A warning of the first frame without a number, which asks for nothing where there are several."""
        bare = (channel for channel in self.channels if channel.frame and channel.number is None)
        first = next(bare, None) if len(self.frames) > 1 else None
        if first is not None:
            message = f"{quote(first.frame or '')} asks for nothing: it is the frame of a number, and none is given"
            here = self.list.place(first, "frame")
            self.faults.append(replace(here, message=message, found=first.frame, severity="warning"))

    def named(self, taken: Sequence[str]) -> Iterator[Fault]:
        """Which channel of which need each line is; names that are taken or too long."""
        called = self._needs()
        own: dict[str, list[ListedChannel]] = {}
        for n, (channel, need) in enumerate(zip(self.channels, called, strict=True)):
            others = own.setdefault(need, [])
            here = self.list.place(channel, "group")
            if not others and need in taken:
                yield replace(here, message=f"{quote(need)} is what another need of the scenario is called", found=need)
            if others and self._kind(others[0]) != self._kind(channel):
                yield replace(here, message=f"{quote(need)} is what another group of the list is called", found=need)
            if len(need) > LONGEST_TEXT:
                yield replace(here, message=f"{quote(need)} is longer than {LONGEST_TEXT} characters", found=need)
            others.append(channel)
            self.channels[n] = replace(channel, need=need, channel=len(others))
        for others in own.values():
            if self.list.wished and len(numbers_told(others)) > LONGEST_RANGES:
                message = f"{len(others)} lines of one group ask for too many numbers that do not follow each other"
                yield replace(self.list.place(others[0], "number"), message=message, found=str(len(others)))
            yield from self._paired(others)
        if not self.channels:
            yield Fault(self.list.file, (), "has no line that asks for a channel", severity="warning")

    def _paired(self, lines: Sequence[ListedChannel]) -> Iterator[Fault]:
        """A line of a need in pairs that is not one of two, one after the other, which say the same."""
        if lines[0].pair is None:
            return
        for first, second in zip(lines[::2], [*lines[1::2], None], strict=False):
            if second is None or first.pair != second.pair:
                message = f"{quote(first.pair or '')} is a pair of two lines of one group, one after the other"
                yield replace(self.list.place(first, "pair"), message=message, found=first.pair)
                return

    def _kind(self, channel: ListedChannel) -> tuple[object, ...]:
        """What the lines of one need have in common."""
        asks = self.list.wished and channel.number is not None
        frame = channel.frame if asks else None
        return _group(channel), channel.signal, channel.direction, channel.wants, frame, asks

    def _needs(self) -> list[str]:
        """What the need of each line is called: its group, and more where the group makes several needs."""
        services: dict[str, set[tuple[object, ...]]] = {}
        wants: dict[tuple[object, ...], set[object]] = {}
        wishes: dict[tuple[object, ...], set[tuple[object, ...]]] = {}
        for channel in self.channels:
            group, *service = self._kind(channel)[:3]
            services.setdefault(str(group), set()).add(tuple(service))
            wants.setdefault((group, *service), set()).add(channel.wants)
            wishes.setdefault((group, *service, channel.wants), set()).add(self._kind(channel)[4:])
        names: list[str] = []
        for channel in self.channels:
            kind = self._kind(channel)
            name = _group(channel)
            if len(services[name]) > 1:
                name += f", {channel.signal} {channel.direction}"
            if channel.wants and len(wants[kind[:3]]) > 1:
                name += f", {channel.wants}"
            own = wishes[kind[:4]]
            if kind[-1] and len(own) > 1:
                several = sum(bool(asks) for _, asks in own) > 1
                name += f", numbered in {channel.frame}" if several else ", numbered"
            names.append(name)
        return names


def _group(channel: ListedChannel) -> str:
    """The group of a line; without one it is that of its signal and direction."""
    return channel.group or f"{channel.signal} {channel.direction}"


def _neighbour(path: Path, file: str) -> str | None:
    """The likest name of a list beside one that is missing."""
    try:
        names = [each.name for each in path.parent.iterdir() if each.suffix.lower() == ".csv"]
    except OSError:
        return None
    meant = near(path.name, names, 1)
    return str(Path(file).with_name(meant[0])) if meant else None
