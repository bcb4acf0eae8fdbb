"""Blanks in the empty slots of a frame."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.relax.other import OtherWish
from solver.room.message import Message, Said, tell
from solver.room.survey import Survey
from solver.room.wish import Change, Document, Wish, frame_in, room_path
from solver.room.words import Work
from solver.rules.cooling import has_open_slots


@dataclass(frozen=True)
class Blanks(OtherWish):
    """Blanks in the empty slots of a frame, whose cooling is no longer counted with open ones then."""

    sort = "blanks"
    order = 85
    work: ClassVar[Work] = "lid off: fit blanks"
    words = "blanks"

    frame: str

    @classmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        """For each frame with slots that let air by."""
        yield from (Change(cls(site.name)) for site in survey.frames if has_open_slots(site))

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "blanks"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        frame_in(room, self.frame)["blanks"] = True

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell("put blanks into the empty slots of frame {frame}", frame=self.frame)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return "no blanks", "blanks"
