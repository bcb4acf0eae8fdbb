"""From any name on a path, a number, a need's channel, a slot, a card or a loom, to all that is on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.fitted.standing import Standing
from solver.handover.bays import Patched
from solver.handover.looms import Loom, Numbered
from solver.room.faults import nearest


@dataclass(frozen=True)
class PlaceInFrame:
    """What stands in a slot, or in the adjacent slots of one card; `card` None: nothing."""

    room: str | None
    frame: str
    slots: tuple[int, ...]
    card: str | None

    def names(self) -> Iterator[str]:
        """What it can be asked for by."""
        yield from (f"slot:{self.frame}:{slot}" for slot in self.slots)
        if self.card is not None:
            yield f"card:{self.card}"


@dataclass(frozen=True)
class Trail:
    """A card channel with all that is on its path."""

    channel: Numbered
    place: PlaceInFrame
    loom: Loom | None
    patched: Patched | None = None

    @property
    def number_name(self) -> str | None:
        """What its number is asked for by, and no other."""
        if self.channel.number is None:
            return None
        return f"{self.channel.frame}:{self.channel.direction}:{self.channel.number}"

    @property
    def loom_name(self) -> str | None:
        """What its loom is asked for by."""
        return None if self.loom is None else f"loom:{self.loom.name}"

    @property
    def point_name(self) -> str | None:
        """What its card's point on a bay is asked for by."""
        return None if self.patched is None else f"bay:{self.patched.bay.name}:{self.patched.card_point}"

    def names(self) -> Iterator[str]:
        """What it can be asked for by."""
        own = self.channel
        if own.number is not None:
            for sign in (":", " "):
                yield f"{own.frame}{sign}{own.direction}{sign}{own.number}"
                yield f"{own.frame}{sign}{own.number}"
            yield str(own.number)
        for carries in own.carries:
            yield f"{carries.need.name} {carries.channel}"
            yield carries.text
            if carries.name is not None:
                yield carries.name
            yield carries.need.name
        if self.loom_name is not None:
            yield self.loom_name
        if self.patched is not None:
            for point in (self.patched.upper, self.patched.lower):
                yield f"bay:{self.patched.bay.name}:{point}"
                yield f"bay:{point}"
            yield f"bay:{self.patched.bay.name}"
        yield from self.place.names()


@dataclass(frozen=True)
class Trails:
    """All that can be asked for in a build."""

    trails: tuple[Trail, ...]
    places: tuple[PlaceInFrame, ...]

    def names(self) -> set[str]:
        """Every name that finds something."""
        found = {name for trail in self.trails for name in trail.names()}
        return found | {name for place in self.places for name in place.names()}

    def by_name(self, name: str) -> tuple[list[Trail], list[PlaceInFrame]]:
        """What has a name, in capitals or not where none is written so; a name may find several things."""
        for fold in (str, str.casefold):
            wanted = fold(name)
            trails = [trail for trail in self.trails if wanted in map(fold, trail.names())]
            places = [place for place in self.places if wanted in map(fold, place.names())]
            if trails or places:
                return trails, places
        return [], []

    def nearest(self, name: str) -> str | None:
        """The name most like one that finds nothing."""
        return nearest(name, self.names())


def trails(
    rooms: Sequence[Standing],
    channels: Sequence[Numbered],
    looms: Sequence[Loom],
    points: Mapping[Numbered, Patched],
) -> Trails:
    """Every card channel and every slot of a build.

    Parameters
    ----------
    channels, looms
        Those of `solver.handover.looms`.
    points
        Those of `solver.handover.bays`.
    """
    places = [place for room in rooms for place in _places(room)]
    in_slot = {(place.room, place.frame, slot): place for place in places for slot in place.slots}
    on_loom = {(loom.room, loom.frame, loom.slot, loom.connector.id): loom for loom in looms}
    found = []
    for channel in channels:
        place = in_slot[channel.room, channel.frame, channel.slot]
        plug = None if channel.contact is None else channel.contact.connector.id
        loom = None if plug is None else on_loom.get((channel.room, channel.frame, place.slots[0], plug))
        found.append(Trail(channel, place, loom, points.get(channel)))
    return Trails(tuple(found), tuple(places))


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
