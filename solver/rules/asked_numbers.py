"""Needs that ask for certain numbers of a frame have their channels on those, each on its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, LimitWish
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
    """Its channels may have any numbers."""

    sort = "numbers"
    order = 11
    key = "numbers"

    def left_open(self, survey: Survey) -> Said:
        return "let its channels have other numbers" if self.need(survey).demand > 1 else "let it have another number"

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        need = self.need(survey)
        assert need.wanted is not None
        return _asked(survey, need, need.wanted), None

    def kept(self, survey: Survey) -> Message:
        need = self.need(survey)
        assert need.wanted is not None
        return tell('"{name}" asks for {numbers}', name=need.name, numbers=_asked(survey, need, need.wanted))


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
