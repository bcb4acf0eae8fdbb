"""One more frame."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.relax.other import OtherWish
from solver.room.build import Build
from solver.room.buying import offer_more, price_of
from solver.room.message import Amount, Message, Said, joined, tell
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, Wish, room_path
from solver.room.words import Work


@dataclass(frozen=True)
class OneMoreFrame(OtherWish):
    """One more frame, to be bought, of the chassis and board of another. `like` names that one."""

    sort = "frame"
    order = 120
    work: ClassVar[Work] = "buy"
    words = "one more frame"

    like: str

    def site(self, survey: Survey) -> FrameSite:
        """The frame that it is like."""
        return next(site for site in survey.frames if site.name == self.like)

    def parts(self, survey: Survey) -> list[str]:
        """What has to be bought: the chassis, and the board where the other frame names one."""
        site = self.site(survey)
        return [site.chassis.id, *([site.spec.board] if site.spec.board else [])]

    @classmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        kinds: dict[object, Change] = {}
        for site in survey.frames:
            kinds.setdefault((site.chassis.id, site.spec.board), Change(cls(site.name), choice=new_name(survey)))
        yield from kinds.values()

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        site = self.site(survey)
        frame: dict[str, Any] = {"name": change.choice or new_name(survey), "chassis": site.chassis.id, "owned": False}
        if site.spec.board:
            frame["board"] = site.spec.board
        for item in self.parts(survey):
            if survey.most_of(item) is not None:
                offer_more(survey, document, item, 1)
        room["frame"].append(frame)

    def is_taken(self, change: Change, build: Build) -> bool:
        """Parts that are bought for it may serve another frame; then it is their offer that helped."""
        return any(frame.name == change.choice for frame in build.frame)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        parts = self.parts(survey)
        total = sum(price_of(survey, item) for item in parts)
        price: Said = tell(", {total}", total=Amount(total, "money")) if total else ""
        return tell("buy one more frame, {parts}{price}", parts=joined(list(parts), " with "), price=price)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return None, joined(list(self.parts(survey)), " with ")


def new_name(survey: Survey) -> str:
    """A name for one more frame: the first free letter."""
    names = {site.name for site in survey.frames}
    letters = (chr(code) for code in range(ord("A"), ord("Z") + 1))
    return next((letter for letter in letters if letter not in names), "further frame")
