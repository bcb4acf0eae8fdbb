"""Runs that are to lie on one card do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import LimitWish
from solver.rules.consecutive import Consecutive
from solver.rules.limit import Draft, Limit, Number, Tie
from solver.rules.wanted import Channels, NumbersLeftOpen, OfNumbers, at_most, card_of, follows


class SeveralCards(NumbersLeftOpen):
    """Its run may go over several cards."""

    sort = "one_card"
    order = 13
    key = "one_card"

    def left_open(self, survey: Survey) -> Said:
        return "let its run go over several cards"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" is to lie on one card', name=self.need(survey).name)


class OneCard(OfNumbers):
    """Runs on one card."""

    code = "one-card"
    key = "one_card"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.consecutive and wanted.one_card

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, one_card=False)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        for place, channel in enumerate(channels):
            if card_of(channel) != card_of(channels[0]):
                yield place

    def tie(self, wanted: Wanted, channel: int) -> Tie:
        return Tie.CARD

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """Two numbers that follow each other only where one card has both, while the need has a run."""
        runs = [draft.kept(run) for run in Consecutive().limits(draft.survey) if run.place == limit.place]
        kept = [draft.kept(limit), *runs]
        for place, own in enumerate(numbers):
            if follows(numbers, place):
                before = numbers[place - 1]
                load = [(1, before.term), (1, own.term), (-1, draft.on_one_card(before))]
                at_most(draft, limit, kept, load, 1)

    def wish(self, limit: Limit) -> LimitWish | None:
        """Several cards."""
        return SeveralCards(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return "is to lie on one card"
