"""Phantom power reaches the needs that want it, and none that may not have it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.room.hardware import PHANTOM
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey
from solver.room.traits import Trait
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import Work
from solver.rules.limit import Limit, Unyielding
from solver.rules.of_traits import OfTraits, without

NONE: Trait = (PHANTOM, "off")
WANTED: Trait = (PHANTOM, "on")


@dataclass(frozen=True)
class NoPhantomNeeded(LimitWish):
    """A need that does with or without phantom power. `index` counts entries of the file from 0."""

    sort = "phantom"
    order = 16
    work: ClassVar[Work] = "relax a limit"

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, "phantom"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["need"][self.index]["phantom"] = "any"

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell('"{name}": let its channels be without phantom power', name=self.need(survey).name)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "wanted", "any"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" is to get phantom power', name=self.need(survey).name)


class Phantom(OfTraits):
    """Phantom power where it is wanted and nowhere that it is forbidden."""

    code = "phantom"

    def own(self, need: Need) -> tuple[Trait, ...]:
        return tuple(trait for trait in need.traits if trait[0] == PHANTOM)

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need that wants it or forbids it; what is forbidden is never offered as a way out."""
        for limit in super().limits(survey):
            need = next(need for need in survey.needs if need.name == limit.place.subject)
            if self.own(need) == (WANTED,):
                yield replace(limit, source=("need", need.index, "phantom"), give=range(1, 2))
            else:
                yield limit

    def wish(self, limit: Limit) -> LimitWish | None:
        """With or without it."""
        return NoPhantomNeeded(int(limit.source[1])) if limit.source else None

    def unyielding(self, survey: Survey) -> Iterator[Unyielding]:
        """Each need that may not get any."""
        for need in survey.needs:
            if NONE in need.traits:
                said = tell('"{name}" may get no phantom power', name=need.name)
                yield Unyielding(self.code, said, partial(_allowed, name=need.name))

    def is_set(self, frame: FrameStanding, use: Use) -> str:
        choice = frame.choice(use, PHANTOM)
        return f"set to phantom {choice}" if choice else "without phantom power"

    def told(self, need: Need) -> str:
        return "is to get phantom power" if WANTED in need.traits else "may get none"


def _allowed(survey: Survey, name: str) -> Survey:
    return without(survey, lambda need: (NONE,) if need.name == name else ())
