"""An input list: a table of channels, a line each, that stands in for needs of a scenario."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from solver.files.cells import Row, read_rows, written
from solver.room.ends import FarEnd, ListedEnd
from solver.room.faults import Fault
from solver.room.scenario import AskedNumbers, ListedNeed
from solver.room.signals import NO_PHANTOM
from solver.room.survey import Need as SurveyNeed
from solver.room.words import Direction, in_runs

COLUMNS = ("number", "frame", "name", "signal", "direction", "group", "from", "to", "phantom", "pair")
"""The columns that are read, by these names in any order; all others are kept as they are."""

SETTING = "setting "
"""How a column is called that says what a setting of cards is to be at: this, then the setting's name."""

Phantom = Literal["wanted", "forbidden", "any"]

MARK = "\ufeff"
"""The byte order mark that spreadsheets put at the head of a file in UTF-8."""


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
    told = numbers_told(lines)
    return AskedNumbers(frame=lines[0].frame, list=told) if told else None


def numbers_told(lines: Sequence[ListedChannel]) -> str:
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
