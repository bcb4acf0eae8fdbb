"""Another board in a frame."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.relax.other import OtherWish
from solver.room.buying import offer_more, price_of
from solver.room.message import Amount, Message, Said, tell
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, Wish, frame_in, room_path
from solver.room.words import Work
from solver.rules.straps import OtherSetting


@dataclass(frozen=True)
class OtherBoard(OtherWish):
    """A frame that takes another board. An amount of 1 says that it has to be bought, 0 that it is in stock."""

    sort = "board"
    order = 90
    work: ClassVar[Work] = "lid off: move cards or straps"
    words = "another board"

    frame: str

    def site(self, survey: Survey) -> FrameSite:
        """The frame."""
        return next(site for site in survey.frames if site.name == self.frame)

    @classmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        """A board whose frame is to keep a setting has to have it."""
        boards = {board.id: board for board in survey.hardware.board}
        for site in survey.frames:
            if not site.spec.board or cls(site.name) in fixed:
                continue
            kept = {wish.group for wish in fixed if isinstance(wish, OtherSetting) and wish.frame == site.name}
            for name in sorted(site.chassis.boards):
                groups = {group.name for group in boards[name].strap_group}
                if name != site.spec.board and survey.family in boards[name].limits and kept <= groups:
                    yield Change(cls(site.name), int(not survey.stock.get(name, 0)), name)

    def work_of(self, change: Change) -> Work:
        return "buy" if change.amount else self.work

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "board"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        board = str(change.choice)
        if survey.most_of(board) == 0:
            offer_more(survey, document, board, 1)
        self.exchange(survey, document, room, board)

    def exchange(self, survey: Survey, document: Document, room: Document, board: str) -> None:
        """Give the frame a board that has to be had like any other, and put the one that is in it into stock.

        A board that an owned frame names is owned with it; so chassis and board are counted in stock from then on.
        """
        site = self.site(survey)
        frame = frame_in(room, self.frame)
        if site.spec.owned and board != site.spec.board:
            frame["owned"] = False
            stock = document.setdefault("stock", {})
            for item in filter(None, (site.chassis.id, site.spec.board)):
                stock[item] = int(stock.get(item, 0)) + 1
        frame["board"] = board

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        board = str(change.choice)
        price = price_of(survey, board) if change.amount else 0
        return tell(
            "frame {frame}: take {board} instead of {before}{there}{price}",
            frame=self.frame,
            board=board,
            before=str(self.site(survey).spec.board),
            there="" if survey.most_of(board) != 0 else ", which is not on offer now",
            price=tell(", {price}", price=Amount(price, "money")) if price else "",
        )

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return self.site(survey).spec.board, str(change.choice)
