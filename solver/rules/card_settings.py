"""Needs that ask for settings of cards are served by channels that are set so."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.room.hardware import PHANTOM
from solver.room.kind import Kind
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey
from solver.room.traits import NOT_SET, Trait
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import Work, enumerated
from solver.rules.limit import Limit
from solver.rules.of_traits import OfTraits


def _asked(need: Need) -> tuple[Trait, ...]:
    return tuple(trait for trait in need.traits if trait[0] not in (PHANTOM, *NOT_SET))


def _told(need: Need) -> str:
    return f"asks for {enumerated([f'{setting} {choice}' for setting, choice in _asked(need)])}"


@dataclass(frozen=True)
class AnySettings(LimitWish):
    """A need that does with any settings of cards. `index` counts entries of the file from 0."""

    sort = "card settings"
    order = 17
    work: ClassVar[Work] = "relax a limit"

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, "settings"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["need"][self.index].pop("settings", None)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        need = self.need(survey)
        settings = enumerated([setting for setting, _ in _asked(need)])
        return tell('"{name}": let its channels have any {settings}', name=need.name, settings=settings)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return ", ".join(choice for _, choice in _asked(self.need(survey))), None

    def kept(self, survey: Survey) -> Message:
        need = self.need(survey)
        return tell('"{name}" {asks}', name=need.name, asks=_told(need))


class CardSettings(OfTraits):
    """Channels that are set as needs ask for."""

    code = "card-settings"

    def own(self, need: Need) -> tuple[Trait, ...]:
        return _asked(need)

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need that asks for settings: no channel that is set otherwise."""
        for limit in super().limits(survey):
            need = next(need for need in survey.needs if need.name == limit.place.subject)
            yield replace(limit, source=("need", need.index, "settings"), give=range(1, 2))

    def wish(self, limit: Limit) -> LimitWish | None:
        """Any settings."""
        return AnySettings(int(limit.source[1])) if limit.source else None

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What can be set on it, of what needs ask for."""
        own = super().separates(survey, kind)
        asked = {setting for need in survey.needs for setting, _ in need.traits}
        sets = [
            (s.setting.direction, s.setting.name, s.setting.every, s.setting.usual, s.places)
            for s in kind.switches
            if s.setting.name in asked
        ]
        return (own, sets) if sets else own

    def is_set(self, frame: FrameStanding, use: Use) -> str:
        pieces = []
        for setting, choice in self.own(use.need):
            there = frame.choice(use, setting)
            if there is None:
                pieces.append(f"without a {setting} to set")
            elif there != choice:
                pieces.append(f"set to {setting} {there}")
        return " and ".join(pieces)

    def told(self, need: Need) -> str:
        return _told(need)
