"""The document of `find`: what has a name, and all that is on its path."""

from __future__ import annotations

from typing import Literal

from solver.handover.lookup import PlaceInFrame, Trail
from solver.reports.report import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.words import Direction


class FoundSlot(Element):
    """What stands in a slot, or in the adjacent slots of one card; `card` null: nothing."""

    room: str | None = None
    frame: str
    slots: list[int]
    card: str | None
    find: str


class FoundChannel(Element):
    """A card channel and all that is on its path.

    `number` is null where it has none, `need` where it serves none. `find` has the names that lead to each of them:
    `number` and `need` to this channel alone, `slot` and `loom` to all that share them.
    """

    room: str | None = None
    frame: str
    direction: Direction
    number: int | None
    slot: int
    card: str
    card_channel: int
    signals: list[str]
    need: str | None = None
    channel: int | None = None
    spare: bool = False
    name: str | None = None
    connector: str | None = None
    connector_type: str | None = None
    hot: str | None = None
    cold: str | None = None
    shield: str | None = None
    loom: str | None = None
    bay: str | None = None
    point: str | None = None
    far_point: str | None = None
    normal: str | None = None
    find: dict[Literal["number", "need", "slot", "loom", "bay"], str]


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
        maybe = {"find": False, "name": any(one.name for one in self.channels), "room": False}
        names = [name for name in FoundChannel.model_fields if maybe.get(name, True)]
        names = [*(["room"] if any(one.room for one in self.channels) else []), *names]
        return csv_text(names, ([getattr(one, name) for name in names] for one in self.channels))


def found_slot(place: PlaceInFrame) -> FoundSlot:
    """A slot as the document has it."""
    name = f"slot:{place.frame}:{place.slots[0]}"
    return FoundSlot(room=place.room, frame=place.frame, slots=list(place.slots), card=place.card, find=name)


def found_channels(trail: Trail) -> list[FoundChannel]:
    """A channel as the document has it: once for each need that claims it, of which there should be one at most."""
    own, contact, patched = trail.channel, trail.channel.contact, trail.patched
    wires = None if contact is None else contact.wires
    found = []
    for carries in own.carries or (None,):
        names: dict[Literal["number", "need", "slot", "loom", "bay"], str] = {"slot": f"slot:{own.frame}:{own.slot}"}
        if trail.number_name is not None:
            names["number"] = trail.number_name
        if carries is not None:
            names["need"] = f"{carries.need.name} {carries.channel}"
        if trail.loom_name is not None:
            names["loom"] = trail.loom_name
        if trail.point_name is not None:
            names["bay"] = trail.point_name
        found.append(
            FoundChannel(
                room=own.room,
                frame=own.frame,
                direction=own.direction,
                number=own.number,
                slot=own.slot,
                card=own.card,
                card_channel=own.card_channel,
                signals=sorted(own.signals),
                need=None if carries is None else carries.need.name,
                channel=None if carries is None else carries.channel,
                spare=carries is not None and carries.spare,
                name=None if carries is None else carries.name,
                connector=None if contact is None else contact.connector.id,
                connector_type=None if contact is None else contact.connector.type,
                hot=None if wires is None else wires.hot,
                cold=None if wires is None else wires.cold,
                shield=None if wires is None else wires.shield,
                loom=None if trail.loom is None else trail.loom.name,
                bay=None if patched is None else patched.bay.name,
                point=None if patched is None else patched.card_point,
                far_point=None if patched is None else patched.far_point,
                normal=None if patched is None else patched.normal,
                find=names,
            )
        )
    return found
