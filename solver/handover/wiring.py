"""A build as it is handed over: channels, looms, points of bays and paths, each found once, when it is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from solver.fitted.standing import Standing
from solver.handover.bays import Patchbays, Patched, patch
from solver.handover.looms import Loom, Numbered, looms, numbered
from solver.handover.trail import PlaceInFrame, Trail


@dataclass(frozen=True)
class Wiring:
    """What follows from how a build stands in some rooms."""

    rooms: tuple[Standing, ...]

    @cached_property
    def channels(self) -> tuple[Numbered, ...]:
        """Every card channel, with or without a number, by room, frame, direction and place."""
        return tuple(numbered(self.rooms))

    @cached_property
    def looms(self) -> tuple[Loom, ...]:
        """A loom for each connector that has a channel with a number, by room, frame, slot and the file's order."""
        return tuple(looms(self.rooms, self.channels))

    @cached_property
    def bays(self) -> Patchbays:
        """Points of bays, and what is wrong with them."""
        return patch(self.rooms, self.channels)

    @cached_property
    def points(self) -> Mapping[Numbered, Patched]:
        """The channels that have points of a bay."""
        return self.bays.of_channels()

    @cached_property
    def places(self) -> tuple[PlaceInFrame, ...]:
        """The slots of every frame that is used."""
        return tuple(place for room in self.rooms for place in _places(room))

    @cached_property
    def trails(self) -> tuple[Trail, ...]:
        """The path of every card channel, in the order of `channels`."""
        in_slot = {(place.room, place.frame, slot): place for place in self.places for slot in place.slots}
        on_loom = {(loom.room, loom.frame, loom.slot, loom.connector.id): loom for loom in self.looms}
        found = []
        for channel in self.channels:
            place = in_slot[channel.room, channel.frame, channel.slot]
            plug = None if channel.contact is None else channel.contact.connector.id
            loom = None if plug is None else on_loom.get((channel.room, channel.frame, place.slots[0], plug))
            found.append(Trail(channel, place, loom, self.points.get(channel)))
        return tuple(found)


def _places(room: Standing) -> Iterator[PlaceInFrame]:
    """The slots of every frame that is used; those past the last one that a faulty build names are slots too."""
    for frame in sorted(room.frames, key=lambda frame: frame.site.name):
        taken = sorted({slot for seat in frame.seats for slot in seat.covers} | set(frame.site.slots))
        done: set[int] = set()
        for slot in taken:
            seat = frame.occupant(slot)
            if seat is None:
                yield PlaceInFrame(room.survey.room, frame.site.name, (slot,), None)
            elif slot not in done:
                own = tuple(other for other in seat.covers if frame.occupant(other) is seat)
                done.update(own)
                yield PlaceInFrame(room.survey.room, frame.site.name, own, seat.kind.id)
