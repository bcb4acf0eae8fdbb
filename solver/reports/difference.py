"""The document of `diff`: what changes hands between two builds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from solver.fitted.card_moves import CardMove, Seat
from solver.fitted.moves import FrameMoves, NumberMove, SetMove, Spot
from solver.handover.bays import Patched
from solver.handover.repatching import PointMove
from solver.handover.replugging import LoomMove
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.assets import with_serial
from solver.room.words import Direction


class CardPlace(Element):
    """A slot of a frame: the first of a card that spans several."""

    room: str | None = None
    frame: str
    slot: int

    @property
    def text(self) -> str:
        """Room, frame and slot."""
        return f"{f'{self.room}, ' if self.room else ''}{self.frame} slot {self.slot}"


class CardChange(Element):
    """A card that comes (`before` null), goes (`after` null) or gets another slot.

    `out_of_service`: it comes out since it is out of service.
    """

    card: str
    serial: str | None = None
    out_of_service: bool = False
    before: CardPlace | None
    after: CardPlace | None

    @property
    def told(self) -> str:
        """The card in words."""
        return with_serial(self.card, self.serial) + (", out of service" if self.out_of_service else "")


class BoardChange(Element):
    """A main board that is put in (`before` null) or exchanged."""

    room: str | None = None
    frame: str
    before: str | None
    after: str


class StrapChange(Element):
    """A strap that is closed or opened, or a switch (`strap` null). `before` is null where it is not known."""

    room: str | None = None
    frame: str
    group: str
    strap: str | None
    before: str | None
    after: str


class SettingChange(Element):
    """What is set otherwise on a card; `before` null: the card comes. `channels` null: all that it has there."""

    room: str | None = None
    frame: str
    slot: int
    card: str
    setting: str
    direction: Direction
    channels: str | None
    before: str | None
    after: str


class ChannelPlace(Element):
    """Where a need's channel is: its number, null where it has none, and the card channel that answers it."""

    frame: str
    number: int | None
    slot: int
    card_channel: int


class ChannelChange(Element):
    """A need's channel that begins (`before` null) or ends (`after` null) to be served, or is served from elsewhere."""

    room: str | None = None
    need: str
    direction: Direction
    channel: int
    before: ChannelPlace | None
    after: ChannelPlace | None
    name: str | None = None


class PointPlace(Element):
    """A card's point of a bay."""

    bay: str
    point: str

    @property
    def text(self) -> str:
        """Bay and point."""
        return f"{self.bay} {self.point}"


class PointChange(Element):
    """A need's channel that gets another point of a bay; `before` or `after` null: it was or is on none."""

    room: str | None = None
    need: str
    direction: Direction
    channel: int
    name: str | None = None
    before: PointPlace | None
    after: PointPlace | None


class LoomChange(Element):
    """A need's channel that is on another loom's connector, or on another line of it; looms by their names."""

    room: str | None = None
    need: str
    direction: Direction
    channel: int
    name: str | None = None
    before: str
    after: str


class Difference(Element):
    """What the later of two builds has otherwise; `nothing_to_do` says that it has nothing otherwise.

    `outcome` and `faults` are those of the later build.
    """

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    nothing_to_do: bool
    summary: str
    lids_off: list[str]
    lids_on: list[str]
    boards: list[BoardChange] = []
    straps: list[StrapChange] = []
    cards: list[CardChange] = []
    settings: list[SettingChange] = []
    channels: list[ChannelChange] = []
    looms: list[LoomChange] = []
    points: list[PointChange] = []
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """A row for each change, as RFC 4180 has it: a header, commas, lines that end with CR and LF.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        names = ("room", "what", "item", "channel", "direction", "before", "after", "name")
        rows = [row[: len(names)] + (None,) * (len(names) - len(row)) for row in self._rows()]
        told = [n for n in range(len(names)) if names[n] not in ("room", "name") or any(row[n] for row in rows)]
        return csv_text([names[n] for n in told], ([row[n] for n in told] for row in rows))

    def _rows(self) -> Iterator[tuple[object, ...]]:
        for board in self.boards:
            yield board.room, "board", board.frame, None, None, board.before, board.after
        for strap in self.straps:
            item = f"{strap.frame}, {strap.group}{f', {strap.strap}' if strap.strap else ''}"
            yield strap.room, "strap", item, None, None, strap.before, strap.after
        for card in self.cards:
            room = (card.after or card.before or CardPlace(frame="", slot=0)).room
            seats = (None if seat is None else seat.text for seat in (card.before, card.after))
            yield room, "card", card.told, None, None, *seats
        for own in self.settings:
            item = f"{own.frame} slot {own.slot}, {own.card}, {own.setting}"
            yield own.room, "setting", item, own.channels, own.direction, own.before, own.after
        for one in self.channels:
            places = (None if place is None else _place(place) for place in (one.before, one.after))
            yield one.room, "channel", one.need, one.channel, one.direction, *places, one.name
        for plugged in self.looms:
            ends = plugged.before, plugged.after
            yield plugged.room, "loom", plugged.need, plugged.channel, plugged.direction, *ends, plugged.name
        for patched in self.points:
            texts = (None if point is None else point.text for point in (patched.before, patched.after))
            yield patched.room, "point", patched.need, patched.channel, patched.direction, *texts, patched.name


def _place(place: ChannelPlace) -> str:
    number = "no number" if place.number is None else place.number
    return f"{place.frame} {number} (slot {place.slot}, channel {place.card_channel})"


def board_change(frame: FrameMoves) -> BoardChange:
    """A board that moves."""
    assert frame.board_after is not None
    return BoardChange(room=frame.room, frame=frame.frame, before=frame.board_before, after=frame.board_after)


def strap_changes(frame: FrameMoves) -> Iterator[StrapChange]:
    """The straps of one frame that are set."""
    for move in frame.straps:
        yield StrapChange(
            room=frame.room, frame=frame.frame, group=move.group, strap=move.strap, before=move.before, after=move.after
        )


def card_change(move: CardMove) -> CardChange:
    """A card that moves."""
    seats = _seat(move.before), _seat(move.after)
    return CardChange(card=move.card, serial=move.serial, out_of_service=move.dead, before=seats[0], after=seats[1])


def _seat(seat: Seat | None) -> CardPlace | None:
    return None if seat is None else CardPlace(room=seat.room, frame=seat.frame, slot=seat.slot)


def setting_change(move: SetMove) -> SettingChange:
    """What is set otherwise on a card."""
    return SettingChange(
        room=move.room,
        frame=move.frame,
        slot=move.slot,
        card=move.card,
        setting=move.setting,
        direction=move.direction,
        channels=move.channels,
        before=move.before,
        after=move.after,
    )


def channel_change(move: NumberMove) -> ChannelChange:
    """A channel that moves."""
    return ChannelChange(
        room=move.room,
        need=move.need,
        direction=move.direction,
        channel=move.channel,
        before=_spot(move.before),
        after=_spot(move.after),
        name=move.name,
    )


def _spot(spot: Spot | None) -> ChannelPlace | None:
    if spot is None:
        return None
    return ChannelPlace(frame=spot.frame, number=spot.number, slot=spot.slot, card_channel=spot.card_channel)


def point_change(move: PointMove) -> PointChange:
    """A channel that gets another point."""
    return PointChange(
        room=move.room,
        need=move.need.name,
        direction=move.need.direction,
        channel=move.channel,
        name=move.need.name_of(move.channel),
        before=_patched(move.before),
        after=_patched(move.after),
    )


def loom_change(move: LoomMove) -> LoomChange:
    """A channel that gets to another loom's connector; one of the same name is told with its type."""
    before, after = move.before, move.after
    alike = before.name == after.name
    return LoomChange(
        room=move.room,
        need=move.need.name,
        direction=move.need.direction,
        channel=move.channel,
        name=move.need.name_of(move.channel),
        before=f"{before.name} ({before.card}, {before.connector.type})" if alike else before.name,
        after=f"{after.name} ({after.card}, {after.connector.type})" if alike else after.name,
    )


def _patched(patched: Patched | None) -> PointPlace | None:
    return None if patched is None else PointPlace(bay=patched.bay.name, point=patched.card_point)
