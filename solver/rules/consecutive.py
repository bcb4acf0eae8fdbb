"""Needs that ask for a run of numbers have their channels on numbers of one frame that follow each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import LimitWish
from solver.rules.limit import Draft, Limit, Number, Tie
from solver.rules.wanted import Channels, NumbersLeftOpen, OfNumbers, at_most, follows


class BrokenRun(NumbersLeftOpen):
    """Its numbers need not follow each other."""

    sort = "run"
    order = 14
    key = "consecutive"
    with_it = ("bank_of", "one_card")

    def left_open(self, survey: Survey) -> Said:
        return "let its numbers be no unbroken run"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" asks for one unbroken run of numbers', name=self.need(survey).name)


class Consecutive(OfNumbers):
    """Channels in one unbroken run."""

    code = "consecutive"
    key = "consecutive"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.consecutive

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, consecutive=False, bank=1, one_card=False)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        for place in range(1, len(channels)):
            (frame, before), (other, use) = channels[place - 1], channels[place]
            if frame is not other or use.number != (before.number or 0) + 1:
                yield place

    def tie(self, wanted: Wanted, channel: int) -> Tie:
        return Tie.NEXT

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """A number carries a channel only if the one before it does or the run begins there, and it begins once."""
        kept = [draft.kept(limit)]
        for own, begins, place in zip(numbers, draft.one_at_most(len(numbers)), range(len(numbers)), strict=True):
            before = [(-1, numbers[place - 1].term)] if follows(numbers, place) else []
            at_most(draft, limit, kept, [(1, own.term), (-1, begins), *before], 0)

    def wish(self, limit: Limit) -> LimitWish | None:
        """No run."""
        return BrokenRun(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return "asks for one unbroken run of numbers"
