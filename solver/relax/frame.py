"""One more frame."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.relax.other import OtherWish
from solver.room.build import Build
from solver.room.buying import left_in_stock, offer_more, price_of
from solver.room.message import Amount, Message, Said, joined, tell
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, Wish, room_path
from solver.room.words import Work


@dataclass(frozen=True)
class OneMoreFrame(OtherWish):
    """One more frame, of the chassis and board of another. `like` names that one.

    An amount of 1 says that something has to be bought for it, 0 that all of it is in stock.
    """

    sort = "frame"
    order = 120
    work: ClassVar[Work] = "buy"
    words = "one more frame"

    like: str

    def site(self, survey: Survey) -> FrameSite:
        """The frame that it is like."""
        return next(site for site in survey.frames if site.name == self.like)

    def parts(self, survey: Survey) -> list[str]:
        """What it is made of: the chassis, and the board where the other frame names one."""
        site = self.site(survey)
        return [site.chassis.id, *([site.spec.board] if site.spec.board else [])]

    def bought(self, survey: Survey) -> list[str]:
        """What of that has to be bought, because none is left in stock."""
        return [item for item in self.parts(survey) if not left_in_stock(survey, item)]

    @classmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        kinds: dict[object, Change] = {}
        for site in survey.frames:
            amount = int(bool(cls(site.name).bought(survey)))
            kinds.setdefault((site.chassis.id, site.spec.board), Change(cls(site.name), amount, new_name(survey)))
        yield from kinds.values()

    def work_of(self, change: Change) -> Work:
        return self.work if change.amount else "lid off: move cards or straps"

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        site = self.site(survey)
        frame: dict[str, Any] = {"name": change.choice or new_name(survey), "chassis": site.chassis.id, "owned": False}
        if site.spec.board:
            frame["board"] = site.spec.board
        for item in self.bought(survey):
            if survey.most_of(item) is not None:
                offer_more(survey, document, item, 1)
        for need in room.get("need", ()):
            _name_frame(need, survey.frames[0].name)
        room["frame"].append(frame)

    def is_taken(self, change: Change, build: Build) -> bool:
        """Parts that are bought for it may serve another frame; then it is their offer that helped."""
        return any(frame.name == change.choice for frame in build.frame)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        bought = self.bought(survey)
        total = sum(price_of(survey, item) for item in bought)
        price: Said = tell(", {total}", total=Amount(total, "money")) if total else ""
        parts = [item if item in bought or not bought else f"{item} from stock" for item in self.parts(survey)]
        text = "buy one more frame, {parts}{price}" if bought else "use one more frame, {parts}, all from stock"
        return tell(text, parts=joined([*parts], " with "), price=price)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return None, joined(list(self.parts(survey)), " with ")


def _name_frame(need: Document, frame: str) -> None:
    """Numbers that a need asks for of the only frame stay those of that one."""
    asked = need.get("numbers")
    if isinstance(asked, str):
        need["numbers"] = {"frame": frame, "list": str(asked)}
    elif asked is not None and "frame" not in asked:
        asked["frame"] = frame


def new_name(survey: Survey) -> str:
    """A name for one more frame: the first free letter."""
    names = {site.name for site in survey.frames}
    letters = (chr(code) for code in range(ord("A"), ord("Z") + 1))
    return next((letter for letter in letters if letter not in names), "further frame")
