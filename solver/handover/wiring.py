"""A build as it is handed over: channels, looms, points of bays and paths, each found once, when it is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from solver.fitted.card_moves import Seat, serials
from solver.fitted.standing import Standing
from solver.handover.bays import Patchbays, Patched, patch
from solver.handover.conductors import Joined, doubled, misjoined, unfit
from solver.handover.ends import FarPath, far_paths, room_of
from solver.handover.levels import odd_levels
from solver.handover.looms import Loom, Note, Numbered, looms, numbered
from solver.handover.trail import PlaceInFrame, Trail
from solver.judge.clocks import Tree, drawn_tree
from solver.room.ends import Cable, is_level
from solver.room.hardware import LEVEL
from solver.room.pinouts import pinouts
from solver.room.words import Direction


@dataclass(frozen=True)
class Wiring:
    """What follows from how a build stands in some rooms."""

    rooms: tuple[Standing, ...]

    @cached_property
    def channels(self) -> tuple[Numbered, ...]:
        """Every card channel, with or without a number, by room, frame, direction and place."""
        return tuple(numbered(self.rooms))

    @cached_property
    def at_host(self) -> Mapping[tuple[str | None, str, Direction, int], int]:
        """What numbers of frames are at the host, by room, frame and direction, where a host port carries them."""
        each = ((c, c.number, c.host) for c in self.channels)
        return {(c.room, c.frame, c.direction, n): host.number for c, n, host in each if n is not None and host}

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
    def far(self) -> Mapping[Numbered, FarPath]:
        """What is at the far end of channels, where a file tells it; of the first need where a number serves two."""
        each = ((c, c.carries[0]) for c in self.channels if c.carries)
        told = ((c, self._paths[c.room].get((carries.need.name, carries.channel))) for c, carries in each)
        return {channel: path for channel, path in told if path is not None}

    @cached_property
    def _paths(self) -> Mapping[str | None, Mapping[tuple[str, int], FarPath]]:
        return {room.survey.room: far_paths(room.survey) for room in self.rooms}

    @cached_property
    def cables(self) -> Mapping[Loom, Cable]:
        """The cables that looms are: fixed to a block that the loom goes to, or else told by what is at its far end."""
        at: dict[tuple[str | None, str, int, int], Cable] = {}
        for room in self.rooms:
            own = room_of(room.survey)
            bays = {bay.name: bay for bay in own.bay}
            for cable in own.cable:
                if cable.at is not None:
                    at[room.survey.room, cable.at.bay, *bays[cable.at.bay].block_of(cable.at.point)] = cable
        each = ((loom, self._cable(loom, at)) for loom in self.looms)
        return {loom: cable for loom, cable in each if cable is not None}

    def _cable(self, loom: Loom, at: Mapping[tuple[str | None, str, int, int], Cable]) -> Cable | None:
        for channel in loom.channels:
            patched, far = self.points.get(channel), self.far.get(channel)
            if patched is not None:
                fixed = at.get((loom.room, patched.bay.name, *patched.bay.block_of(patched.card_point)))
                if fixed is not None:
                    return fixed
            elif far is not None and far.cable is not None and not far.hops:
                return far.cable
        return None

    @cached_property
    def clocks(self) -> Mapping[str | None, Tree]:
        """The clock of each room whose lines have a source, between the frames that are used, with their boards."""
        found = {}
        for room in self.rooms:
            own, used = room_of(room.survey), {frame.site.name: frame.board for frame in room.frames}
            unused = {frame.name for frame in own.frame} - set(used)
            tree = drawn_tree(own, room.survey.sample_rate, used, unused)
            if tree is not None:
                found[room.survey.room] = tree
        return found

    @cached_property
    def misjoined(self) -> tuple[Joined, ...]:
        """Looms and lines whose conductors do not have one driver and one receiver."""
        if not any(self._paths.values()) and not self.cables:
            return ()
        known = pinouts(self.rooms[0].survey.hardware.pinout)
        looms = misjoined(self.cables, self.points, self.far, known)
        return (*looms, *doubled(self.channels, self.points, self._paths))

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """What is worth knowing before something is plugged."""
        return (*self.bays.notes, *unfit(self.cables), *odd_levels(self.far, self.full_scale))

    @property
    def full_scale(self) -> Mapping[Numbered, str]:
        """The level of digital full scale that channels are set to, where that is a level in dBu or dBV."""
        each = ((channel, dict(channel.settings).get(LEVEL)) for channel in self.channels)
        return {channel: level for channel, level in each if level is not None and is_level(level)}

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
            cable = None if loom is None else self.cables.get(loom)
            found.append(Trail(channel, place, loom, self.points.get(channel), self.far.get(channel), cable))
        return tuple(found)


def _places(room: Standing) -> Iterator[PlaceInFrame]:
    """The slots of every frame that is used; those past the last one that a faulty build names are slots too."""
    known = serials(room).seats
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
                serial = known.get(Seat(room.survey.room, frame.site.name, seat.slot))
                yield PlaceInFrame(room.survey.room, frame.site.name, own, seat.kind.id, serial)
