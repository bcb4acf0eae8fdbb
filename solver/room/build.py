"""A build: what stands in each frame, how its straps are set and what serves what."""

from typing import Annotated, Literal

from pydantic import Field

from solver.room.words import (
    MOST_ITEMS,
    MOST_PARTS,
    Direction,
    Id,
    Money,
    Noun,
    Positive,
    ServedRanges,
    SlotKey,
    Text,
    parse_ranges,
)


class Service(Noun):
    """Channels of the card in a slot that serve a need, counted along that slot from 1 in the need's direction."""

    need: Text
    slot: Positive
    channels: ServedRanges

    def indices(self) -> tuple[int, ...]:
        """The channels, one by one; one that is named twice comes twice."""
        return parse_ranges(self.channels, repeats=True)


class CardSet(Noun):
    """What is set on the card in a slot: all its channels of a direction there, or those that are named."""

    slot: Positive
    setting: Text
    direction: Direction
    to: Text
    channels: ServedRanges | None = None

    def indices(self) -> tuple[int, ...]:
        """The channels, one by one; none where all are meant."""
        return () if self.channels is None else parse_ranges(self.channels, repeats=True)


class BuiltFrame(Noun):
    """One frame. `cards` maps a slot to a card id, a spanning card at its first slot.

    `setup` says of which kind of day its straps and services are, where a scenario has several; `phase` in which phase
    of buying it stands like this.
    `serves` left out lets the check find out what can serve what. What `settings` do not name stands at its default.
    """

    name: Text
    room: Text | None = None
    setup: Text | None = None
    phase: Text | None = None
    board: Id
    straps: dict[Text, Text] = {}
    cards: dict[SlotKey, Id] = {}
    settings: tuple[CardSet, ...] = Field((), max_length=MOST_ITEMS)
    serves: Annotated[tuple[Service, ...], Field(max_length=MOST_ITEMS)] | None = None

    def seats(self) -> list[tuple[int, str]]:
        """Slot and card id, in slot order."""
        return sorted((int(slot), card) for slot, card in self.cards.items())


class Ordered(Noun):
    """So many of a card, a board or a chassis that are ordered in a phase, each at a price of an offer."""

    phase: Text
    card: Id | None = None
    chassis: Id | None = None
    board: Id | None = None
    count: Positive
    price: Money

    @property
    def item(self) -> str:
        """The id of what is ordered."""
        return self.card or self.chassis or self.board or ""


class BuiltRack(Noun):
    """One rack. `at` has the lowest unit of each thing in it."""

    name: Text
    room: Text | None = None
    at: dict[Text, Positive] = {}


class Build(Noun):
    """One build file. Frames that are not used are absent."""

    format: Literal[1] = 1
    title: Text | None = None
    frame: tuple[BuiltFrame, ...] = Field((), max_length=MOST_ITEMS)
    order: tuple[Ordered, ...] = Field((), max_length=MOST_ITEMS)
    rack: tuple[BuiltRack, ...] = Field((), max_length=MOST_PARTS)


for _noun in (Service, CardSet, BuiltFrame, Ordered, BuiltRack, Build):
    _noun.model_rebuild()  # now, and not by the first of several threads to make one: pydantic 2.11 mixes them up there
