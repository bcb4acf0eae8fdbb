"""What lines come from and go to: equipment with its levels, tie lines, and cables with permanent numbers."""

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, Strict

from solver.room.words import MOST_PARTS, Flag, Id, Noun, Quantity, Ranges, Text, parse_ranges

DBV_IN_DBU = 2218
"""0 dBV in thousandths of a dBu: 1 V over the square root of 0.6 V, 1 mW into 600 ohms (handbooks, from memory)."""

Gender = Literal["male", "female"]

Feeds = Literal["loudspeaker", "headphones", "transmission"]
"""What is heard beyond equipment, where a test tone would hurt (common practice, no source)."""


def parse_level(text: str) -> int:
    """Read ``"+4 dBu"`` or ``"-10 dBV"`` as thousandths of a dBu.

    Raises
    ------
    ValueError
        If it is none.
    """
    match = re.fullmatch(r"\s*([+-]?)([0-9]{1,2})(?:\.([0-9]{1,2}))?\s*(dBu|dBV)\s*", text)
    if not match:
        raise ValueError('must be a level such as "+4 dBu" or "-10 dBV"')
    thousandths = int(match[2]) * 1000 + int((match[3] or "").ljust(3, "0"))
    return (-thousandths if match[1] == "-" else thousandths) + (DBV_IN_DBU if match[4] == "dBV" else 0)


def decibels(thousandths: int) -> str:
    """To a tenth, such as -17.8."""
    tenths = (abs(thousandths) + 50) // 100
    return f"{'-' if thousandths < 0 and tenths else ''}{tenths / 10:g}"


def is_level(text: str) -> bool:
    """Whether a text is a level."""
    try:
        parse_level(text)
    except ValueError:
        return False
    return True


def _level(value: str) -> str:
    parse_level(value)
    return value


Level = Annotated[str, Strict(), AfterValidator(_level)]


class Plug(Noun):
    """What is at one end of something: a type of connector, and which gender it has there."""

    connector: Text | None = None
    gender: Gender | None = None


class TieEnd(Plug):
    """One end of a tie line: where it is, and the numbers that stand there, line by line."""

    at: Text
    numbers: Ranges

    def labels(self) -> tuple[int, ...]:
        """The numbers, line by line."""
        return parse_ranges(self.numbers)


class TieLine(Noun):
    """Lines that stay: each has a permanent number at both ends, of which `near` is towards the frames."""

    name: Text
    far: TieEnd
    near: TieEnd


class AtBlock(Noun):
    """The block at the back of a bay that a cable is fixed to, by any of its points."""

    bay: Text
    point: Text


class Cable(Noun):
    """A cable with one number at both its ends, which stays with it. `at` says that its other end is fixed to a bay.

    `crossed` ones exchange the directions of what they join; straight ones join like pins.
    """

    number: Text
    card_end: Plug = Field(default_factory=Plug)
    other_end: Plug = Field(default_factory=Plug)
    at: AtBlock | None = None
    wiring: Literal["straight", "crossed"] | None = None
    length_m: Quantity | None = None


class Via(Noun):
    """Lines of a tie line, by their numbers at its far end, channel by channel."""

    tie_line: Text
    numbers: Ranges


class FarEnd(Plug):
    """Equipment, and channels of a need that come from it or go to it.

    Without a `need` it describes equipment that lines of an input list name. `sockets` are its own numbers, channel by
    channel. `cold` says what becomes of the second leg of a line that is not balanced; `turned_at` at which end the
    legs are exchanged where the equipment is `inverted`. `via` is in order from the equipment on. What `feeds` people
    gets no tone, or one at the level of `tone` at most.
    """

    equipment: Text
    need: Text | None = None
    channels: Ranges | None = None
    sockets: Ranges | None = None
    pinout: Id | None = None
    place: Text | None = None
    nominal: Level | None = None
    maximum: Level | None = None
    balanced: Flag = True
    cold: Literal["joined", "open"] | None = None
    inverted: Flag = False
    turned_at: Literal["far end", "card end"] | None = None
    feeds: Feeds | None = None
    tone: Level | None = None
    cable: Text | None = None
    via: tuple[Via, ...] = Field((), max_length=MOST_PARTS)

    def channels_of(self, demand: int) -> tuple[int, ...]:
        """The need's channels that are here; all that it asks for where none are named."""
        return tuple(range(1, demand + 1)) if self.channels is None else parse_ranges(self.channels)

    def socket(self, at: int) -> int | None:
        """The number of the socket of the channel at a place among them, counted from 0."""
        return None if self.sockets is None else parse_ranges(self.sockets)[at]

    def called(self, socket: int | None) -> str:
        """The equipment with the number of one of its sockets."""
        return self.equipment if socket is None else f"{self.equipment} {socket}"


class ListedEnd(FarEnd):
    """What a line of an input list comes from or goes to; `cell` is how it is told there."""

    cell: Text


def misfit(plug: Plug, other: Plug) -> str | None:
    """Why a plug does not go into something, by type and gender, where both are known; it ends before *of* what."""
    if plug.connector and other.connector and plug.connector != other.connector:
        return f"a plug {plug.connector} does not fit the {other.connector}"
    if plug.gender and plug.gender == other.gender:
        return f"a {plug.gender} plug does not go into the {other.gender} connector"
    return None
