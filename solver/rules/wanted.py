"""What rules have in common that keep what needs ask of their numbers: which limits, which rows, how it is given up."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.traits import LATENCY
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import SIDES, Work
from solver.rules.limit import Draft, Limit, Load, Number, Place, Reading, Rule, Shape, Term, Tie


@dataclass(frozen=True)
class NumbersLeftOpen(LimitWish):
    """A need that asks for less of its numbers. `index` counts entries of the file from 0."""

    work: ClassVar[Work] = "relax a limit"
    key: ClassVar[str]
    """The key of the need that goes."""
    with_it: ClassVar[tuple[str, ...]] = ()
    """Keys that mean nothing without it."""
    implies_latency: ClassVar[bool] = False
    """Whether it implies one latency, which then stays asked for: that gives way by itself."""

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, self.key]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        for key in (self.key, *self.with_it):
            room["need"][self.index].pop(key, None)
        for need in survey.needs if self.implies_latency else ():
            own = self.index in (need.index, _sent_from(survey, need))
            if own and any(one.of[0] == LATENCY for one in need.one_of):
                room["need"][need.index].setdefault("same_latency", True)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell('"{name}": {open}', name=self.need(survey).name, open=self.left_open(survey))

    @abstractmethod
    def left_open(self, survey: Survey) -> Said:
        """What may then be."""

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "true", None


def _sent_from(survey: Survey, need: Need) -> int | None:
    """The index of the need that comes back on one."""
    sends = survey.sends_of(need)
    return None if sends is None else sends.index


Channels = Sequence[tuple[FrameStanding, Use]]
"""The channels of a need in order, each with its frame."""


class OfNumbers(Rule):
    """A rule with one limit for each need that asks for something of its numbers: no channel that is otherwise."""

    speaks_of = "lines"
    key: ClassVar[str]
    """The key of the need that asks for it."""

    @abstractmethod
    def concerns(self, wanted: Wanted) -> bool:
        """Whether a need asks for it."""

    @abstractmethod
    def without(self, wanted: Wanted) -> Wanted:
        """The same without asking for it."""

    @abstractmethod
    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        """The channels of a need that are otherwise, counted from 0."""

    def on(self, wanted: Wanted, channel: int) -> tuple[int, int] | None:
        """The frame, by its index, and the number that a channel has to be on, counted from 0; None where any will do.

        Number 0 is none.
        """
        return None

    def step(self, wanted: Wanted, channel: int) -> int:
        """The number of a channel is 1 beyond a multiple of it."""
        return 1

    def tie(self, wanted: Wanted, channel: int) -> Tie:
        """Where a channel after the first lies beside the one before it."""
        return Tie.NONE

    @abstractmethod
    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """The same as rows, slot by slot, on the numbers that may carry the need."""

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need that asks for it: no channel that is otherwise."""
        for need in survey.needs:
            if need.wanted is not None and self.concerns(need.wanted) and need.demand:
                place = Place(subject=need.name, direction=need.direction)
                source = ("need", need.index, self.key)
                yield Limit(self.code, place, 0, "channels", source=source, give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that are otherwise; not judged where a frame has no numbers, or where some ways were not tried."""
        need, wanted = need_of(survey, limit)
        channels = standing.in_order(need)
        if any(use.number is None for _, use in channels):
            return None
        astray = sum(1 for _ in self.astray(standing, wanted, channels))
        return None if astray and standing.untried else astray

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Rows on the numbers that carry the need, unless its shape is all that there is to say."""
        need, wanted = need_of(draft.survey, limit)
        if not draft.placed(need):
            self.state(draft, limit, wanted, draft.numbers(need))

    def relax(self, draft: Draft, limit: Limit) -> None:
        """Nothing: over runs nothing says which numbers carry a need."""

    def shape(self, survey: Survey, limit: Limit) -> Shape:
        """What the need asks of its channels."""
        _, wanted = need_of(survey, limit)
        return Shape(partial(self.on, wanted), partial(self.step, wanted), partial(self.tie, wanted))

    def lifted(self, survey: Survey) -> Survey | None:
        """The room as if no need asked for it."""
        if not any(need.wanted is not None and self.concerns(need.wanted) for need in survey.needs):
            return None
        return replace(
            survey,
            needs=tuple(
                need if need.wanted is None else replace(need, wanted=self._left(need.wanted)) for need in survey.needs
            ),
        )

    def _left(self, wanted: Wanted) -> Wanted | None:
        left = self.without(wanted)
        return left if left.anything else None

    # How it is told

    @abstractmethod
    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        """What the need asks for, after its name."""

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        need, wanted = need_of(survey, reading.limit)
        asks = self.told(survey, need, wanted)
        channels = [] if standing is None else standing.in_order(need)
        first = None if standing is None else next(self.astray(standing, wanted, channels), None)
        if standing is None or first is None:
            text = 'need "{name}" {asks}: {used} channels are not so'
            return tell(text, name=need.name, asks=asks, used=reading.used)
        others = "1 more is not so" if reading.used == 2 else "{more} more are not so"
        more = tell(f", and {others}", more=reading.used - 1) if reading.used > 1 else ""
        return tell(
            'need "{name}" {asks}: its channel {channel} is on {number}{more}',
            name=need.name,
            asks=asks,
            channel=first + 1,
            number=self.found(standing, wanted, channels, first),
            more=more,
        )

    def found(self, standing: Standing, wanted: Wanted, channels: Channels, place: int) -> Said:
        """Where a channel is that is otherwise."""
        frame, use = channels[place]
        return number_text(standing.survey, use.need, frame.site.index, use.number or 0)

    def over(self, survey: Survey, reading: Reading) -> Message:
        need, wanted = need_of(survey, reading.limit)
        return tell('"{name}" {asks}', name=need.name, asks=self.told(survey, need, wanted))


class Unshaped(OfNumbers):
    """A rule that the shape of a need cannot tell: it has rows in any case."""

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Rows on the numbers that carry the need."""
        need, wanted = need_of(draft.survey, limit)
        draft.placed(need)
        self.state(draft, limit, wanted, draft.numbers(need))


def need_of(survey: Survey, limit: Limit) -> tuple[Need, Wanted]:
    """The need that a limit speaks of, and what it asks of its numbers."""
    need = next(need for need in survey.needs if need.name == limit.place.subject)
    assert need.wanted is not None
    return need, need.wanted


def card_of(channel: tuple[FrameStanding, Use]) -> tuple[int, int | None]:
    """The card that a channel is on: the frame's index and its first slot."""
    frame, use = channel
    seat = frame.occupant(use.slot)
    return frame.site.index, None if seat is None else seat.slot


def number_text(survey: Survey, need: Need, frame: int, numbers: int | str) -> Message:
    """A number, or several in words, such as ``input 5 of frame A``; the frame where a room has several."""
    side = SIDES[need.direction] if isinstance(numbers, str) else SIDES[need.direction][:-1]
    text = f"{side} {{numbers}}"
    if len(survey.frames) > 1:
        return tell(f"{text} of frame {{frame}}", numbers=numbers, frame=survey.frames[frame].name)
    return tell(text, numbers=numbers)


def at_most(draft: Draft, limit: Limit, kept: Sequence[Term], load: Load, bound: int) -> None:
    """Keep a load within a bound where what is asked for is kept."""
    row = replace(limit, bound=bound, source=None)
    draft.hold_if(row, [term for term in kept if not isinstance(term, int)], load)


def later(draft: Draft, numbers: Sequence[Number]) -> list[Term]:
    """For each place among some numbers whether any from there on carries a channel; one more for the end."""
    found: list[Term] = [0]
    for number in reversed(numbers):
        found.append(draft.any_of([(1, number.term), (1, found[-1])]))
    return found[::-1]


def follows(numbers: Sequence[Number], place: int) -> bool:
    """Whether the number at a place is the one after that before it, in the same frame."""
    if not 0 < place < len(numbers):
        return False
    before, here = numbers[place - 1], numbers[place]
    return before.site is here.site and here.number == before.number + 1
