"""Boards and strap settings: legal ones only, and those that the scenario asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.build import Build
from solver.room.faults import quote
from solver.room.message import Message, Said, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Change, Document, LimitWish, frame_in, room_path
from solver.room.words import Work
from solver.rules.finding import Finding
from solver.rules.limit import Draft, Limit, Place, Rule, frames_at, site_of

BOARD = "board"
LEGAL = "legal settings"


def _wrong_board(site: FrameSite, board: str) -> bool:
    return board not in site.chassis.boards or (site.spec.board is not None and board != site.spec.board)


def _strays(site: FrameSite, layout: Layout, group: str) -> bool:
    return dict(layout.straps).get(group, site.spec.straps[group]) != site.spec.straps[group]


@dataclass(frozen=True)
class OtherSetting(LimitWish):
    """A strap group that may be set otherwise than asked for."""

    sort = "strap"
    order = 80
    work: ClassVar[Work] = "lid off: move cards or straps"

    frame: str
    group: str

    def setting(self, survey: Survey) -> str:
        """What is asked for."""
        return next(site.spec.straps[self.group] for site in survey.frames if site.name == self.frame)

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "frame", self.frame, "straps", self.group]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        straps = frame_in(room, self.frame)["straps"]
        if change.choice is None:
            del straps[self.group]
        else:
            straps[self.group] = change.choice

    def settled(self, change: Change, build: Build) -> Change:
        straps = next(frame.straps for frame in build.frame if frame.name == self.frame)
        return replace(change, choice=straps[self.group])

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        text = 'frame {frame}: set "{group}" to {choice} instead of {setting}'
        choice = str(change.choice)
        return tell(text, frame=self.frame, group=self.group, choice=choice, setting=self.setting(survey))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return self.setting(survey), str(change.choice)

    def kept(self, survey: Survey) -> Message:
        text = 'frame {frame}: "{group}" is to be {setting}'
        return tell(text, frame=self.frame, group=self.group, setting=self.setting(survey))


class Straps(Rule):
    """Boards that fit, and legal settings as asked for."""

    code = "straps"
    speaks_of = "straps"
    describes = True
    of_settings = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame: a board that fits, legal settings, and each setting that is asked for."""
        for site in survey.frames:
            source = ("frame", site.name, "board") if site.spec.board else None
            yield Limit(self.code, Place(frame=site.name, subject=BOARD), 0, "settings", source=source)
            yield Limit(self.code, Place(frame=site.name, subject=LEGAL), 0, "settings")
            for group in sorted(site.spec.straps):
                yield Limit(
                    self.code,
                    Place(frame=site.name, subject=group),
                    0,
                    "settings",
                    source=("frame", site.name, "straps", group),
                    give=range(1, 2),
                )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """What is wrong with the board or with the settings; a setting that is wrong anyway is not compared."""
        group = limit.place.subject or ""
        for frame in frames_at(standing, limit):
            if group == BOARD:
                return int(_wrong_board(frame.site, frame.built.board))
            if group == LEGAL:
                return len(frame.strays)
            if any(group in stray.groups for stray in frame.strays):
                return 0
            wanted = frame.site.spec.straps[group]
            return int(frame.built.straps.get(group, wanted) != wanted)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """No layout that is not as it must be; the search knows only legal ones."""
        site = site_of(draft.survey, limit)
        group = limit.place.subject or ""
        if group == LEGAL:
            return
        wrong = [
            (1, term)
            for layout, term in draft.layouts(site)
            if (_wrong_board(site, layout.board) if group == BOARD else _strays(site, layout, group))
        ]
        if wrong:
            draft.hold(limit, wrong)

    def wish(self, limit: Limit) -> LimitWish | None:
        """The group may be set otherwise."""
        return OtherSetting(limit.place.frame or "", limit.place.subject or "")

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        name, group = frame.site.name, limit.place.subject or ""
        board, asked = frame.built.board, frame.site.spec.board
        if group == LEGAL:
            for stray in frame.strays:
                yield Finding(
                    f"frame {name}: {stray.text}", 1, name, None, stray.groups[0] if len(stray.groups) == 1 else None
                )
        elif group != BOARD:
            text = f"{quote(group)} is at {frame.built.straps.get(group)}; {frame.site.spec.straps[group]} is asked for"
            yield Finding(f"frame {name}: {text}", 1, name, None, group)
        elif board not in frame.site.chassis.boards:
            fitting = ", ".join(sorted(frame.site.chassis.boards))
            yield Finding(
                f"frame {name}: {board} does not fit {frame.site.chassis.id} ({fitting})", 1, name, None, group
            )
        else:
            yield Finding(f"frame {name}: its board is {board}; {asked} is asked for", 1, name, None, group)
