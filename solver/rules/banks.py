"""Runs that are to begin a bank begin on the first number of one: 1, 9, 17 and so on where banks are of 8."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, LimitWish
from solver.rules.consecutive import Consecutive
from solver.rules.limit import Draft, Limit, Number
from solver.rules.wanted import Channels, NumbersLeftOpen, OfNumbers, at_most, follows


def _bank(bank: int) -> Message:
    text = "begin a bank of {bank}: on 1, {second}, {third} and so on"
    return tell(text, bank=bank, second=bank + 1, third=2 * bank + 1)


class AnyBegin(NumbersLeftOpen):
    """Its run may begin anywhere."""

    sort = "bank"
    order = 12
    key = "bank_of"

    def _bank(self, survey: Survey) -> int:
        wanted = self.need(survey).wanted
        return 1 if wanted is None else wanted.bank

    def left_open(self, survey: Survey) -> Said:
        return tell("let its run begin anywhere, not with a bank of {bank}", bank=self._bank(survey))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return self._bank(survey), None

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" is to {bank}', name=self.need(survey).name, bank=_bank(self._bank(survey)))


class Banks(OfNumbers):
    """Runs that begin with a bank."""

    code = "banks"
    key = "bank_of"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.consecutive and wanted.bank > 1

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, bank=1)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        if channels and ((channels[0][1].number or 0) - 1) % wanted.bank:
            yield 0

    def step(self, wanted: Wanted, channel: int) -> int:
        return 1 if channel else wanted.bank

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """A number that begins no bank only after the one before it, while the need has a run."""
        runs = [draft.kept(run) for run in Consecutive().limits(draft.survey) if run.place == limit.place]
        kept = [draft.kept(limit), *runs]
        for place, own in enumerate(numbers):
            if (own.number - 1) % wanted.bank:
                before = [(-1, numbers[place - 1].term)] if follows(numbers, place) else []
                at_most(draft, limit, kept, [(1, own.term), *before], 0)

    def wish(self, limit: Limit) -> LimitWish | None:
        """Begin anywhere."""
        return AnyBegin(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell("is to {bank}", bank=_bank(wanted.bank))
