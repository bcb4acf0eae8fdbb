"""Needs whose channels are to have one latency go through cards of one, so that microphones stay in phase."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.kind import Kind
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey
from solver.room.traits import LATENCY
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import Work
from solver.rules.alike import Alike
from solver.rules.limit import KeyPath, Limit


@dataclass(frozen=True)
class SeveralLatencies(LimitWish):
    """A need that does with cards of several latencies. `index` counts entries of the file from 0."""

    sort = "latency"
    order = 18
    work: ClassVar[Work] = "relax a limit"

    index: int

    def need(self, survey: Survey) -> Need:
        """The need with that index in the file."""
        return next(need for need in survey.needs if need.index == self.index)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "need", self.index, "same_latency"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        room["need"][self.index]["same_latency"] = False

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell('"{name}": let its channels have different latencies', name=self.need(survey).name)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "true", "false"

    def kept(self, survey: Survey) -> Message:
        return tell('"{name}" asks for cards of one latency', name=self.need(survey).name)


class SameLatency(Alike):
    """Channels of one latency."""

    code = "same-latency"
    of = LATENCY

    def source(self, need: Need) -> KeyPath:
        return "need", need.index, "same_latency"

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The latency of cards that serve a need beside others."""
        found: set[str] = set()
        for need in (need for need in survey.needs if need.one_latency):
            seats = [seat for frame, use in standing.uses(need) if (seat := frame.occupant(use.slot)) is not None]
            kinds = {seat.kind.id: seat.kind for seat in seats}
            found |= {kind.id for kind in kinds.values() if kind.latency is None} if len(kinds) > 1 else set()
        return ((Unknown("latency", "latency", card), standing.cards[card]) for card in sorted(found))

    def wish(self, limit: Limit) -> LimitWish | None:
        """Several latencies."""
        return SeveralLatencies(int(limit.source[1])) if limit.source else None

    def separates(self, survey: Survey, kind: Kind) -> object:
        """Its latency, where needs ask for one."""
        own = super().separates(survey, kind)
        asked = any(one.of[0] == self.of for need in survey.needs for one in need.one_of)
        return (own, kind.latency) if asked else own

    def told(self, need: Need) -> Said:
        return "asks for cards of one latency"

    def through(self, frame: FrameStanding, use: Use) -> str:
        seat = frame.occupant(use.slot)
        if seat is None or seat.kind.latency is None:
            return f"{seat.kind.id if seat else 'a card'} (not known)"
        return f"{seat.kind.id} ({seat.kind.latency} samples)"
