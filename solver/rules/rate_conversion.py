"""Sources that share no clock are served by inputs that convert from any."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.room.kind import Kind
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey
from solver.room.traits import CONVERTED, Trait
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import Work
from solver.rules.limit import Limit
from solver.rules.of_traits import OfTraits


@dataclass(frozen=True)
class OnTheClock(LimitWish):
    """A need whose source is given the clock of the frames. `index` counts entries of the file from 0."""

    sort = "clock"
    order = 19
    work: ClassVar[Work] = "relax a limit"

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, "asynchronous"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["need"][self.index].pop("asynchronous", None)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell('"{name}": give its source the clock of the frames', name=self.need(survey).name)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "true", None

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" has no common clock', name=self.need(survey).name)


class RateConversion(OfTraits):
    """Rate conversion for sources without a common clock."""

    code = "rate-conversion"

    def own(self, need: Need) -> tuple[Trait, ...]:
        return tuple(trait for trait in need.traits if trait == CONVERTED)

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need without a common clock: no channel that does not convert."""
        for limit in super().limits(survey):
            need = next(need for need in survey.needs if need.name == limit.place.subject)
            yield replace(limit, source=("need", need.index, "asynchronous"), give=range(1, 2))

    def wish(self, limit: Limit) -> LimitWish | None:
        """A common clock."""
        return OnTheClock(int(limit.source[1])) if limit.source else None

    def separates(self, survey: Survey, kind: Kind) -> object:
        """Which of its inputs convert, where needs ask for that."""
        own = super().separates(survey, kind)
        asked = any(self.own(need) for need in survey.needs)
        return (own, [port.rate_conversion for port in kind.card.ports]) if asked else own

    def is_set(self, frame: FrameStanding, use: Use) -> str:
        return "without rate conversion"

    def told(self, need: Need) -> str:
        return "has no common clock"
