"""Patch bays: rows of points in pairs, sources above destinations, and what is normalled."""

from typing import Annotated, Literal, TypeAlias

from pydantic import AfterValidator, Field, Strict

from solver.room.words import MOST_PARTS, Direction, Id, Noun, Positive, Ranges, Text, parse_ranges

Normal: TypeAlias = Literal["full", "half", "open", "parallel"]
"""What joins an upper point to the lower one while nothing is plugged: `half` breaks at the lower jack only."""

Gauge: TypeAlias = Literal["jack-6.35", "b-gauge", "bantam"]

ROWS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
"""Rows from above; A and B are the first pair."""


def point_of(text: str) -> tuple[str, int]:
    """Read a point such as ``B14``: its row and its place there.

    Raises
    ------
    ValueError
        If it is none.
    """
    row, number = text[:1], text[1:]
    if row not in ROWS or not number.isdecimal() or not number.isascii() or not 1 <= len(number) <= 3:
        raise ValueError("must be a row and a point such as B14")
    return row, int(number)


def _point_text(value: str) -> str:
    point_of(value)
    return value


PointText = Annotated[str, Strict(), AfterValidator(_point_text)]


class NormalRun(Noun):
    """Points of a pair of rows, counted from 1, that are normalled otherwise than the rest of the bay."""

    pair: Positive = 1
    points: Ranges
    normal: Normal


class Rear(Noun):
    """Connectors at the back, each of which serves a block of so many points beside each other."""

    connector: Text
    block: Annotated[int, Strict(), Field(ge=1, le=96)]
    gender: Literal["male", "female"] | None = None
    pinout: Id | None = None


class Bay(Noun):
    """A patch bay for some signals. `rows` come in pairs: the upper one has sources, the lower one destinations.

    `keep` are points that are labelled already, each with the need's channel that stays there.
    """

    name: Text
    signals: tuple[Id, ...] = Field(min_length=1, max_length=MOST_PARTS)
    direction: Direction | None = None
    rows: Annotated[int, Strict(), Field(ge=2, le=26)] = 2
    points: Annotated[int, Strict(), Field(ge=1, le=96)]
    gauge: Gauge
    normal: Normal = "open"
    normals: tuple[NormalRun, ...] = Field((), max_length=MOST_PARTS)
    sleeves: Literal["joined", "bussed", "isolated"] | None = None
    rear: Rear | None = None
    phantom: Literal["allowed", "forbidden"] = "forbidden"
    keep: dict[PointText, Text] = {}

    @property
    def pairs(self) -> int:
        """Pairs of rows."""
        return self.rows // 2

    @property
    def block(self) -> int:
        """How many points beside each other a connector at the back serves."""
        return 1 if self.rear is None else self.rear.block

    @property
    def blocks_in_a_row(self) -> int:
        """How many blocks a row has; the last one may be shorter."""
        return -(-self.points // self.block)

    def normal_at(self, pair: int, point: int) -> Normal:
        """How a pair of points is normalled."""
        own = [run.normal for run in self.normals if run.pair == pair and point in parse_ranges(run.points)]
        return own[-1] if own else self.normal

    def block_of(self, text: str) -> tuple[int, int]:
        """Which pair of rows a point is on, and which block there, counted from 0."""
        row, point = point_of(text)
        return ROWS.index(row) // 2, (point - 1) // self.block

    def has(self, text: str) -> bool:
        """Whether there is a point of that name."""
        try:
            row, point = point_of(text)
        except ValueError:
            return False
        return ROWS.index(row) < 2 * self.pairs and 1 <= point <= self.points
