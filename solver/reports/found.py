"""The document of `find`: what has a name, and all that is on its path."""

from __future__ import annotations

from typing import Literal

from solver.handover.trail import PlaceInFrame, Trail
from solver.reports.channels import OnPath, on_path, path_csv
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.room.assets import with_serial
from solver.room.words import in_room


class FoundSlot(Element):
    """What stands in a slot, or in the adjacent slots of one card; `card` null: nothing."""

    room: str | None = None
    frame: str
    slots: list[int]
    card: str | None
    serial: str | None = None
    find: str

    @property
    def told(self) -> str:
        """What stands there in words."""
        return "empty" if self.card is None else with_serial(self.card, self.serial)


class FoundChannel(OnPath):
    """A card channel with its path.

    `find` has the names that lead to what is on it: `number` and `need` to this channel alone, the others to all that
    share what they name. Of several cables or tie lines it is the one next to the far end.
    """

    find: dict[Literal["number", "need", "slot", "loom", "bay", "cable", "via", "far_end"], str]


class Found(Element):
    """What a name finds: card channels with their paths, and slots where it is the name of slots or of a card."""

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    asked: str
    channels: list[FoundChannel] = []
    slots: list[FoundSlot] = []
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """A row for each channel, as RFC 4180 has it: a header, commas, lines that end with CR and LF.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        return path_csv(self.channels)


def found_slot(place: PlaceInFrame) -> FoundSlot:
    """A slot as the document has it."""
    name = in_room(place.room, f"slot:{place.frame}:{place.slots[0]}")[0]
    slots = list(place.slots)
    return FoundSlot(room=place.room, frame=place.frame, slots=slots, card=place.card, serial=place.serial, find=name)


def found_channels(trail: Trail) -> list[FoundChannel]:
    """A channel as the document has it: once for each need that claims it, of which there should be one at most."""
    found = []
    for carries in trail.channel.carries or (None,):
        names = {
            "number": trail.number_name,
            "need": None if carries is None else f"{carries.need.name} {carries.channel}",
            "slot": f"slot:{trail.channel.frame}:{trail.channel.slot}",
            "loom": trail.loom_name,
            "bay": trail.point_name,
            "cable": f"cable:{trail.cables[0].number}" if trail.cables else None,
            "via": None if trail.far is None or not trail.far.hops else f"tie:{trail.far.hops[0].far_text}",
            "far_end": trail.far_name,
        }
        room = trail.channel.room
        told = {key: in_room(room, name)[0] for key, name in names.items() if name is not None}
        found.append(FoundChannel.model_validate({**on_path(trail, carries), "find": told}))
    return found
