"""A frame from the rear as boxes and texts, in millimetres of a drawing: cards, connectors, numbers, the hottest gap.

The drawing goes by slots and is not to scale. Where nothing is known of a card's connectors it has none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from math import ceil

from rich.cells import cell_len

from solver.reports.looms import LoomSheet
from solver.reports.report import FrameReport, Slot
from solver.room.words import write_ranges

WIDTH = 180.0
"""Of the whole drawing: what A4 and Letter leave between usual margins."""

EAR = 8.0
"""What the rack screws go through, on either side."""

HEAD = 6.0
"""The strip that bears the numbers of the slots."""

MOST_IN_A_ROW = 24
"""Upright slots beyond this are drawn in a row below."""

LETTER = 0.6
"""Width of a letter of the drawing's type, which is one for all letters, in its height."""

LEAST, MOST = 1.9, 3.4
"""Height of letters."""


@dataclass(frozen=True)
class Words:
    """A text around a point: `size` is the height of its letters; turned ones read upwards."""

    x: float
    y: float
    size: float
    text: str
    sort: str = ""
    turned: bool = False


@dataclass(frozen=True)
class Plug:
    """A connector: its shape fills the box; `shape` says which."""

    x: float
    y: float
    width: float
    height: float
    shape: str


@dataclass
class Box:
    """A card or an empty slot; `sort` is ``card``, ``empty``, ``in`` or ``out``."""

    x: float
    y: float
    width: float
    height: float
    sort: str


@dataclass(frozen=True)
class Mark:
    """Where the hottest gap is, with its text: an arrow at its lower end, or at its left end where cards lie flat."""

    x: float
    y: float
    flat: bool
    text: Words


@dataclass
class Rear:
    """The whole drawing, below each other where the slots are too many for one row."""

    height: float = 0.0
    panels: list[Box] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    plugs: list[Plug] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)


@dataclass(frozen=True)
class _Cell:
    """What takes some slots that are drawn beside each other."""

    slots: tuple[int, ...]
    slot: Slot | None
    looms: tuple[LoomSheet, ...]

    @property
    def sides(self) -> list[tuple[str, str]]:
        """Each direction that has numbers, with these."""
        if self.slot is None:
            return []
        told = (("in", self.slot.inputs), ("out", self.slot.outputs))
        return [(way, numbers) for way, numbers in told if numbers not in ("", "-")]

    @property
    def plugs(self) -> list[tuple[str, str]]:
        """Type and name of each connector that has a loom; else the types that the card is said to have."""
        if self.looms:
            return [(loom.connector_type, loom.connector) for loom in self.looms]
        return [] if self.slot is None else [(kind, kind) for kind in self.slot.connectors]


def rear(frame: FrameReport, looms: Sequence[LoomSheet]) -> Rear:
    """Draw a frame as it is seen from the rear, slot 1 on its own side."""
    cells = _cells(frame, looms)
    drawn = Rear()
    if frame.slot_1 in ("top", "bottom"):
        _flat(drawn, cells if frame.slot_1 == "top" else cells[::-1], frame)
    else:
        _upright(drawn, cells if frame.slot_1 == "left" else cells[::-1], frame)
    return drawn


def _cells(frame: FrameReport, looms: Sequence[LoomSheet]) -> list[_Cell]:
    own = [loom for loom in looms if (loom.room, loom.frame) == (frame.room, frame.name)]
    cells = []
    for slot in frame.slots:
        if slot.card is None:
            cells += [_Cell((number,), None, ()) for number in slot.slots]
        else:
            cells.append(_Cell(tuple(slot.slots), slot, tuple(loom for loom in own if loom.slot in slot.slots)))
    return cells


def _upright(drawn: Rear, cells: Sequence[_Cell], frame: FrameReport) -> None:
    count = sum(len(cell.slots) for cell in cells)
    rows = _rows(cells, ceil(count / ceil(count / MOST_IN_A_ROW)))
    most = max(sum(len(cell.slots) for cell in row) for row in rows)
    pitch = min((WIDTH - 2 * EAR) / most, 30.0)
    look = _look(cells, pitch)
    tall = HEAD + min(max(frame.height_u * 16.5, 54.0), 76.0)
    for row in rows:
        top, x = drawn.height, EAR
        long = pitch * sum(len(cell.slots) for cell in row)
        drawn.panels.append(Box(0.3, top + 0.3, long + 2 * EAR - 0.6, tall - 0.6, "panel"))
        for cell in row:
            width = pitch * len(cell.slots)
            drawn.words.append(
                _fitted(x + width / 2, top + HEAD / 2 + 0.6, width, write_ranges(list(cell.slots)), "slot")
            )
            box = Box(x + 0.5, top + HEAD, width - 1, tall - HEAD - 2, "empty" if cell.slot is None else "card")
            _upright_card(drawn, box, cell, look)
            x += width
        _mark(drawn, row, frame, pitch, top + tall)
        drawn.height = top + tall + 5
        if row is not rows[-1]:
            text = f"continued below: slots after {row[-1].slots[-1]}"
            drawn.words.append(Words(WIDTH - 1, top + tall + 2.2, 2.6, text, "end"))


def _rows(cells: Sequence[_Cell], each: int) -> list[list[_Cell]]:
    rows: list[list[_Cell]] = [[]]
    for cell in cells:
        if rows[-1] and sum(len(other.slots) for other in rows[-1]) + len(cell.slots) > each:
            rows.append([])
        rows[-1].append(cell)
    return rows


def _mark(drawn: Rear, row: Sequence[_Cell], frame: FrameReport, pitch: float, y: float) -> None:
    """Where the hottest gap is in a row, if it is there."""
    at = _gap(row, frame, pitch)
    if at is None or drawn.marks:
        return
    x = EAR + at
    left = x < WIDTH / 2
    text = Words(x + 2.6 if left else x - 2.6, y + 2.2, 2.6, _hottest(frame), "start" if left else "end")
    drawn.marks.append(Mark(x, y, False, text))


def _gap(cells: Sequence[_Cell], frame: FrameReport, pitch: float) -> float | None:
    """How far along the cells the hottest gap is: after the first of its cards, or at the middle of the only one."""
    hottest, at = set(frame.cooling.slots), 0.0
    for cell in cells:
        long = pitch * len(cell.slots)
        if hottest & set(cell.slots):
            return at + (long / 2 if hottest <= set(cell.slots) else long)
        at += long
    return None


def _hottest(frame: FrameReport) -> str:
    margin = frame.cooling.margin_k
    return "hottest gap" if margin is None else f"hottest gap, about {int(margin // 1)} K to spare"


@dataclass(frozen=True)
class _Look:
    """What all cards of a frame have alike: names that read upwards, ends of runs below each other."""

    turned: bool
    split: bool


def _look(cells: Sequence[_Cell], pitch: float) -> _Look:
    rooms = [(cell, pitch * len(cell.slots) - 2.6) for cell in cells]
    named = [(cell.slot.card, room) for cell, room in rooms if cell.slot is not None and cell.slot.card is not None]
    parts = [(part, room - 1) for cell, room in rooms for _, numbers in cell.sides for part in numbers.split(", ")]
    return _Look(
        any(_lines(name, room) is None for name, room in named),
        any(size_of(part, room) < LEAST for part, room in parts),
    )


def _upright_card(drawn: Rear, box: Box, cell: _Cell, look: _Look) -> None:
    drawn.boxes.append(box)
    middle, inner = box.x + box.width / 2, box.width - 1.6
    if cell.slot is None or cell.slot.card is None:
        size = size_of("empty", box.height, MOST)
        drawn.words.append(Words(middle, box.y + box.height / 2, size, "empty", "none", True))
        return
    y = _name(drawn, box, cell.slot.card, look)
    bottom = box.y + box.height - 1
    for way, numbers in reversed(cell.sides):
        parts = numbers.split(", ")
        parts = _split(parts) if look.split else parts
        size = min(size_of(part, inner - 1) for part in parts)
        high = 3.6 + 3.6 * len(parts)
        bottom -= high
        drawn.boxes.append(Box(box.x + 0.8, bottom, inner, high, way))
        drawn.words.append(Words(middle, bottom + 2.0, 2.2, way.upper(), way))
        for n, part in enumerate(parts):
            drawn.words.append(Words(middle, bottom + 5.0 + 3.6 * n, size, part, way))
        bottom -= 0.8
    _plugs(drawn, Box(box.x + 0.8, y + 0.5, inner, bottom - y - 0.5, ""), cell.plugs, upright=True)


def _name(drawn: Rear, box: Box, name: str, look: _Look) -> float:
    """Write the name of a card at its upper end; where it ends."""
    middle, inner, y = box.x + box.width / 2, box.width - 1.6, box.y + 2.2
    told = None if look.turned else _lines(name, inner)
    if told is None:
        size = size_of(name, box.height / 2, min(MOST, inner))
        long = cell_len(name) * LETTER * size
        drawn.words.append(Words(middle, y + long / 2, size, name, "name", True))
        return y + long + 1.5
    size = min(size_of(line, inner) for line in told)
    for line in told:
        drawn.words.append(Words(middle, y + size * 0.7, size, line, "name"))
        y += size * 1.2
    return y


def _split(parts: Sequence[str]) -> list[str]:
    """The ends of each run below each other."""
    return [end + ("-" if n == 0 and "-" in part else "") for part in parts for n, end in enumerate(part.split("-"))]


def _flat(drawn: Rear, cells: Sequence[_Cell], frame: FrameReport) -> None:
    pitch = 9.5
    count = sum(len(cell.slots) for cell in cells)
    drawn.panels.append(Box(0.3, 0.3, WIDTH - 0.6, pitch * count + 3.4, "panel"))
    y, wide = 2.0, WIDTH - 2 * EAR - HEAD
    for cell in cells:
        high = pitch * len(cell.slots)
        drawn.words.append(_fitted(EAR + HEAD / 2, y + high / 2, HEAD, write_ranges(list(cell.slots)), "slot"))
        box = Box(EAR + HEAD, y + 0.4, wide, high - 0.8, "empty" if cell.slot is None else "card")
        drawn.boxes.append(box)
        middle = box.y + box.height / 2
        if cell.slot is None or cell.slot.card is None:
            drawn.words.append(Words(box.x + box.width / 2, middle, 2.6, "empty", "none"))
        else:
            drawn.words.append(_fitted(box.x + 16, middle, 30, cell.slot.card, "name"))
            right = box.x + box.width - 0.8
            for way, numbers in reversed(cell.sides):
                right -= 27
                drawn.boxes.append(Box(right, box.y + 0.8, 26, box.height - 1.6, way))
                drawn.words.append(_fitted(right + 13, middle, 25, f"{way.upper()} {numbers}", way))
            room = Box(box.x + 32, box.y + 0.4, right - box.x - 34, box.height - 0.8, "")
            _plugs(drawn, room, cell.plugs, upright=False)
        y += high
    drawn.height = y + 3
    at = _gap(cells, frame, pitch)
    if at is not None:
        text = Words(EAR + HEAD, drawn.height + 2.2, 2.6, _hottest(frame), "start")
        drawn.marks.append(Mark(EAR + 0.5, 2.0 + at, True, text))
        drawn.height += 4


SHAPES = ("xlr", "jack", "bantam", "b-gauge", "bnc", "rj45")


def shape_of(kind: str) -> str:
    """The shape that a type of connector is drawn as, by how its name begins; ``other`` is a plain box."""
    if kind.startswith(("db", "da-", "de-")) or "sub" in kind:
        return "dsub"
    found = next((shape for shape in SHAPES if kind.startswith(shape)), "other")
    return "jack" if found in ("bantam", "b-gauge") else found


def _plugs(drawn: Rear, room: Box, plugs: Sequence[tuple[str, str]], *, upright: bool) -> None:
    """Connectors in a grid, as large as there is room for, each with its name where that can be read."""
    if not plugs or room.height < 3:
        return
    dsub = all(shape_of(kind) == "dsub" for kind, _ in plugs)
    aspect = (2.6 if upright else 1 / 2.6) if dsub else 1.0
    label = 2.6
    best = max(range(1, len(plugs) + 1), key=lambda columns: _grid_size(room, len(plugs), columns, aspect, label))
    size = min(_grid_size(room, len(plugs), best, aspect, label), 6.2)
    if size < 1.2:
        return
    rows = ceil(len(plugs) / best)
    cell = room.width / best
    high = min(room.height / rows, size * aspect + label + 1.5)
    top = room.y + (room.height - high * rows) / 2
    for n, (kind, name) in enumerate(plugs):
        x, y = room.x + cell * (n % best + 0.5), top + high * (n // best)
        drawn.plugs.append(Plug(x - size / 2, y + 0.3, size, size * aspect, shape_of(kind)))
        text = _fitted(x, y + size * aspect + 1.9, cell, name, "plug")
        if text.size >= 1.5:
            drawn.words.append(text)


def _grid_size(room: Box, count: int, columns: int, aspect: float, label: float) -> float:
    """The width of a connector where so many are in a row."""
    return min(room.width / columns - 0.6, (room.height / ceil(count / columns) - label - 0.6) / aspect)


def _fitted(x: float, y: float, width: float, text: str, sort: str) -> Words:
    return Words(x, y, min(size_of(text, width - 0.8), 2.6 if sort == "plug" else MOST), text, sort)


def size_of(text: str, width: float, most: float = MOST) -> float:
    """How high letters can be that a text of them is so wide."""
    return min(most, MOST, width / (LETTER * max(cell_len(text), 1)))


def _lines(name: str, width: float) -> list[str] | None:
    """A name on up to three lines, parted at its hyphens; None where it has no room so."""
    best = lines(name, width, "-", 2.6)
    return best if all(size_of(line, width) >= LEAST for line in best) else None


def lines(text: str, width: float, sign: str, most: float) -> list[str]:
    """A text on up to three lines, as few as let it be written largest, parted after a sign.

    Parameters
    ----------
    most
        Height of letters from which on larger ones are no gain.
    """
    parts = text.replace(sign, f"{sign}\0").split("\0")
    cuts = [cut for count in range(min(3, len(parts))) for cut in combinations(range(1, len(parts)), count)]
    ways = [["".join(parts[a:b]).strip() for a, b in pairwise((0, *cut, len(parts)))] for cut in cuts]
    return max(
        ways,
        key=lambda way: (min(size_of(line, width, most) for line in way), -len(way), -max(map(cell_len, way))),
    )
