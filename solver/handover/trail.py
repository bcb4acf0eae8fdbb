"""The path of a card channel: its place in a frame, loom, points of a bay, tie lines, and what is at the far end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from solver.handover.bays import Patched
from solver.handover.ends import FarPath
from solver.handover.looms import Loom, Numbered
from solver.room.ends import Cable
from solver.room.words import in_room


@dataclass(frozen=True)
class PlaceInFrame:
    """What stands in a slot, or in the adjacent slots of one card; `card` None: nothing."""

    room: str | None
    frame: str
    slots: tuple[int, ...]
    card: str | None
    serial: str | None = None

    def names(self) -> Iterator[str]:
        """What it can be asked for by."""
        yield from (name for slot in self.slots for name in in_room(self.room, f"slot:{self.frame}:{slot}"))
        if self.card is not None:
            yield from in_room(self.room, f"card:{self.card}")
        if self.serial is not None:
            yield f"serial:{self.serial}"


@dataclass(frozen=True)
class Trail:
    """A card channel with all that is on its path; `cable` is the one that its loom is, where that has a number."""

    channel: Numbered
    place: PlaceInFrame
    loom: Loom | None
    patched: Patched | None = None
    far: FarPath | None = None
    cable: Cable | None = None

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

    @property
    def far_name(self) -> str | None:
        """What the socket at its far end is asked for by."""
        return None if self.far is None else f"far:{self.far.text}"

    @property
    def cables(self) -> tuple[Cable, ...]:
        """The cables on its path that have numbers, from the far end on."""
        far = None if self.far is None else self.far.cable
        each = {cable.number: cable for cable in (far, self.cable) if cable is not None}
        return tuple(each.values())

    @property
    def way(self) -> tuple[str, ...]:
        """Every hop between the far end and the card, from there on: what stands at both ends of each."""
        far = () if self.far is None else (self.far.text, *(f"{h.far_text} = {h.near_text}" for h in self.far.hops))
        cables = tuple(f"cable {cable.number}" for cable in self.cables)
        bay = () if self.patched is None else (self._points(self.patched),)
        return (*far, *bay, *cables, *self.loom_hops[-1:])

    @property
    def loom_hops(self) -> tuple[str, ...]:
        """Its loom as a hop, after the cable that it is, where that has a number; nothing where it has no loom."""
        cable = () if self.cable is None else (f"cable {self.cable.number}",)
        return () if self.loom is None else (*cable, f"loom {self.loom.name}")

    @staticmethod
    def _points(patched: Patched) -> str:
        return f"{patched.bay.name} {patched.far_point} = {patched.card_point}"

    def names(self) -> Iterator[str]:
        """What it can be asked for by, be it with its room."""
        yield from (name for own in self._names() for name in in_room(self.channel.room, own))
        yield from self.place.names()

    def _names(self) -> Iterator[str]:
        own = self.channel
        yield f"{own.frame}:{own.direction}:{own.slot}.{own.card_channel}"
        yield f"{own.frame}:{own.slot}.{own.card_channel}"
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
                yield f"{self.patched.bay.name} {point}"
                yield f"bay:{point}"
            yield f"bay:{self.patched.bay.name}"
        yield from (f"cable:{cable.number}" for cable in self.cables)
        if self.far is not None:
            for start in ("far:", ""):
                yield f"{start}{self.far.text}"
                yield f"{start}{self.far.end.equipment}"
            for hop in self.far.hops:
                yield from (f"tie:{hop.tie.name}", f"tie:{hop.far_text}", f"tie:{hop.near_text}")
                yield from (hop.far_text, hop.near_text)
