"""Needs whose channels come as pairs have each on an odd number and the next one, of one card."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import LimitWish
from solver.rules.limit import Draft, Limit, Number, Tie
from solver.rules.wanted import Channels, NumbersLeftOpen, OfNumbers, at_most, card_of, follows, later, need_of


class PairsApart(NumbersLeftOpen):
    """The channels of its pairs may have any numbers."""

    sort = "pairs"
    order = 15
    key = "pairs"
    implies_latency = True

    def left_open(self, survey: Survey) -> Said:
        return "let its pairs be parted"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" asks for pairs of an odd number and the next one', name=self.need(survey).name)


class Pairs(OfNumbers):
    """Channels in pairs; the last of an odd count is on an odd number by itself."""

    code = "pairs"
    key = "pairs"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.pairs

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, pairs=False)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        for place, channel in enumerate(channels):
            number = channel[1].number or 0
            if place % 2 == 0:
                good = number % 2 == 1
            else:
                before = channels[place - 1]
                first = before[1].number or 0
                good = number == first + 1 and first % 2 == 1 and card_of(channel) == card_of(before)
            if not good:
                yield place

    def step(self, wanted: Wanted, channel: int) -> int:
        return 1 if channel % 2 else 2

    def tie(self, wanted: Wanted, channel: int) -> Tie:
        return Tie.CARD if channel % 2 else Tie.NONE

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """An even number only with the odd one before it, of one card; after an odd one alone no other."""
        kept = [draft.kept(limit)]
        few = need_of(draft.survey, limit)[0].demand <= 2
        beyond = [] if few else later(draft, numbers)
        if few:
            at_most(draft, limit, kept, [(1, own.term) for own in numbers if own.number % 2], 1)
        for place, own in enumerate(numbers):
            if own.number % 2 == 0:
                before = [(-1, numbers[place - 1].term)] if follows(numbers, place) else []
                at_most(draft, limit, kept, [(1, own.term), *before], 0)
                continue
            load, after = [(1, own.term)], place + 1
            if follows(numbers, after):
                even = numbers[after].term
                at_most(draft, limit, kept, [(1, own.term), (1, even), (-1, draft.on_one_card(own))], 1)
                load.append((-1, even))
                after += 1
            if beyond and after < len(numbers):
                at_most(draft, limit, kept, [*load, (1, beyond[after])], 1)

    def wish(self, limit: Limit) -> LimitWish | None:
        """No pairs."""
        return PairsApart(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return "asks for pairs of an odd number and the next one on one card"
