"""The document of `channels`: every number that a card answers, what it carries, and all that is on its path."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from solver.handover.looms import Carries
from solver.handover.trail import Trail
from solver.handover.wiring import Wiring
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.bays import point_of
from solver.room.words import DIRECTIONS, Direction, channel_told


class OnPath(Element):
    """A card channel and all that is on its path; `number` null: it has none, `need` null: not used.

    `channel` counts the need's channels in order of frames and numbers; `spare` says that it is one of those to spare;
    `name` is what the scenario or its list calls it.
    `host` is what the number is at the host, on a channel of `host_port`; null where no port is cabled.
    `connector` is null where the files describe none, the pins where they do not say which.
    `point` and `far_point` are null where no bay takes the number. `via` are the lines of tie lines on the way from the
    far end, each with its numbers at both ends, `cables` the numbers of cables.
    """

    room: str | None = None
    frame: str
    direction: Direction
    number: int | None
    host: int | None = None
    host_port: str | None = None
    port_channel: int | None = None
    slot: int
    card: str
    serial: str | None = None
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
    cables: list[str] = []
    via: list[str] = []
    far_end: str | None = None
    place: str | None = None
    settings: list[str] = []
    out_of_service: str | None = None

    @property
    def carries(self) -> str:
        """What it carries in a word or two: the channel's name, or its need with the channel."""
        if self.need is None:
            return "not used" if self.out_of_service is None else "out of service"
        return channel_told(self.need, self.channel, self.name, self.spare)


class ChannelRow(OnPath):
    """One number with its path. A number that serves two needs at once, which is a fault, has a row for each."""

    number: int


class ChannelList(Element):
    """Every number of a build that a card answers, by frame, direction and number, or as asked."""

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    by: Literal["number", "slot", "need", "bay", "far-end"]
    faults: list[BrokenLimit] = []
    rows: list[ChannelRow]
    not_wired: list[str] = []
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """The rows as RFC 4180 has them: a header, commas, lines that end with CR and LF.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        return path_csv(self.rows)


MAYBE = (
    "room",
    "host",
    "host_port",
    "port_channel",
    "serial",
    "name",
    "cables",
    "via",
    "far_end",
    "place",
    "settings",
    "out_of_service",
)
"""Columns that are left out where no row has anything there."""


def path_csv(rows: Sequence[OnPath]) -> str:
    """A row for each channel; columns of rooms, names and far ends only where there are some."""
    maybe = {key: any(getattr(row, key) for row in rows) for key in MAYBE}
    names = [name for name in OnPath.model_fields if maybe.get(name, True)]
    return csv_text(names, ([_in_cell(row, name) for name in names] for row in rows))


def _in_cell(row: OnPath, name: str) -> object:
    """Lists whose entries may have blanks are parted by semicolons."""
    value = getattr(row, name)
    return "; ".join(value) if isinstance(value, list) and name != "signals" else value


def channel_rows(wiring: Wiring, by: str) -> list[ChannelRow]:
    """Every number that a card answers, in the order asked for; those that have nothing of that sort are the last."""
    rows = [
        ChannelRow.model_validate(on_path(trail, carries))
        for trail in wiring.trails
        if trail.channel.number is not None
        for carries in trail.channel.carries or (None,)
    ]
    rows.sort(key=lambda row: (row.room or "", row.frame, DIRECTIONS.index(row.direction), row.number))
    if by == "slot":
        rows.sort(key=lambda row: (row.room or "", row.frame, row.slot, DIRECTIONS.index(row.direction), row.number))
    if by == "need":
        indices = {(room.survey.room, need.name): need.index for room in wiring.rooms for need in room.survey.needs}
        rows.sort(key=lambda row: (row.room or "", row.need is None, indices.get((row.room, row.need or ""), 0)))
    if by == "bay":
        rows.sort(key=lambda row: (row.room or "", row.bay is None, row.bay or "", _point(row)))
    if by == "far-end":
        rows.sort(key=lambda row: (row.room or "", row.far_end is None, in_order(row.far_end or "")))
    return rows


def _point(row: ChannelRow) -> tuple[str, int]:
    return ("", 0) if row.point is None else point_of(row.point)


def in_order(text: str) -> tuple[tuple[bool, int, str], ...]:
    """What texts are sorted by that numbers tell apart: 2 comes before 10."""
    parts = re.split(r"([0-9]+)", text.casefold())
    return tuple((part.isdecimal(), int(part) if part.isdecimal() else 0, part) for part in parts if part)


def on_path(trail: Trail, carries: Carries | None) -> dict[str, object]:
    """What `OnPath` has of a path and of one channel of a need that it carries."""
    own, contact, patched = trail.channel, trail.channel.contact, trail.patched
    wires = None if contact is None else contact.wires
    return {
        "room": own.room,
        "frame": own.frame,
        "direction": own.direction,
        "number": own.number,
        "host": None if own.host is None else own.host.number,
        "host_port": None if own.host is None else own.host.port,
        "port_channel": None if own.host is None else own.host.channel,
        "slot": own.slot,
        "card": own.card,
        "serial": trail.place.serial,
        "card_channel": own.card_channel,
        "signals": sorted(own.signals),
        "need": None if carries is None else carries.need.name,
        "channel": None if carries is None else carries.channel,
        "spare": carries is not None and carries.spare,
        "name": None if carries is None else carries.name,
        "connector": None if contact is None else contact.connector.id,
        "connector_type": None if contact is None else contact.connector.type,
        "hot": None if wires is None else wires.hot,
        "cold": None if wires is None else wires.cold,
        "shield": None if wires is None else wires.shield,
        "loom": None if trail.loom is None else trail.loom.name,
        "bay": None if patched is None else patched.bay.name,
        "point": None if patched is None else patched.card_point,
        "far_point": None if patched is None else patched.far_point,
        "normal": None if patched is None else patched.normal,
        "cables": [cable.number for cable in trail.cables],
        "via": [f"{hop.far_text} = {hop.near_text}" for hop in ([] if trail.far is None else trail.far.hops)],
        "far_end": None if trail.far is None else trail.far.text,
        "place": None if trail.far is None else trail.far.end.place,
        "settings": [f"{name} {choice}" for name, choice in own.settings],
        "out_of_service": None if own.out is None else own.out.why,
    }
