"""Strips of labels to print to scale and to cut along their lines, in millimetres."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from cli.page.rear import Box, Words, lines, size_of
from solver.reports.pack import Pack

ACROSS = 180.0
"""What A4 and Letter both have room for."""

HIGH = 9.0
"""Height of a label."""

ABOVE = 3.0
"""What its place is written in, above it."""

MOST = 3.4


@dataclass(frozen=True)
class Piece:
    """As much of a strip as is beside each other on the paper."""

    width: float
    boxes: list[Box]
    words: list[Words]

    @property
    def height(self) -> float:
        """Labels and what stands above them."""
        return ABOVE + HIGH


@dataclass(frozen=True)
class Strip:
    """What bears the labels, and their pieces in order."""

    name: str
    pieces: list[Piece]


def strips(pack: Pack, wide: float) -> list[Strip]:
    """Every strip: rows of bays with a label for each point, used or not, slots of frames, both ends of looms.

    Parameters
    ----------
    wide
        Width of a label in millimetres.
    """
    return [Strip(name, list(_pieces(labels, wide))) for name, labels in _strips(pack)]


def _strips(pack: Pack) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Each strip with place and text of its labels."""
    for bay in pack.bays:
        where = f"{bay.room}, bay" if bay.room else "Bay"
        for pair in bay.pairs:
            upper = [(f"{pair.upper_row}{place.point}", place.upper or "") for place in pair.places]
            yield f"{where} {bay.name}, row {pair.upper_row}", upper
            lower = [(f"{pair.lower_row}{place.point}", place.lower or "") for place in pair.places]
            yield f"{where} {bay.name}, row {pair.lower_row}", lower
    others = [label for label in pack.labels.labels if label.on != "bay"]
    for (room, strip), own in groupby(others, key=lambda label: (label.room, label.strip)):
        name = f"{room}, {strip}" if room else strip[0].upper() + strip[1:]
        yield name, [(label.at, label.text) for label in own]


def _pieces(labels: Sequence[tuple[str, str]], wide: float) -> Iterator[Piece]:
    each = int(ACROSS // wide)
    for first in range(0, len(labels), each):
        own = labels[first : first + each]
        boxes, words = [], []
        for n, (at, text) in enumerate(own):
            middle = wide * (n + 0.5)
            boxes.append(Box(wide * n, ABOVE, wide, HIGH, "cut"))
            words.append(Words(middle, ABOVE / 2, min(size_of(at, wide - 1), 2.0), at, "at"))
            told = lines(text, wide - 1.4, " ", MOST)
            size = min(*(size_of(line, wide - 1.4) for line in told), MOST, HIGH / len(told) / 1.25)
            for row, line in enumerate(told):
                y = ABOVE + HIGH / 2 + (row - (len(told) - 1) / 2) * size * 1.2
                words.append(Words(middle, y, size, line, "label"))
        yield Piece(wide * len(own), boxes, words)
