"""Where each card channel is on the card's connectors."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from solver.room.connectors import Connector, Pinout, Wires
from solver.room.hardware import Card
from solver.room.words import DIRECTIONS, Direction, Family, parse_ranges

CardChannel: TypeAlias = tuple[Direction, int, int]
"""Direction, which of the card's slots carries it, counted from 0, and its place there, counted from 1."""


@dataclass(frozen=True)
class Contact:
    """A channel on a connector: its line there with the pins; `pinout` and `wires` are None where none is known."""

    connector: Connector
    channel: int
    pinout: Pinout | None
    wires: Wires | None

    def place(self, direction: Direction, channels: int) -> int | None:
        """Where its line, of so many channels, is on the connector, counted from 0.

        None where the connector has no other line of the direction, or its lines are not known.
        """
        if self.pinout is None or self.wires is None or self.pinout.room(direction) == channels:
            return None
        return self.wires.line - 1


def contacts(card: Card, family: Family, pinouts: Mapping[str, Pinout]) -> dict[CardChannel, Contact]:
    """Every channel that a connector of a card carries, at one family of rates.

    Channels that a connector has room for and the card has not at these rates leave their pins free: the others keep
    theirs.
    """
    places = dict(_places(card, family))
    found: dict[CardChannel, Contact] = {}
    for connector in card.connector:
        pinout = None if connector.pinout is None else pinouts[connector.pinout]
        counted: dict[Direction, int] = {"in": 0, "out": 0}
        for entry in connector.carries:
            port = card.ports[entry.port - 1]
            most = max(port.channels.values(), default=0)
            for channel in range(1, most + 1) if entry.channels is None else parse_ranges(entry.channels):
                counted[port.direction] += 1
                at = counted[port.direction]
                place = places.get((entry.port, channel))
                if place is not None:
                    wires = None if pinout is None else pinout.wires(port.direction, at)
                    found[place] = Contact(connector, at, pinout, wires)
    return found


def _places(card: Card, family: Family) -> Iterator[tuple[tuple[int, int], CardChannel]]:
    """By port and channel, both counted from 1, where a channel is along its slot: ports come in order."""
    for direction in DIRECTIONS:
        for part in range(card.span):
            index = 0
            for number, port in enumerate(card.ports, 1):
                if (port.direction, port.on_slot) == (direction, part + 1):
                    for channel in range(1, port.channels.get(family, 0) + 1):
                        index += 1
                        yield (number, channel), (direction, part, index)
