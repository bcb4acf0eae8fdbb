"""Tables for spreadsheets as RFC 4180 has them: cells with their places, and such as no spreadsheet runs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from solver.room.faults import Fault, escape

RUNS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes for the begin of a formula."""

SEPARATORS = (",", ";")
"""What may stand between cells: commas, or semicolons where a comma is the decimal sign."""

LINE_END = re.compile(r"\r\n|\n|\r")
_QUOTED = re.compile(r'"(?:[^"]++|"")*+"')
_PLAIN = {separator: re.compile(rf'[^{separator}"\r\n]*+') for separator in SEPARATORS}
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")


def guarded(text: str) -> str:
    """A text that no spreadsheet runs as a formula: one that it would run begins with an apostrophe."""
    return f"'{text}" if text.startswith(RUNS_A_FORMULA) else text


def unguarded(text: str) -> str:
    """A text as it was before it was guarded."""
    return text[1:] if text.startswith("'") and text[1:].startswith(RUNS_A_FORMULA) else text


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell: what it says, how it is written, and where it begins, counted from 1."""

    text: str
    raw: str
    line: int
    column: int

    @property
    def guarded(self) -> str:
        """How it is written so that no spreadsheet runs it."""
        quote = '"' * self.raw.startswith('"')
        inner = self.raw[len(quote) :]
        return quote + guarded(inner)


@dataclass(frozen=True, slots=True)
class Row:
    """The cells of a line, none of an empty one, and how the line ends."""

    cells: tuple[Cell, ...]
    end: str
    line: int


def written(text: str, separator: str) -> str:
    """A cell's text as a file has it, in quotes where it has to be."""
    text = guarded(text)
    plain = _PLAIN[separator].fullmatch(text) and text == text.strip()
    return text if plain else '"' + text.replace('"', '""') + '"'


def read_rows(file: str, text: str, separator: str) -> tuple[list[Row], list[Fault]]:
    """The lines of a table, with whatever in it is no cell; with a fault there, no line can be relied on.

    Parameters
    ----------
    file
        What messages call it.
    text
        What stands in it.
    separator
        What stands between cells.
    """
    reader = _Reader(file, text, separator)
    return reader.rows, reader.faults


class _Reader:
    """Reads a table cell by cell; knows where it is."""

    def __init__(self, file: str, text: str, separator: str) -> None:
        self.file, self.text, self.separator = file, text, separator
        self.at, self.line, self.begun = 0, 1, 0
        self.faults = list(_control_characters(file, text))
        self.rows: list[Row] = []
        while self.at < len(text):
            self.rows.append(self._row())

    def _row(self) -> Row:
        line = self.line
        cells: list[Cell] = []
        while True:
            cells.append(self._cell())
            if not self.text.startswith(self.separator, self.at):
                break
            self.at += 1
        match = LINE_END.match(self.text, self.at)
        end = match[0] if match else ""
        self._pass(end)
        return Row(() if len(cells) == 1 and not cells[0].raw else tuple(cells), end, line)

    def _cell(self) -> Cell:
        begun, line, column = self.at, self.line, self.at - self.begun + 1
        quoted = _QUOTED.match(self.text, begun)
        if quoted:
            self._pass(quoted[0])
            text = quoted[0][1:-1].replace('""', '"')
            self._rest("text after the closing quote of a cell")
        elif self.text.startswith('"', begun):
            self.faults.append(self._fault(begun, "a quote that is not closed"))
            text = ""
            self.at = len(self.text)
        else:
            self._plain()
            text = self.text[begun : self.at]
            self._rest("a quote within a cell; put the whole cell in quotes, and two for one in it")
        return Cell(unguarded(text), self.text[begun : self.at], line, column)

    def _plain(self) -> None:
        match = _PLAIN[self.separator].match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _rest(self, told: str) -> None:
        """Whatever stands before the next separator or the end of the line belongs to no cell."""
        begun = self.at
        while self.at < len(self.text) and self.text[self.at] not in (self.separator, "\r", "\n"):
            self.at += self.text[self.at] == '"'
            self._plain()
        if self.at > begun:
            self.faults.append(self._fault(begun, told))

    def _pass(self, text: str) -> None:
        """Go past a text, which may have line ends in it."""
        start = self.at
        self.at += len(text)
        for match in LINE_END.finditer(text):
            self.line += 1
            self.begun = start + match.end()

    def _fault(self, place: int, told: str) -> Fault:
        return Fault(self.file, (), told, line=self.line, column=place - self.begun + 1)


def _control_characters(file: str, text: str) -> Iterator[Fault]:
    """The first one, which no spreadsheet leaves in a table and a terminal would obey."""
    match = _CONTROL.search(text)
    if match:
        ends = list(LINE_END.finditer(text, 0, match.start()))
        column = match.start() - (ends[-1].end() if ends else 0) + 1
        told = escape(match[0])
        yield Fault(file, (), f"a character that may not stand there: {told}", told, line=len(ends) + 1, column=column)
