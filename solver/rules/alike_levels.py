"""Needs out that come back on a need in are set to one full-scale level with it, so that what comes back is as loud."""

from __future__ import annotations

from solver.fitted.frame import FrameStanding, Use
from solver.room.hardware import LEVEL
from solver.room.kind import Kind
from solver.room.message import Said, tell
from solver.room.survey import Need, Survey
from solver.room.traits import ALIKE_LEVEL
from solver.room.wish import LimitWish
from solver.rules.alike import Alike
from solver.rules.limit import KeyPath, Limit
from solver.rules.returns_on import ReturnsElsewhere


class AlikeLevels(Alike):
    """Sends and returns at one full-scale level."""

    code = "alike-levels"
    of = ALIKE_LEVEL

    def source(self, need: Need) -> KeyPath:
        return "need", need.index, "returns_on"

    def wish(self, limit: Limit) -> LimitWish | None:
        """Nothing that comes back."""
        return ReturnsElsewhere(int(limit.source[1])) if limit.source else None

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What full-scale levels it can be set to, where they are to be alike."""
        own = super().separates(survey, kind)
        if not any(one.of[0] == self.of for need in survey.needs for one in need.one_of):
            return own
        levels = [s for s in kind.switches if s.setting.name == LEVEL]
        return own, [(s.setting.direction, s.setting.every, s.setting.usual, s.places) for s in levels]

    def told(self, need: Need) -> Said:
        returns = (need.wanted.returns if need.wanted else None) or ""
        return tell('and its returns, "{returns}", are to have one full-scale level', returns=returns)

    def through(self, frame: FrameStanding, use: Use) -> str:
        seat = frame.occupant(use.slot)
        choice = frame.choice(use, LEVEL)
        return f"{seat.kind.id if seat else 'a card'} ({choice or 'not known'})"
