"""Needs that ask for certain numbers of a frame have their channels on those, each on its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from math import lcm
from typing import Any

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, Document, LimitWish
from solver.room.words import write_ranges
from solver.rules.limit import Draft, Limit, Number
from solver.rules.wanted import Channels, NumbersLeftOpen, OfNumbers, at_most, number_text


def _asked(survey: Survey, need: Need, wanted: Wanted) -> Message:
    """The numbers in words, such as ``inputs 1-4, 9 of frame A``."""
    numbers = wanted.numbers(need.demand)
    return number_text(survey, need, wanted.frame or 0, numbers[0] if len(numbers) == 1 else _in_order(numbers))


def _in_order(numbers: Sequence[int]) -> str:
    """Numbers as runs, in the order in which they stand."""
    parts: list[list[int]] = []
    for number in numbers:
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(write_ranges(part) for part in parts)


class OtherNumbers(NumbersLeftOpen):
    """Its channels may have any numbers, or those that it asks for, all of them moved by as much."""

    sort = "numbers"
    order = 11
    key = "numbers"

    def asked(self, survey: Survey) -> tuple[Need, Wanted, tuple[int, ...]]:
        """The need, what it asks for, and the numbers in their order."""
        need = self.need(survey)
        assert need.wanted is not None
        return need, need.wanted, need.wanted.numbers(need.demand)

    def instead(self, survey: Survey, after: Survey) -> Iterator[Change]:
        """By how much its numbers may move, up or down, where numbers are that none of the other needs asks for."""
        need, wanted, _ = self.asked(survey)
        left = next((other for other in after.needs if other.name == need.name), None)
        site = after.site(survey.frames[wanted.frame or 0].name)
        if left is None or site is None:
            return
        asked = wanted.numbers(left.demand)
        there = {n for layout in site.candidates for block in layout.blocks(need.direction) for n in block.numbers}
        for other in after.needs:
            if other.direction == need.direction and other.wanted is not None and other.wanted.frame == site.index:
                there -= {*other.wanted.numbers(other.demand)}
        step = lcm(2 if wanted.pairs else 1, wanted.bank if wanted.consecutive else 1)
        far = max(*there, *asked) // step
        for by in sorted((step * times for times in range(-far, far + 1) if times), key=lambda by: (abs(by), by)):
            if all(number + by in there for number in asked):
                yield Change(self, choice=by)

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        if not isinstance(change.choice, int):
            super().apply(survey, document, room, change, number)
            return
        _, wanted, asked = self.asked(survey)
        document_need = room["need"][self.index]
        if wanted.first is not None:
            key = "from" if "from" in document_need["numbers"] else "from_"
            document_need["numbers"][key] = wanted.first + change.choice
        elif isinstance(document_need["numbers"], str):
            document_need["numbers"] = _moved(asked, change.choice)
        else:
            document_need["numbers"]["list"] = _moved(asked, change.choice)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        if not isinstance(change.choice, int):
            return super().told(survey, change, instead)
        need, wanted, asked = self.asked(survey)
        first = asked[0] + change.choice
        if len(asked) == 1:
            text = "let it have {number} in place of {asked}"
        elif asked == tuple(range(asked[0], asked[0] + len(asked))):
            text = "let it begin at {number} in place of {asked}"
        else:
            text = "let it have {numbers}, each {by} " + ("higher" if change.choice > 0 else "lower")
        which = "the nearest at this cost" if change.dearer_nearer else "the nearest that works"
        return tell(
            f'"{{name}}": {text}, {which}',
            name=need.name,
            number=number_text(survey, need, wanted.frame or 0, first),
            asked=asked[0],
            numbers=number_text(survey, need, wanted.frame or 0, _moved(asked, change.choice)),
            by=abs(change.choice),
        )

    def left_open(self, survey: Survey) -> Said:
        return "let its channels have other numbers" if self.need(survey).demand > 1 else "let it have another number"

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        need, wanted, asked = self.asked(survey)
        moved = None
        if isinstance(change.choice, int):
            numbers = asked[0] + change.choice if len(asked) == 1 else _moved(asked, change.choice)
            moved = number_text(survey, need, wanted.frame or 0, numbers)
        return _asked(survey, need, wanted), moved

    def kept(self, survey: Survey) -> Message:
        need, wanted, _ = self.asked(survey)
        return tell('"{name}" asks for {numbers}', name=need.name, numbers=_asked(survey, need, wanted))


def _moved(asked: Sequence[int], by: int) -> str:
    """Numbers that are all moved by as much, as runs in their order."""
    return _in_order([number + by for number in asked])


class AskedNumbers(OfNumbers):
    """Channels on the numbers that are asked for."""

    code = "asked-numbers"
    key = "numbers"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.frame is not None

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, frame=None, listed=(), first=None)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        for place, (frame, use) in enumerate(channels):
            if frame.site.index != wanted.frame or use.number not in wanted.numbers(use.need.demand):
                yield place

    def on(self, wanted: Wanted, channel: int) -> tuple[int, int] | None:
        listed = wanted.numbers(channel + 1)
        return wanted.frame or 0, listed[channel] if channel < len(listed) else 0

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """No other number, and of those in their order none without the one before it."""
        kept = [draft.kept(limit)]
        there = {own.number: own.term for own in numbers if own.site.index == wanted.frame}
        asked = wanted.listed or range(wanted.first or 1, max(there, default=0) + 1)
        others = [(1, own.term) for own in numbers if own.site.index != wanted.frame or own.number not in asked]
        if others:
            at_most(draft, limit, kept, others, 0)
        for before, number in pairwise(asked):
            if number in there:
                at_most(draft, limit, kept, [(1, there[number]), (-1, there.get(before, 0))], 0)

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """What serves what, in frames that do not say it and where not every way was tried."""
        return ((Unknown("numbers", "what serves what", name), 1) for name in standing.untried)

    def wish(self, limit: Limit) -> LimitWish | None:
        """Any numbers."""
        return OtherNumbers(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell("asks for {numbers}", numbers=_asked(survey, need, wanted))
