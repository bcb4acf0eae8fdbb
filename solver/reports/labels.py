"""The document of `labels`: texts for bays, slots and looms that fit a width, and the whole texts beside them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from solver.fitted.standing import Standing
from solver.handover.bays import Patched
from solver.handover.ends import room_of
from solver.handover.labels import shortened
from solver.handover.looms import Carries, Loom, Numbered
from solver.handover.wiring import Wiring
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.spreadsheet import csv_text
from solver.room.bays import ROWS
from solver.room.words import DIRECTIONS, Direction, write_ranges


class Label(Element):
    """One label: `text` within the width that was asked for, `whole` in full.

    `fits` false: no shorter text can be read and told from others.
    `strip` is what bears it: a row of a bay, the slots of a frame, a loom, an end of a tie line, a cable; `at` where
    it is there.
    """

    on: Literal["bay", "slot", "loom", "tie line", "cable"]
    room: str | None = None
    strip: str
    at: str
    text: str
    whole: str
    fits: bool


class LabelList(Element):
    """Labels of a build, strip by strip, in the order of their places."""

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    width: int
    labels: list[Label]
    faults: list[BrokenLimit] = []
    notes: list[str] = []
    warnings: list[FileFault] = []

    def as_csv(self) -> str:
        """A row for each label, as RFC 4180 has it, for label printers.

        A text that a spreadsheet would run as a formula begins with an apostrophe.
        """
        names = [name for name in Label.model_fields if name != "room" or any(label.room for label in self.labels)]
        return csv_text(names, ([getattr(label, name) for name in names] for label in self.labels))


WAYS: Sequence[Mapping[Direction, str]] = (
    {"in": " in ", "out": " out "},
    {"in": " i ", "out": " o "},
    {"in": "i", "out": "o"},
)
"""What stands between a frame and a number on labels of bays: on all of them the first that all have room for."""

Words: TypeAlias = tuple[str, str]
"""A name, which may be shortened, and what follows it, which may not: a number."""


@dataclass(frozen=True)
class _Blank:
    """A label before its text is made."""

    on: Literal["bay", "slot", "loom", "tie line", "cable"]
    room: str | None
    strip: str
    at: str
    words: Words
    full: Words | None = None
    """The same where words are written in short."""

    @property
    def whole(self) -> str:
        """The text in full."""
        return "".join(self.full or self.words)


def labels_of(wiring: Wiring, width: int) -> list[Label]:
    """Every label: rows of bays as they are seen from the front, slots, both ends of looms, tie lines and cables."""
    points = wiring.bays.points
    way = next((way for way in WAYS if all(len("".join(_number(p, way))) <= width for p in points)), WAYS[-1])
    found = [*_filled(list(_of_bays(points, way)), width)]
    found += _filled(list(_of_slots(wiring.rooms, wiring.channels)), width)
    found += _filled(list(_of_looms(wiring.looms)), width)
    found += _filled(list(_of_tie_lines(wiring)), width)
    return [*found, *_filled(list(_of_cables(wiring.rooms)), width)]


def _filled(blanks: Sequence[_Blank], width: int) -> Iterator[Label]:
    """Texts for labels on one sort of thing: a name is written alike everywhere, and no text means two things."""
    room, close = _rooms(blanks, width), _rooms(blanks, width, close=True)
    short = shortened(room)
    joined = shortened({name: close[name] for name, text in short.items() if text is None})
    meant: dict[str, Words] = {}
    for blank in blanks:
        name, number = blank.words
        text = f"{short[name] or name}{number}"  # a name that nothing shortens still fits before a short number
        close_by = joined.get(name)
        if len(text) > width and close_by is not None and not close_by[-1:].isdigit():
            text = f"{close_by}{number.lstrip()}"
        fits = len(text) <= width and meant.setdefault(text.casefold(), blank.words) == blank.words
        yield Label(
            on=blank.on,
            room=blank.room,
            strip=blank.strip,
            at=blank.at,
            text=text if fits else blank.whole,
            whole=blank.whole,
            fits=fits,
        )


def _rooms(blanks: Sequence[_Blank], width: int, *, close: bool = False) -> dict[str, int]:
    """Characters that each name has before the longest number that follows it; `close`: without a blank between."""
    room: dict[str, int] = {}
    for name, number in (blank.words for blank in blanks):
        room[name] = min(room.get(name, width), width - len(number.lstrip() if close else number))
    return room


def _of_bays(points: Sequence[Patched], way: Mapping[Direction, str]) -> Iterator[_Blank]:
    """Two rows for each pair: at the card's point the number, at the far end's what is carried."""
    for room, name, rows in dict.fromkeys((patched.room, patched.bay.name, patched.bay.rows) for patched in points):
        own = [patched for patched in points if (patched.room, patched.bay.name) == (room, name)]
        for row in ROWS[:rows]:
            for patched in own:
                if patched.card_point.startswith(row):
                    words = _number(patched, way), _number(patched, WAYS[0])
                    yield _Blank("bay", room, f"{name} {row}", patched.card_point, *words)
                elif patched.far_point.startswith(row):
                    yield _Blank("bay", room, f"{name} {row}", patched.far_point, _carried(patched))


def _number(patched: Patched, way: Mapping[Direction, str]) -> Words:
    first = patched.channels[0]
    return first.frame, f"{way[first.direction]}{write_ranges([c.number or 0 for c in patched.channels])}"


def _carried(patched: Patched) -> Words:
    """What is on a pair of points."""
    return _named([carries for channel in patched.channels for carries in channel.carries])


def _named(carried: Sequence[Carries]) -> Words:
    """A need with its channels, one name, or all that is carried where that is of several needs."""
    if not carried:
        return "not used", ""
    needs = {carries.need.name for carries in carried}
    if len(needs) == 1 and not any(carries.name for carries in carried):
        return carried[0].need.name, f" {write_ranges([carries.channel for carries in carried])}"
    return " + ".join(carries.name or f"{carries.need.name} {carries.channel}" for carries in carried), ""


def _of_slots(rooms: Sequence[Standing], channels: Sequence[Numbered]) -> Iterator[_Blank]:
    """For each card what it is, and its numbers of each direction."""
    numbers: dict[tuple[str | None, str, int, Direction], list[int]] = {}
    for channel in channels:
        if channel.number is not None:
            numbers.setdefault((channel.room, channel.frame, channel.slot, channel.direction), []).append(
                channel.number
            )
    for room in rooms:
        name = room.survey.room
        for frame in sorted(room.frames, key=lambda frame: frame.site.name):
            strip = f"slots of {frame.site.name}"
            for seat in sorted(frame.seats, key=lambda seat: seat.slot):
                slots = [slot for slot in seat.covers if frame.occupant(slot) is seat]
                at = write_ranges(slots)
                yield _Blank("slot", name, strip, at, (seat.kind.id, ""))
                for way in DIRECTIONS:
                    own = [n for slot in slots for n in numbers.get((name, frame.site.name, slot, way), [])]
                    if own:
                        yield _Blank("slot", name, strip, f"{at} {way}", (way, f" {write_ranges(own)}"))


def _of_looms(looms: Sequence[Loom]) -> Iterator[_Blank]:
    """For both ends of each loom its name."""
    for loom in looms:
        for end in ("card end", "far end"):
            yield _Blank("loom", loom.room, f"looms of {loom.frame}", f"{loom.name}, {end}", (loom.name, ""))


def _of_tie_lines(wiring: Wiring) -> Iterator[_Blank]:
    """At both ends of each tie line what its lines carry in this build; those that carry nothing keep their number."""
    carried: dict[tuple[str | None, str, int], list[Carries]] = {}
    for channel, far in wiring.far.items():
        for hop in far.hops:
            carried.setdefault((channel.room, hop.tie.name, hop.far), []).extend(channel.carries)
    for room in wiring.rooms:
        name = room.survey.room
        for tie in room_of(room.survey).tie_line:
            for end in (tie.far, tie.near):
                for line, number in zip(tie.far.labels(), end.labels(), strict=True):
                    words = _named(carried.get((name, tie.name, line), []))
                    yield _Blank("tie line", name, f"tie line {tie.name}, {end.at}", str(number), words)


def _of_cables(rooms: Sequence[Standing]) -> Iterator[_Blank]:
    """For both ends of each cable its number."""
    for room in rooms:
        for cable in room_of(room.survey).cable:
            for end in ("card end", "other end"):
                yield _Blank("cable", room.survey.room, "cables", f"{cable.number}, {end}", (cable.number, ""))
