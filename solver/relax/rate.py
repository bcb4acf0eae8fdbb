"""Another sample rate."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterator, Sequence
from decimal import Decimal
from typing import Any, ClassVar

from solver.relax.other import OtherWish
from solver.room.message import Amount, Message, Said, tell
from solver.room.survey import Survey
from solver.room.wish import Change, Document, Wish
from solver.room.words import SAMPLE_RATES, Work


class OtherRate(OtherWish):
    """A lower sample rate of another family."""

    sort = "rate"
    order = 50
    work: ClassVar[Work] = "change the sample rate"
    words = "a lower sample rate"

    @classmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        families = {family for board in survey.hardware.board for family in board.limits}
        for rate, family in sorted(SAMPLE_RATES.items(), reverse=True):
            if rate < survey.sample_rate and family != survey.family and family in families:
                yield Change(cls(), 1, rate)

    def stands_for(self, change: Change) -> Hashable | None:
        """Its family, of which the highest rate is tried first."""
        return SAMPLE_RATES[int(change.choice or 0)]

    def path(self, survey: Survey) -> list[str | int]:
        return ["sample_rate"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        (room if room.get("sample_rate") is not None else document)["sample_rate"] = change.choice

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        before, after = self.values(survey, change)
        return tell("run at {after} instead of {before}", before=before or "", after=after or "")

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return Amount(survey.sample_rate, "Hz"), Amount(int(change.choice or 0), "Hz")
