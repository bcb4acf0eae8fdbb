"""What is out of service: a card, a channel, a number, a loom, or something in stock."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Literal, TypeAlias

from pydantic import BeforeValidator

from solver.room.faults import quote
from solver.room.words import DIRECTIONS, Direction, Id, Noun, Text

Sort: TypeAlias = Literal["slot", "asset", "channel", "number", "loom", "stock"]
SORTS: tuple[Sort, ...] = ("slot", "asset", "channel", "number", "loom", "stock")
"""The keys of an entry of which each has one."""

ON_LINES = ("channel", "number", "loom")
"""Those that leave the cards there, and take lines alone out of service."""


def _day(value: object) -> object:
    if isinstance(value, datetime) or not isinstance(value, date | str):
        raise ValueError("must be a day, such as 2026-11-20")
    try:
        return value if isinstance(value, date) else date.fromisoformat(value)
    except ValueError:
        raise ValueError("must be a day, such as 2026-11-20") from None


Day: TypeAlias = Annotated[date, BeforeValidator(_day, json_schema_input_type=date)]


class OutOfService(Noun):
    """What is out of service.

    It is named by one key: the card in a `slot`, an `asset` by its serial number, a `channel`, a `number`, a `loom`,
    or one of an item in `stock`. Since which `date`, with what `symptom`, and in what role somebody found it.
    """

    slot: Text | None = None
    asset: Text | None = None
    channel: Text | None = None
    number: Text | None = None
    loom: Text | None = None
    stock: Id | None = None
    date: Day
    symptom: Text
    found_by: Text

    @property
    def key(self) -> Sort:
        """Which of its keys it has."""
        return next((sort for sort in SORTS if getattr(self, sort) is not None), "slot")

    @property
    def what(self) -> str:
        """What is out of service, as the file names it."""
        return str(getattr(self, self.key))

    @property
    def told(self) -> str:
        """The same in words."""
        leads = {"slot": "the card in slot", "asset": "the card with serial", "stock": "one in stock:"}
        return f"{leads.get(self.key, self.key)} {self.what}"

    @property
    def why(self) -> str:
        """Symptom, day and finder."""
        return f"{quote(self.symptom)}, found by {self.found_by} on {self.date}"


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a frame: a slot, a channel along it, or a number; of one direction, or None for both."""

    frame: str
    direction: Direction | None
    slot: int | None = None
    channel: int | None = None
    number: int | None = None


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 and int(text) else None


def spot(entry: OutOfService, frames: Collection[str]) -> Spot | None:
    """The place that a slot, a channel or a number is; None where it is not written like one.

    They are written ``A:5``, ``A:5.3`` and ``A:37``, or with a direction ``A:in:5.3`` and ``A:in:37``.
    """
    name, _, place = entry.what.rpartition(":")
    direction: Direction | None = None
    lead, _, side = name.rpartition(":")
    if name not in frames and side in DIRECTIONS and entry.key != "slot":
        name, direction = lead, side
    slot, _, channel = place.partition(".")
    counts = _whole(slot), _whole(channel)
    if entry.key == "channel":
        return Spot(name, direction, *counts) if all(counts) else None
    if channel or counts[0] is None:
        return None
    return Spot(name, None, counts[0]) if entry.key == "slot" else Spot(name, direction, number=counts[0])


def loom_at(frame: str, slot: int) -> str:
    """What the names of looms at a card in a slot begin with.

    A colon follows a frame that is not letters alone: slot 2 of a frame A1 is not slot 12 of A.
    """
    return f"{frame}{'' if frame.isalpha() else ':'}{slot}-"


CardChannel: TypeAlias = tuple[str, Direction, int, int]
"""A card, a direction, which of its slots, counted from 0, and the channel there."""


@dataclass(frozen=True, slots=True)
class Dead:
    """What of a frame serves nothing, by an entry, counted from 0: a channel along a slot, a number, or a plug.

    A channel is that of the card whose first slot and id are its `seat`, or of whatever stands there where none is
    said to. `plug` has by the first slot of a card what channels of it are on the loom.
    """

    entry: int
    direction: Direction | None = None
    slot: int | None = None
    channel: int | None = None
    number: int | None = None
    seat: tuple[int, str] | None = None
    plug: frozenset[CardChannel] = frozenset()

    def hits(self, place: CardChannel, first_slot: int, number: int | None) -> bool:
        """Whether a channel of a card is out of service; it stands with its first slot there, and has a number."""
        card, direction, part, channel = place
        if self.direction not in (None, direction):
            return False
        if self.plug:
            return first_slot == self.slot and place in self.plug
        if self.number is not None:
            return number == self.number
        return self.seat in (None, (first_slot, card)) and (first_slot + part, channel) == (self.slot, self.channel)


@dataclass(frozen=True)
class Frame:
    """A frame as what is out of service names it: its slots, what stands there, and the plugs of cards by their names.

    `seats` has by slot the first slot and the card that stands there, `gone` first slots of those that are out of
    service themselves, `plugs` the channels on connectors.
    """

    name: str
    slots: int
    seats: Mapping[int, tuple[int, str]]
    gone: Collection[int]
    plugs: Callable[[], Mapping[str, frozenset[CardChannel]]]

    def dead(self, entries: Collection[OutOfService], frames: Collection[str]) -> tuple[Dead, ...]:
        """What of it serves nothing."""
        found: list[Dead] = []
        for n, entry in enumerate(entries):
            if entry.key == "loom":
                for slot in range(1, self.slots + 1):
                    lead = loom_at(self.name, slot)
                    if entry.what.startswith(lead) and (plug := self.plugs().get(entry.what.removeprefix(lead))):
                        found.append(Dead(n, slot=slot, plug=plug))
            elif entry.key in ("channel", "number"):
                at = spot(entry, frames)
                seat = None if at is None or at.slot is None else self.seats.get(at.slot)
                if at is not None and at.frame == self.name and (seat is None or seat[0] not in self.gone):
                    found.append(Dead(n, at.direction, at.slot, at.channel, at.number, seat))
        return tuple(found)
