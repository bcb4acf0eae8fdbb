"""Critical needs are spread over cards: none takes more channels of one with it than that has to spare."""

from __future__ import annotations

from dataclasses import replace

from solver.room.message import Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import LimitWish
from solver.rules.limit import Limit
from solver.rules.per_card import PerCard
from solver.rules.survive import NotCritical


class Spread(PerCard):
    """Needs of which enough stays where it is, whichever card fails."""

    code = "spread"
    key = "critical"

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.may_lose is not None

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, may_lose=None)

    def most(self, wanted: Wanted) -> int:
        return wanted.may_lose or 0

    def ready_for(self, survey: Survey) -> Said | None:
        return "any one card, with nothing patched," if any(self.limits(survey)) else None

    def wish(self, limit: Limit) -> LimitWish | None:
        """The need is not critical."""
        return NotCritical(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell("is critical, and {most} of its channels may be lost with a card", most=self.most(wanted))
