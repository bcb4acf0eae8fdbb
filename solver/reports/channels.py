"""The document of `channels`: every number that a card answers, and what it carries."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from solver.fitted.standing import Standing
from solver.handover.bays import Patched
from solver.handover.looms import Numbered
from solver.reports.report import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.words import DIRECTIONS, Direction, channel_told


class ChannelRow(Element):
    """One number: the card channel that answers it, and the need's channel that it carries; `need` null: not used.

    A number that serves two needs at once, which is a fault, has a row for each.

    `channel` counts the need's channels in order of frames and numbers; `spare` says that it is one of those to spare;
    `name` is what the scenario or its list calls it.
    `connector` is null where the files describe none, the pins where they do not say which.
    `point` and `far_point` are null where no bay takes the number.
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
    connector: str | None = None
    connector_type: str | None = None
    hot: str | None = None
    cold: str | None = None
    shield: str | None = None
    bay: str | None = None
    point: str | None = None
    far_point: str | None = None

    @property
    def carries(self) -> str:
        """What it carries in a word or two: the channel's name, or its need with the channel."""
        return "not used" if self.need is None else channel_told(self.need, self.channel, self.name, self.spare)


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
    not_wired: list[str] = []
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """The rows as RFC 4180 has them: a header, commas, lines that end with CR and LF.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        maybe = {key: any(getattr(row, key) for row in self.rows) for key in ("room", "name")}
        names = [name for name in ChannelRow.model_fields if maybe.get(name, True)]
        return csv_text(names, ([row[name] for name in names] for row in (row.model_dump() for row in self.rows)))


def channel_rows(
    rooms: Sequence[Standing],
    found: Sequence[Numbered],
    points: Mapping[Numbered, Patched],
    by: Literal["number", "slot", "need"],
) -> list[ChannelRow]:
    """Every number that a card answers, in the order asked for: those of needs first where needs are.

    Parameters
    ----------
    found
        Every card channel of the rooms.
    points
        Those that have points of a bay.
    """
    rows = [row for channel in found for row in _rows(channel, points.get(channel))]
    rows.sort(key=lambda row: (row.room or "", row.frame, DIRECTIONS.index(row.direction), row.number))
    if by == "slot":
        rows.sort(key=lambda row: (row.room or "", row.frame, row.slot, DIRECTIONS.index(row.direction), row.number))
    if by == "need":
        indices = {(room.survey.room, need.name): need.index for room in rooms for need in room.survey.needs}
        rows.sort(key=lambda row: (row.room or "", row.need is None, indices.get((row.room, row.need or ""), 0)))
    return rows


def _rows(channel: Numbered, patched: Patched | None) -> Iterator[ChannelRow]:
    """One for each need's channel that it carries, of which there should be no more than one."""
    if channel.number is None:
        return
    contact = channel.contact
    wires = None if contact is None else contact.wires
    for carries in channel.carries or (None,):
        yield ChannelRow(
            room=channel.room,
            frame=channel.frame,
            direction=channel.direction,
            number=channel.number,
            slot=channel.slot,
            card=channel.card,
            card_channel=channel.card_channel,
            signals=sorted(channel.signals),
            need=None if carries is None else carries.need.name,
            channel=None if carries is None else carries.channel,
            spare=carries is not None and carries.spare,
            name=None if carries is None else carries.name,
            connector=None if contact is None else contact.connector.id,
            connector_type=None if contact is None else contact.connector.type,
            hot=None if wires is None else wires.hot,
            cold=None if wires is None else wires.cold,
            shield=None if wires is None else wires.shield,
            bay=None if patched is None else patched.bay.name,
            point=None if patched is None else patched.card_point,
            far_point=None if patched is None else patched.far_point,
        )
