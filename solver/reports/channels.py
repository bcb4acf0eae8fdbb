"""The document of `channels`: every number that a card answers, and what it carries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from solver.fitted.moves import serving
from solver.fitted.standing import Standing
from solver.reports.report import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, Direction


class ChannelRow(Element):
    """One number: the card channel that answers it, and the need's channel that it carries; `need` null: not used.

    A number that serves two needs at once, which is a fault, has a row for each.

    `channel` counts the need's channels in order of frames and numbers; `spare` says that it is one of those to spare;
    `name` is what the scenario or its list calls it.
    """

    room: str | None = None
    frame: str
    direction: Direction
    number: int
    slot: int
    card: str
    card_channel: int
    signals: list[str]
    need: str | None = None
    channel: int | None = None
    spare: bool = False
    name: str | None = None

    @property
    def carries(self) -> str:
        """What it carries in a word or two: the channel's name, or its need with the channel."""
        return "not used" if self.need is None else channel_told(self.need, self.channel, self.name, self.spare)


def channel_told(need: str, channel: int | None, name: str | None, spare: bool) -> str:
    """What a channel of a need is called, "kick" or "drums 1"; spare ones are said to be."""
    return f"{need} {channel}" * (name is None) + (name or "") + " spare" * spare


class ChannelList(Element):
    """Every number of a build that a card answers, by frame, direction and number, or as asked."""

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    by: Literal["number", "slot", "need"]
    faults: list[BrokenLimit] = []
    rows: list[ChannelRow]
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """The rows as RFC 4180 has them: a header, commas, lines that end with CR and LF.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        maybe = {"room": any(row.room for row in self.rows), "name": any(row.name for row in self.rows)}
        names = [name for name in ChannelRow.model_fields if maybe.get(name, True)]
        return csv_text(names, ([row[name] for name in names] for row in (row.model_dump() for row in self.rows)))


def channel_rows(rooms: Sequence[Standing], by: Literal["number", "slot", "need"]) -> list[ChannelRow]:
    """Every number that a card answers, in the order asked for: those of needs first where needs are."""
    rows = list(_rows(rooms))
    if by == "slot":
        rows.sort(key=lambda row: (row.room or "", row.frame, row.slot, DIRECTIONS.index(row.direction), row.number))
    if by == "need":
        places = {(room.survey.room, need.name): need.index for room in rooms for need in room.survey.needs}
        rows.sort(key=lambda row: (row.room or "", row.need is None, places.get((row.room, row.need or ""), 0)))
    return rows


def _rows(rooms: Sequence[Standing]) -> Iterator[ChannelRow]:
    carried: dict[tuple[object, ...], list[tuple[Need | None, int | None]]] = {}
    for (name, asked), spots in sorted(serving(rooms).items(), key=lambda entry: entry[0][1].index):
        for place, spot in enumerate(spots, start=1):
            carried.setdefault((name, spot.frame, asked.direction, spot.number), []).append((asked, place))
    for room in rooms:
        for frame in sorted(room.frames, key=lambda frame: frame.site.name):
            cards = {slot: seat.kind.id for seat in frame.seats for slot in seat.covers if frame.occupant(slot) is seat}
            for direction in DIRECTIONS:
                numbered = [(n, slot, own) for slot, own, n in frame.channels(direction) if n is not None]
                for number, slot, own in sorted(numbered, key=lambda entry: entry[0]):
                    here = (room.survey.room, frame.site.name, direction, number)
                    for need, channel in carried.get(here, [(None, None)]):
                        yield ChannelRow(
                            room=room.survey.room,
                            frame=frame.site.name,
                            direction=direction,
                            number=number,
                            slot=slot,
                            card=cards[slot],
                            card_channel=own.index,
                            signals=sorted(own.line_type.signals),
                            need=None if need is None else need.name,
                            channel=channel,
                            spare=need is not None and channel is not None and channel > need.channels,
                            name=None if need is None or channel is None else need.name_of(channel),
                        )
