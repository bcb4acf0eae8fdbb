"""A frame as a strip of slots, to scale, as seen from the rear: numbers under each card, the hottest gap marked."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import groupby
from textwrap import wrap
from typing import TYPE_CHECKING

from solver.room.words import write_ranges

if TYPE_CHECKING:
    from solver.reports.report import FrameReport

LABEL = 5
"""Characters of the labels on the left."""

LEAST_CELL, MOST_CELL = 3, 11
"""Characters of a slot, without its border: as few as its numbers need, and more than so many only help names."""

SEEN = {
    "left": "seen from the rear, slot 1 on the left",
    "right": "seen from the rear, slot 1 on the right",
    "top": "seen from the rear, turned: top on the left",
    "bottom": "seen from the rear, turned: bottom on the left",
}
"""Where slot 1 is; flat cards, which lie above each other, are drawn side by side too."""

MOST_IN_A_ROW = 16
"""Slots beyond this go to a second row."""

NAME_LINES = 3
"""A card's name may take so many lines; where one takes more, letters and a key stand for all names."""


@dataclass(frozen=True)
class _Cell:
    """A card or an empty slot in one row: what is written there, and its width without the border to its right."""

    slots: tuple[int, ...]
    card: str | None
    inputs: str
    outputs: str


def strip(frame: FrameReport, room: int) -> list[str]:
    """The lines of a strip.

    Parameters
    ----------
    frame
        The frame; its hottest gap is marked where that is known.
    room
        Characters of a line.

    Returns
    -------
    list
        Plain ASCII lines; none where the room is too little for a few slots.
    """
    cells = _cells(frame)
    count = sum(len(cell.slots) for cell in cells)
    digits = (len(part) for cell in cells for text in (cell.inputs, cell.outputs) for part in re.split(r"\D+", text))
    least = max([LEAST_CELL, *digits])
    most = min(MOST_IN_A_ROW, (room - LABEL - 1) // (least + 1))
    if most < 4 or not count:
        return []
    rows = -(-count // most)
    each = -(-count // rows)
    width = min(MOST_CELL, (room - LABEL - 1) // each - 1)
    letters = _letters(cells, width)
    order = sorted(cells, key=lambda cell: cell.slots, reverse=frame.slot_1 == "right")
    lines = [SEEN[frame.slot_1]]
    places = [(slot, cell) for cell in order for slot in _in_order(cell.slots, frame.slot_1)]
    for start in range(0, count, each):
        part = places[start : start + each]
        row = [
            _Cell(tuple(sorted(slot for slot, _ in own)), cell.card, cell.inputs, cell.outputs)
            for cell, own in ((cell, list(own)) for cell, own in groupby(part, key=lambda place: place[1]))
        ]
        lines += _row(row, width, letters, tuple(frame.cooling.slots))
    if letters:
        key = ", ".join(f"{letter}\0{card}" for card, letter in letters.items())
        blank = " " * LABEL
        wrapped = wrap(key, room, initial_indent=blank, subsequent_indent=blank, break_on_hyphens=False)
        lines += [line.replace("\0", " ") for line in wrapped]
    return lines


def _in_order(slots: tuple[int, ...], slot_1: str) -> list[int]:
    return sorted(slots, reverse=slot_1 == "right")


def _cells(frame: FrameReport) -> list[_Cell]:
    found = []
    for row in frame.slots:
        if row.card is None:
            found += [_Cell((slot,), None, "", "") for slot in row.slots]
        else:
            sides = [text if text != "-" else "" for text in (row.inputs, row.outputs)]
            found.append(_Cell(tuple(row.slots), row.card, sides[0], sides[1]))
    return found


def _room(cell: _Cell, width: int) -> int:
    return len(cell.slots) * (width + 1) - 1


def _letters(cells: list[_Cell], width: int) -> dict[str, str]:
    """A letter for each card, where a name has no room in its cell."""
    cards = list(dict.fromkeys(cell.card for cell in cells if cell.card is not None))
    named = [_name_lines(cell.card, _room(cell, width)) for cell in cells if cell.card is not None]
    if all(lines is not None and len(lines) <= NAME_LINES for lines in named):
        return {}
    return {card: chr(ord("a") + n) if n < 26 else str(n) for n, card in enumerate(cards)}


def _name_lines(name: str, room: int) -> list[str] | None:
    """A name parted at its hyphens; None where a part has no room."""
    lines = [""]
    for part in name.replace("-", "-\0").split("\0"):
        if len(part) > room:
            return None
        if len(lines[-1]) + len(part) <= room:
            lines[-1] += part
        else:
            lines.append(part)
    return lines


def _row(row: list[_Cell], width: int, letters: dict[str, str], hottest: tuple[int, ...]) -> list[str]:
    names = []
    for cell in row:
        room = _room(cell, width)
        if cell.card is None:
            names.append(["empty" if room >= len("empty") else "-"])
        else:
            names.append([letters[cell.card]] if letters else _name_lines(cell.card, room) or [""])
    lines = [_line("slot", [write_ranges(list(cell.slots)) for cell in row], row, width)]
    border = "".join("+" + "-" * _room(cell, width) for cell in row) + "+"
    lines.append(f"{'':{LABEL}}{border}")
    for n in range(max(map(len, names))):
        lines.append(_line("" if n else "card", [own[n] if n < len(own) else "" for own in names], row, width))
    for label, texts in (("in", [cell.inputs for cell in row]), ("out", [cell.outputs for cell in row])):
        lines += _numbers(label, texts, row, width)
    lines.append(f"{'':{LABEL}}{border}")
    mark = _mark(row, width, hottest)
    if mark is not None:
        text = "^ hottest gap"
        at = LABEL + mark
        lines.append(" " * at + text if at + len(text) <= LABEL + len(border) else f"{'hottest gap ^':>{at + 1}}")
    return lines


def _numbers(label: str, texts: list[str], row: list[_Cell], width: int) -> list[str]:
    """The number ranges of one direction, first and last below each other where they have no room side by side."""
    if all(len(text) <= _room(cell, width) for text, cell in zip(texts, row, strict=True)):
        return [_line(label, texts, row, width)]
    ends = [text.replace(",", "-").replace(" ", "").split("-") for text in texts]
    firsts = [own[0] for own in ends]
    lasts = [own[-1] if len(own) > 1 else "" for own in ends]
    return [_line(label, firsts, row, width), _line(" to", lasts, row, width)]


def _line(label: str, texts: list[str], row: list[_Cell], width: int) -> str:
    inside = "".join(f"|{text:^{_room(cell, width)}}" for text, cell in zip(texts, row, strict=True))
    return f"{label:<{LABEL}}{inside}|"


def _mark(row: list[_Cell], width: int, hottest: tuple[int, ...]) -> int | None:
    """The place of the hottest gap: the border between two cards, or the middle of the one beside it."""
    at = 0
    for n, cell in enumerate(row):
        if set(cell.slots) & set(hottest):
            later = row[n + 1] if n + 1 < len(row) else None
            if len(hottest) == 2 and later is not None and set(later.slots) & set(hottest):
                return at + _room(cell, width) + 1
            if len(hottest) == 1:
                return at + 1 + _room(cell, width) // 2
        at += _room(cell, width) + 1
    return None
