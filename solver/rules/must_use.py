"""Frames that have to be used."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Survey
from solver.room.wish import Change, Document, Wish, frame_in, room_path
from solver.room.words import Work
from solver.rules.limit import Draft, Limit, Place, Reading, Rule, frames_at, site_of, whereabouts


@dataclass(frozen=True)
class LeftUnused(Wish):
    """A frame that need not be used."""

    sort = "must_use"
    order = 25
    work: ClassVar[Work] = "relax a limit"

    frame: str

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "must_use"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        frame_in(room, self.frame)["must_use"] = False

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell("frame {frame}: let it stay unused", frame=self.frame)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "true", "false"

    def kept(self, survey: Survey) -> Message:
        return tell("frame {frame} has to be used", frame=self.frame)


class MustUse(Rule):
    """Frames that hold a card at least."""

    code = "must-use"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame that has to be used: one card at least."""
        for site in survey.frames:
            if site.spec.must_use:
                source = ("frame", site.name, "must_use")
                place = Place(frame=site.name)
                yield Limit(self.code, place, 1, "cards", at_least=True, source=source, give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Cards that stand in it."""
        return sum(len(frame.seats) for frame in frames_at(standing, limit))

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """A seat of it is taken."""
        draft.hold(limit, [(1, seat.term) for seat in draft.seats(site_of(draft.survey, limit))])

    def wants(self, survey: Survey) -> Collection[str]:
        """Any card, where a frame has to be used."""
        return survey.kinds if any(site.spec.must_use for site in survey.frames) else ()

    def wish(self, limit: Limit) -> Wish | None:
        """It may stay unused."""
        return LeftUnused(limit.place.frame or "")

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell("{where} has to be used, and no card stands in it", where=whereabouts(reading.limit))
