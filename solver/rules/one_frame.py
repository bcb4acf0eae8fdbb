"""Pairs and what comes back on its own numbers are in one frame, unless the need may be split."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, Document, LimitWish
from solver.rules.limit import Draft, Limit, Number
from solver.rules.pairs import Pairs
from solver.rules.returns_on import ReturnsOn
from solver.rules.wanted import Channels, NumbersLeftOpen, Unshaped, at_most


class SeveralFrames(NumbersLeftOpen):
    """Its channels may be in several frames."""

    sort = "one_frame"
    order = 19
    key = "may_split"

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["need"][self.index][self.key] = True

    def left_open(self, survey: Survey) -> Said:
        return "let it be split between frames"

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return None, "true"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" is to be in one frame', name=self.need(survey).name)


class OneFrame(Unshaped):
    """Needs in one frame."""

    code = "one-frame"
    key = "may_split"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.one_frame

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, one_frame=False)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        for place, (frame, _) in enumerate(channels):
            if frame is not channels[0][0]:
                yield place

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """One frame at most has any of its channels, while it has pairs or comes back on its own numbers."""
        own: dict[int, list[tuple[int, Any]]] = {}
        for number in numbers:
            own.setdefault(number.site.index, []).append((1, number.term))
        if len(own) < 2:
            return
        used = [(1, draft.any_of(load)) for load in own.values()]
        for reason in (each for rule in (Pairs(), ReturnsOn()) for each in rule.limits(draft.survey)):
            if reason.place == limit.place:
                at_most(draft, limit, [draft.kept(limit), draft.kept(reason)], used, 1)

    def wish(self, limit: Limit) -> LimitWish | None:
        """Several frames."""
        return SeveralFrames(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return "is to be in one frame"
