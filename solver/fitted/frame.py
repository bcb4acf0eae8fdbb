"""One frame of a build: its cards, their channels and numbers, and what can serve."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Mapping, Sequence, Set
from dataclasses import dataclass, field
from functools import cached_property

from solver.fitted.cards_set import CardSwitch, StraySet, told
from solver.fitted.serving import Line
from solver.fitted.settings import Stray
from solver.room.build import BuiltFrame, CardSet
from solver.room.hardware import Board
from solver.room.kind import Channel, Kind
from solver.room.straps import NO_BLOCK, Block, Layout
from solver.room.survey import FrameSite, Need
from solver.room.words import DIRECTIONS, MOST_CHANNELS, Direction


@dataclass(frozen=True, slots=True)
class Seated:
    """A card in its first slot."""

    slot: int
    kind: Kind

    @property
    def covers(self) -> range:
        """Every slot that the card takes."""
        return range(self.slot, self.slot + self.kind.span)


@dataclass(frozen=True, slots=True)
class Use:
    """A card channel that is to serve a need; `number` is None where it has none, `channel` where there is none."""

    need: Need
    slot: int
    index: int
    channel: Channel | None
    number: int | None


@dataclass(frozen=True)
class FrameStanding:
    """One frame of a build. `layout` is None when its settings are not known, so that it has no numbers.

    `named` are the channels that are to serve, `uses` those of them that do: no more than a need asks for, each once,
    and only what can. `strays` tells what is wrong with its settings, `stray_sets` with those of its cards. In a slot
    that several cards take, the one that begins there counts, else the first.
    """

    site: FrameSite
    built: BuiltFrame
    board: Board
    layout: Layout | None
    seats: tuple[Seated, ...]
    named: tuple[Use, ...] = ()
    uses: tuple[Use, ...] = ()
    strays: tuple[Stray, ...] = ()
    set_to: Mapping[CardSwitch, Collection[str]] = field(default_factory=dict, compare=False)
    """The choices that switches of its cards may have, by the card's first slot; others stand as cards come."""
    stray_sets: tuple[StraySet, ...] = ()
    _channels: dict[Direction, tuple[tuple[int, Channel, int | None], ...]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _lines: dict[Direction, list[Line]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _answered: dict[Direction, frozenset[int]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def block(self, direction: Direction, slot: int) -> Block:
        """The block of a slot; none outside the chassis or without legal settings."""
        if self.layout is None or slot not in self.site.slots:
            return NO_BLOCK
        return self.layout.block(direction, slot)

    def channels(self, direction: Direction) -> tuple[tuple[int, Channel, int | None], ...]:
        """Slot, channel and number of every card channel of one direction; None where it does not come to the host."""
        if direction not in self._channels:
            last = self.last(direction)
            self._channels[direction] = tuple(
                (slot, channel, number if number is not None and number <= last else None)
                for seat in self.seats
                for part, slot in enumerate(seat.covers)
                if self.occupant(slot) is seat
                for channel in self._set(seat, direction, part)
                for number in (self.on_board(direction, slot, channel.index),)
            )
        return self._channels[direction]

    def on_board(self, direction: Direction, slot: int, index: int) -> int | None:
        """The number that the board gives a channel of a slot, whether or not it comes to the host."""
        block = self.block(direction, slot)
        return block.first + index - 1 if index <= block.width else None

    def last(self, direction: Direction) -> int:
        """The last number that comes to the host; of a frame that is cabled to none the last that there can be."""
        reach = self.site.reach.get(self.built.board)
        return MOST_CHANNELS if reach is None else reach[direction]

    def _set(self, seat: Seated, direction: Direction, part: int) -> tuple[Channel, ...]:
        return seat.kind.set_to(
            direction, part, lambda switch: self.set_to.get((seat.slot, switch), (switch.setting.usual,))
        )

    def choice(self, use: Use, setting: str) -> str | None:
        """What a setting is at where a channel is to serve; None where its card has no such setting."""
        return self.set_on(use.slot, use.need.direction, use.index).get(setting)

    def set_on(self, slot: int, direction: Direction, index: int) -> dict[str, str]:
        """What is set for a card channel, by setting; of several choices that are left open the first by name."""
        seat = self.occupant(slot)
        if seat is None:
            return {}
        return {
            switch.setting.name: min(self.set_to.get((seat.slot, switch), (switch.setting.usual,)))
            for switch in seat.kind.switches_at(direction, slot - seat.slot, index)
        }

    def choices(self, seat: Seated) -> dict[CardSwitch, str]:
        """What everything that can be set on a card is at."""
        every = ((seat.slot, switch) for switch in seat.kind.switches)
        return {own: min(self.set_to.get(own, (own[1].setting.usual,))) for own in every}

    def changed(self, seat: Seated) -> tuple[CardSet, ...]:
        """The settings of a card of which something is not as it comes, told whole."""
        choices = self.choices(seat)
        off = {(s.setting.name, s.setting.direction) for (_, s), to in choices.items() if to != s.setting.usual}
        own = {at: to for at, to in choices.items() if (at[1].setting.name, at[1].setting.direction) in off}
        return told(own, usual=True)

    def answered(self, direction: Direction) -> Set[int]:
        """Every number that a card channel answers."""
        if direction not in self._answered:
            numbers = (number for _, _, number in self.channels(direction) if number is not None)
            self._answered[direction] = frozenset(numbers)
        return self._answered[direction]

    def stranded(self, direction: Direction) -> int:
        """Card channels without a number."""
        return sum(number is None for _, _, number in self.channels(direction))

    def holes(self, direction: Direction) -> list[int]:
        """Numbers below the highest used one that nothing answers."""
        used = [u.number for u in self.uses if u.number is not None and u.need.direction == direction]
        return sorted(set(range(1, max(used, default=0))) - self.answered(direction))

    def lines(self, direction: Direction) -> Sequence[Line]:
        """The lines that can serve a need: all their channels are numbered."""
        if direction not in self._lines:
            numbered = {(slot, ch.index): number for slot, ch, number in self.channels(direction) if number is not None}
            frame, out = self.site.index, self.out_of_service(direction)
            self._lines[direction] = [
                Line(frame, direction, slot, ch.line, ch.line_type, numbered[slot, ch.index], self._card(slot))
                for slot, ch, _ in self.channels(direction)
                if ch.index == ch.line[0] and all((slot, i) in numbered for i in ch.line)
                if (slot, ch.index) not in out
            ]
        return self._lines[direction]

    def dead(self, direction: Direction) -> Mapping[tuple[int, int], int]:
        """By slot and place there the channels that are out of service, with the entry that says so."""
        if not self.site.dead:
            return {}
        found: dict[tuple[int, int], int] = {}
        for slot, channel, number in self.channels(direction):
            seat = self.occupant(slot)
            place = None if seat is None else (seat.kind.id, direction, slot - seat.slot, channel.index)
            for dead in self.site.dead:
                if seat is not None and place is not None and dead.hits(place, seat.slot, number):
                    found.setdefault((slot, channel.index), dead.entry)
        return found

    def out_of_service(self, direction: Direction) -> Mapping[tuple[int, int], int]:
        """The same for every channel of lines of which one is: a line is used whole."""
        dead = self.dead(direction)
        lines = ((slot, channel) for slot, channel, _ in self.channels(direction)) if dead else ()
        entries = {
            (slot, channel.index): [dead[slot, i] for i in channel.line if (slot, i) in dead] for slot, channel in lines
        }
        return {place: dead.get(place, found[0]) for place, found in entries.items() if found}

    def _card(self, slot: int) -> int:
        """The first slot of the card that counts as standing in a slot."""
        seat = self.occupant(slot)
        return 0 if seat is None else seat.slot

    def can_serve(self, use: Use) -> bool:
        """Whether a channel is there, takes the need's signal and has a number like all of its line.

        Without a layout nobody knows the numbers: then they are not asked for.
        """
        if use.channel is None or use.need.signal not in use.channel.line_type.signals:
            return False
        return self.layout is None or (use.slot, use.channel.line) in self._whole[use.need.direction]

    @cached_property
    def _whole(self) -> dict[Direction, frozenset[tuple[int, tuple[int, ...]]]]:
        return {d: frozenset((line.slot, line.channels) for line in self.lines(d)) for d in DIRECTIONS}

    def occupant(self, slot: int) -> Seated | None:
        """The card that counts as standing in a slot."""
        return self._occupants.get(slot)

    @cached_property
    def _occupants(self) -> dict[int, Seated]:
        covering = {slot: seat for seat in reversed(self.seats) for slot in seat.covers}
        return {**covering, **{seat.slot: seat for seat in self.seats}}

    def gap_margins(self) -> list[tuple[int, int]]:
        """Gap (counted from 0, left of slot 1) and its margin in mK, where something can be said."""
        found: list[tuple[int, int]] = []
        if self.layout is None:
            return found
        for gap in range(self.site.gaps):
            left, right = self.occupant(gap), self.occupant(gap + 1)
            if left is not None and left is right:
                continue
            margin = self.site.margin_mk(left.kind if left else None, right.kind if right else None, self.layout.board)
            if margin is not None:
                found.append((gap, margin))
        return found


def holes_below(frame: FrameStanding, direction: Direction) -> dict[tuple[int, int], int]:
    """Frame index and slot to the holes that use of that slot leaves below it."""
    answered = sorted(frame.answered(direction))
    blocks = {slot: frame.block(direction, slot) for slot in frame.site.slots}
    return {
        (frame.site.index, slot): block.first - 1 - bisect_left(answered, block.first)
        for slot, block in blocks.items()
        if block.width
    }
