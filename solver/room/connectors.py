"""Connectors of cards, apart from their ports, and pinouts: which pins carry which line."""

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, Strict

from solver.room.words import (
    MOST_CHANNELS,
    MOST_PARTS,
    Direction,
    Flag,
    Id,
    Noun,
    Positive,
    Ranges,
    Text,
    parse_ranges,
)

SHELL = "shell"
"""In place of a pin: the metal of the connector, which any number of lines may have for a shield."""

MOST_PINS = 512


def _pins(text: str) -> list[str]:
    """The pins of an entry of `pins`: numbers and runs of them such as ``1-25``, or else one name such as ``1a``."""
    if re.fullmatch(r"[0-9 ,-]+", text):
        return [str(number) for number in parse_ranges(text, MOST_PINS)]
    return [text]


def _pins_text(value: str) -> str:
    _pins(value)
    return value


PinsText = Annotated[Text, AfterValidator(_pins_text)]


class Wires(Noun):
    """The pins of one line of a pinout, the lines of each direction counted from 1.

    `direction` is left out where the connector is for lines of one direction, whichever that is. `cold` is left out of
    lines that are not balanced. `shield` may be ``shell``.
    """

    line: Positive
    direction: Direction | None = None
    hot: Text
    cold: Text | None = None
    shield: Text

    @property
    def pins(self) -> tuple[str, ...]:
        """The pins that it takes; the shell is none."""
        return tuple(pin for pin in (self.hot, self.cold, self.shield) if pin is not None and pin != SHELL)


class Pinout(Noun):
    """Which pins of a type of connector carry which line. A line is one pair of wires, or one wire and its return.

    `pins` are all there are, runs of numbers or names; those without a line are named as `unused`. An AES3 line has two
    `channels_per_line`. `mates` is the pinout at the other end of a straight cable, pin for pin, where that is another.
    """

    id: Id
    name: Text | None = None
    type: Text
    pins: tuple[PinsText, ...] = Field(min_length=1, max_length=MOST_PARTS)
    channels_per_line: Annotated[int, Strict(), Field(ge=1, le=MOST_CHANNELS)] = 1
    balanced: Flag = True
    lines: tuple[Wires, ...] = Field(min_length=1, max_length=MOST_PARTS)
    unused: tuple[Text, ...] = Field((), max_length=MOST_PINS)
    mates: Id | None = None

    def every_pin(self) -> tuple[str, ...]:
        """All pins, one by one, in the order of the file."""
        return tuple(pin for entry in self.pins for pin in _pins(entry))

    @property
    def both_ways(self) -> bool:
        """Whether it has lines of each direction, and says which."""
        return any(wires.direction is not None for wires in self.lines)

    def wires(self, direction: Direction, channel: int) -> Wires | None:
        """The line of a channel, the channels of that direction counted from 1; None past the last line."""
        line = (channel - 1) // self.channels_per_line + 1
        return next((w for w in self.lines if w.line == line and w.direction in (None, direction)), None)

    def room(self, direction: Direction) -> int:
        """How many channels of a direction it has lines for."""
        return sum(w.direction in (None, direction) for w in self.lines) * self.channels_per_line


class Carried(Noun):
    """Channels of one port that a connector carries: all of them, or those named, counted along the port from 1."""

    port: Positive
    channels: Ranges | None = None


class Connector(Noun):
    """A connector of a card: which channels it carries, in that order, and on which pins. `type` is any word.

    `gender` and `thread` are those of the connector on the card; the plug of its loom has the other gender.
    """

    id: Id
    type: Text
    gender: Literal["male", "female"] | None = None
    thread: Text | None = None
    carries: tuple[Carried, ...] = Field(min_length=1, max_length=MOST_PARTS)
    pinout: Id | None = None
