"""The looms of a build: one for each connector whose channels have numbers, pin by pin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solver.fitted.frame import FrameStanding, Seated
from solver.fitted.moves import Spot, serving
from solver.fitted.standing import Standing
from solver.room.connectors import Connector, Pinout, Wires
from solver.room.contacts import Contact, contacts
from solver.room.links import HostChannel, host_channels
from solver.room.out_of_service import OutOfService, loom_at
from solver.room.pinouts import pinouts
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, Direction, channel_told


@dataclass(frozen=True)
class Carries:
    """A need's channel, counted from 1 in order of frames and numbers."""

    need: Need
    channel: int

    @property
    def spare(self) -> bool:
        """Whether it is one of those to spare."""
        return self.channel > self.need.channels

    @property
    def name(self) -> str | None:
        """What the scenario or its list calls it."""
        return self.need.name_of(self.channel)

    @property
    def text(self) -> str:
        """As lists call it."""
        return channel_told(self.need.name, self.channel, self.name, self.spare)


@dataclass(frozen=True)
class Numbered:
    """A card channel of a build: its number, None where it has none, and what it carries: needs may claim it twice.

    `line` is the first channel of the card's line that it is part of, `settings` what is set for it on the card, `host`
    what its number is at the host.
    """

    room: str | None
    frame: str
    direction: Direction
    number: int | None
    slot: int
    card: str
    card_channel: int
    line: int
    signals: frozenset[str]
    carries: tuple[Carries, ...]
    contact: Contact | None
    settings: tuple[tuple[str, str], ...] = ()
    out: OutOfService | None = None
    """What says that it is out of service."""
    host: HostChannel | None = None


def wire(channel: Numbered) -> tuple[object, ...]:
    """The pair of wires that a channel is on: that of its connector, or of the card's line where it has none."""
    own = channel.room, channel.frame, channel.slot, channel.direction
    if channel.contact is None or channel.contact.wires is None:
        return *own, channel.line
    return *own, channel.contact.connector.id, channel.contact.wires.line


@dataclass(frozen=True)
class Note:
    """What is worth knowing before something is plugged, and the channels that it is about."""

    text: str
    channels: frozenset[Numbered]


@dataclass(frozen=True)
class LoomLine:
    """A line of a loom with the channels that it carries, none where the card has none at these rates."""

    direction: Direction
    wires: Wires
    channels: tuple[Numbered, ...]


@dataclass(frozen=True)
class Loom:
    """What is plugged into one connector of a card; `lines` and `pinout` are empty where it is not known how."""

    room: str | None
    frame: str
    slot: int
    card: str
    connector: Connector
    pinout: Pinout | None
    lines: tuple[LoomLine, ...]
    channels: tuple[Numbered, ...]

    @property
    def name(self) -> str:
        """Frame, the card's first slot and the connector: the same as long as that connector is there."""
        return loom_at(self.frame, self.slot) + self.connector.id


def numbered(rooms: Sequence[Standing]) -> list[Numbered]:
    """Every card channel of a build, with or without a number, by room, frame, direction and place."""
    carried: dict[tuple[object, ...], list[Carries]] = {}
    for (room, need), spots in sorted(serving(rooms).items(), key=lambda entry: entry[0][1].index):
        for channel, spot in enumerate(spots, start=1):
            carried.setdefault(_key(room, need.direction, spot), []).append(Carries(need, channel))
    return [
        found
        for room in rooms
        for frame in sorted(room.frames, key=lambda frame: frame.site.name)
        for found in _of_frame(room, frame, carried)
    ]


def _key(room: str | None, direction: Direction, spot: Spot) -> tuple[object, ...]:
    return room, spot.frame, direction, spot.slot, spot.card_channel


def _of_frame(
    room: Standing, frame: FrameStanding, carried: dict[tuple[object, ...], list[Carries]]
) -> Iterator[Numbered]:
    known = pinouts(room.survey.hardware.pinout)
    seats = {slot: seat for seat in frame.seats for slot in seat.covers if frame.occupant(slot) is seat}
    wired = {seat.kind.id: contacts(seat.kind.card, room.survey.family, known) for seat in frame.seats}
    name, own = frame.site.name, room.survey.room
    entries = room.survey.scenario.out_of_service
    for direction in DIRECTIONS:
        gone = frame.out_of_service(direction)
        host = host_channels(room.survey.host_ports, name, frame.board, room.survey.family, direction)
        for slot, channel, number in frame.channels(direction):
            seat = seats[slot]
            out = gone.get((slot, channel.index))
            yield Numbered(
                room=own,
                frame=name,
                direction=direction,
                number=number,
                slot=slot,
                card=seat.kind.id,
                card_channel=channel.index,
                line=channel.line[0],
                signals=channel.line_type.signals,
                carries=tuple(carried.get((own, name, direction, slot, channel.index), ())),
                contact=wired[seat.kind.id].get((direction, slot - seat.slot, channel.index)),
                settings=tuple(sorted(frame.set_on(slot, direction, channel.index).items())),
                out=None if out is None else entries[out],
                host=host[number - 1] if host and number is not None else None,
            )


def looms(rooms: Sequence[Standing], channels: Sequence[Numbered]) -> list[Loom]:
    """A loom for each connector that has a channel with a number, by room, frame, slot and the file's order.

    Parameters
    ----------
    channels
        Those of `numbered`.
    """
    by_connector: dict[tuple[object, ...], list[Numbered]] = {}
    seats = [
        (room.survey.room, frame, seat)
        for room in rooms
        for frame in sorted(room.frames, key=lambda frame: frame.site.name)
        for seat in sorted(frame.seats, key=lambda seat: seat.slot)
    ]
    first = {
        (room, frame.site.name, slot): seat.slot
        for room, frame, seat in seats
        for slot in seat.covers
        if frame.occupant(slot) is seat
    }
    for channel in channels:
        if channel.contact is not None:
            slot = first[channel.room, channel.frame, channel.slot]
            key = channel.room, channel.frame, slot, channel.contact.connector.id
            by_connector.setdefault(key, []).append(channel)
    found = []
    for room, frame, seat in seats:
        for connector in seat.kind.card.connector:
            own = by_connector.get((room, frame.site.name, seat.slot, connector.id), [])
            if any(channel.number is not None for channel in own):
                found.append(_loom(room, frame, seat, connector, own))
    return found


def _loom(room: str | None, frame: FrameStanding, seat: Seated, connector: Connector, own: Sequence[Numbered]) -> Loom:
    pinout = next((c.contact.pinout for c in own if c.contact is not None), None)
    lines = tuple(_lines(pinout, own)) if pinout is not None else ()
    return Loom(room, frame.site.name, seat.slot, seat.kind.id, connector, pinout, lines, tuple(own))


def _lines(pinout: Pinout, own: Sequence[Numbered]) -> Iterator[LoomLine]:
    """Every line of the pinout, used or not, so that every pin is told."""
    ways = sorted({channel.direction for channel in own}, key=DIRECTIONS.index)
    on_line: dict[tuple[Direction, int], list[Numbered]] = {}
    for channel in own:
        if channel.contact is not None and channel.contact.wires is not None:
            on_line.setdefault((channel.direction, channel.contact.wires.line), []).append(channel)
    for wires in pinout.lines:
        direction = wires.direction or ways[0]
        yield LoomLine(direction, wires, tuple(on_line.get((direction, wires.line), ())))
