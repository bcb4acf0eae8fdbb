"""An input list: a table of channels, a line each, that stands in for needs of a scenario."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from solver.files.cells import SEPARATORS, Cell, Row, read_rows, written
from solver.files.contents import EMPTY, MISSING, read_bytes
from solver.room.ends import FarEnd, ListedEnd
from solver.room.faults import Fault, first_told, near, quote, unknown
from solver.room.scenario import AskedNumbers, ListedNeed
from solver.room.signals import NO_PHANTOM
from solver.room.survey import Need as SurveyNeed
from solver.room.words import DIRECTIONS, MOST_CHANNELS, MOST_ITEMS, MOST_PARTS, Direction, in_runs

COLUMNS = ("number", "frame", "name", "signal", "direction", "group", "from", "to", "phantom", "pair")
"""The columns that are read, by these names in any order; all others are kept as they are."""

SETTING = "setting "
"""How a column is called that says what a setting of cards is to be at: this, then the setting's name."""

Phantom = Literal["wanted", "forbidden", "any"]

PHANTOM: tuple[Phantom, ...] = ("wanted", "forbidden", "any")

REQUIRED = ("name", "signal")

MARK = "\ufeff"
"""The byte order mark that spreadsheets put at the head of a file in UTF-8."""

LONGEST_TEXT, LONGEST_RANGES = 120, 400


@dataclass(frozen=True, slots=True)
class ListedChannel:
    """A line that asks for a channel, and which channel of which need it became, counted from 1.

    `row` is its index in the file's lines; `number` is the one that it asks for in `frame`, if it does; `far`
    what it comes from or goes to, as it is told there.
    """

    row: int
    name: str
    signal: str
    direction: Direction
    group: str | None
    number: int | None
    frame: str | None
    need: str
    channel: int
    far: str | None = None
    phantom: Phantom | None = None
    settings: tuple[tuple[str, str], ...] = ()
    """Settings of cards that it asks for, in order."""
    pair: str | None = None
    """What the line before or after it says too, with which it is a pair."""

    @property
    def wants(self) -> str:
        """What it asks of cards' settings, and whether it is one of a pair, in words; empty for nothing."""
        phantom = [f"phantom {self.phantom}"] if self.phantom else []
        pairs = ["in pairs"] if self.pair else []
        return ", ".join([*phantom, *(f"{name} {choice}" for name, choice in self.settings), *pairs])

    @property
    def far_column(self) -> Literal["from", "to"]:
        """Where it is told what it comes from or goes to."""
        return "from" if self.direction == "in" else "to"


@dataclass(frozen=True)
class InputList:
    """A list as it was read, so that it can be written again with other numbers and nothing else changed.

    `columns` has the place of each column that is read; `marked` says that a byte order mark stands before it;
    `wished` that plans keep to the numbers that lines ask for, which they do in scenarios of one room.
    """

    file: str
    room: str | None
    separator: str
    marked: bool
    rows: tuple[Row, ...]
    columns: Mapping[str, int]
    wished: bool
    channels: tuple[ListedChannel, ...]

    @property
    def head(self) -> int:
        """The index of the line with the names of the columns."""
        return next(n for n, row in enumerate(self.rows) if row.cells)

    @property
    def other_columns(self) -> list[str]:
        """The names of the columns that are kept and not read."""
        own = set(self.columns.values())
        return [cell.text.strip() for n, cell in enumerate(self.rows[self.head].cells) if n not in own and cell.text]

    def needs(self) -> tuple[ListedNeed, ...]:
        """What the lines ask for: a need for each group, signal and direction, with its channels named in order."""
        own: dict[str, list[ListedChannel]] = {}
        for channel in self.channels:
            own.setdefault(channel.need, []).append(channel)
        return tuple(
            ListedNeed(
                name=name,
                direction=lines[0].direction,
                signal=lines[0].signal,
                channels=len(lines),
                channel_names=tuple(line.name for line in lines),
                numbers=_asked(lines) if self.wished else None,
                pairs=self.wished and lines[0].pair is not None,
                phantom=lines[0].phantom,
                settings=dict(lines[0].settings),
                lines=tuple(line.row for line in lines),
            )
            for name, lines in own.items()
        )

    def far_ends(self, described: Iterable[FarEnd]) -> tuple[ListedEnd, ...]:
        """What lines come from or go to: equipment, with the number of its socket where the text ends in one.

        Parameters
        ----------
        described
            Entries of the room that describe equipment which lines name.
        """
        known = {end.equipment: end for end in described if end.need is None}
        found = []
        for line in self.channels:
            if line.far is None:
                continue
            match = None if line.far in known else re.fullmatch(r"(.*\S)\s+0*([1-9][0-9]{0,2})", line.far, re.ASCII)
            equipment, socket = (match[1], match[2]) if match else (line.far, None)
            like = known.get(equipment)
            told = {} if like is None else {key: getattr(like, key) for key in like.model_fields_set}
            own = {"equipment": equipment, "need": line.need, "channels": str(line.channel), "sockets": socket}
            found.append(ListedEnd(**{**told, **own, "cell": line.far}))
        return tuple(found)

    def place(self, channel: ListedChannel, column: str) -> Fault:
        """A fault without words at a line's cell, or at the begin of the line where it has no such column."""
        row = self.rows[channel.row]
        if column not in self.columns:
            return Fault(self.file, (), "", line=row.line)
        cell = row.cells[self.columns[column]]
        return Fault(self.file, (column,), "", line=cell.line, column=cell.column)

    def told_here(self, fault: Fault) -> Fault:
        """A fault of the scenario told at the line that it comes from, where it is one of a need of this list."""
        place = fault.path[2:] if fault.path[:2] == ("room", self.room) else fault.path
        if (self.room is not None and place is fault.path) or place[:1] != ("need",) or len(place) < 2:
            return fault
        own = [channel for channel in self.channels if channel.need == place[1]]
        if not own:
            return fault
        if place[-1] in ("from", "to"):
            here = self.place(next((c for c in reversed(own) if c.far == fault.found), own[0]), str(place[-1]))
        elif "numbers" in place:
            here = self.place(next((c for c in own if str(c.number) == fault.found), own[0]), "number")
        elif (told := SETTING + str(place[-1])) in self.columns and "settings" in place:
            here = self.place(own[0], told)
        elif place[-1] == "pairs":
            here = self.place(own[0], "pair")
        else:
            here = self.place(own[0], str(place[-1]) if place[-1] in self.columns else "group")
        return replace(fault, file=here.file, path=here.path, line=here.line, column=here.column)

    def with_numbers(self, numbers: Mapping[int, tuple[str, int]], several: bool) -> str:
        """The text of the file with other numbers; a cell that a spreadsheet would run begins with an apostrophe.

        Parameters
        ----------
        numbers
            Frame and number by the index of a line; the others have none. A number that a line has already is not
            touched.
        several
            Whether the frame is told, where the list has no column of it.
        """
        told = ("number", "frame") if several else ("number",)
        listed = {channel.row for channel in self.channels}
        lines: list[str] = []
        for n, row in enumerate(self.rows):
            frame, number = numbers.get(n, ("", ""))
            new = dict(zip(told, (str(number), frame), strict=False))
            lines.append(self._line(row, new, head=n == self.head, listed=n in listed))
        return MARK * self.marked + "".join(lines)

    def _line(self, row: Row, new: Mapping[str, str], *, head: bool, listed: bool) -> str:
        """A line with new cells; columns that the list has not are the first."""
        if not row.cells:
            return row.end
        added = [name for name in new if name not in self.columns]
        cells = [name if head else written(new[name], self.separator) for name in added]
        names = {self.columns[name]: name for name in new if name in self.columns}
        for n, cell in enumerate(row.cells):
            same = not listed or n not in names or _says(cell.text, new[names[n]])
            cells.append(cell.guarded if same else written(new[names[n]], self.separator))
        return self.separator.join(cells) + row.end


def _says(cell: str, told: str) -> bool:
    """Whether a cell says the same already, be it with blanks or with zeros before a number."""
    text = cell.strip()
    return text == told or (told.isdecimal() and text.isdecimal() and int(text) == int(told))


def _asked(lines: Sequence[ListedChannel]) -> AskedNumbers | None:
    """The numbers that the channels of a need ask for."""
    told = _numbers_told(lines)
    return AskedNumbers(frame=lines[0].frame, list=told) if told else None


def _numbers_told(lines: Sequence[ListedChannel]) -> str:
    """The same as a file has them, in the order of the channels."""
    numbers = [line.number for line in lines if line.number is not None]
    runs = in_runs(numbers, lambda one, other: other == one + 1)
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)


def numbers_not_planned(listed: InputList) -> Iterator[Fault]:
    """A warning of numbers and pairs that lines ask for where no plan keeps to them."""
    for column in ("number", "pair") if not listed.wished else ():
        asking = next((channel for channel in listed.channels if getattr(channel, column) is not None), None)
        if asking is not None:
            message = f"where there are several rooms, no plan keeps to the {column}s that lines ask for"
            yield replace(listed.place(asking, column), message=message, severity="warning")


def list_of_needs(needs: Sequence[SurveyNeed], room: str | None) -> InputList:
    """A list that no file has: a line for each channel of needs, spare ones too."""
    settings = sorted({name for need in needs for name, _ in need.traits if name != "phantom"})
    phantom = any(_phantom(need) for need in needs)
    pairs = any(_pair(need, 1) for need in needs)
    own = ["phantom"] * phantom + [SETTING + name for name in settings] + ["pair"] * pairs
    columns = ("number", "name", "signal", "direction", "group", *own)
    lines = [",".join(written(column, ",") for column in columns)]
    channels: list[ListedChannel] = []
    for need in needs:
        for channel in range(1, need.demand + 1):
            name = need.name_of(channel) or f"{need.name} {channel}"
            asked = [_phantom(need) or ""] * phantom + [dict(need.traits).get(setting, "") for setting in settings]
            asked += [_pair(need, channel) or ""] * pairs
            cells = ("", name, need.signal, need.direction, need.name, *asked)
            lines.append(",".join(written(cell, ",") for cell in cells))
            row = len(lines) - 1
            channels.append(
                ListedChannel(
                    row,
                    name,
                    need.signal,
                    need.direction,
                    need.name,
                    None,
                    None,
                    need.name,
                    channel,
                    phantom=_phantom(need),
                    settings=tuple(trait for trait in need.traits if trait[0] != "phantom"),
                    pair=_pair(need, channel),
                )
            )
    rows, _ = read_rows("", "".join(f"{line}\r\n" for line in lines), ",")
    places = {name: n for n, name in enumerate(columns)}
    return InputList("", room, ",", False, tuple(rows), places, False, tuple(channels))


def _pair(need: SurveyNeed, channel: int) -> str | None:
    """What a list says of a channel of a need in pairs: which pair it is, but for an odd last one."""
    odd = channel == need.demand and channel % 2
    return None if need.wanted is None or not need.wanted.pairs or odd else f"pair {(channel + 1) // 2}"


def _phantom(need: SurveyNeed) -> Phantom | None:
    """What a list says of a need's phantom power: nothing where its signal says it."""
    asked = dict(need.traits).get("phantom")
    if asked is None or (asked == "off" and need.signal in NO_PHANTOM):
        return None
    return "wanted" if asked == "on" else "forbidden"


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
            if self.list.wished and len(_numbers_told(others)) > LONGEST_RANGES:
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
