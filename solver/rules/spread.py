"""Critical needs are spread over cards: none takes more channels of one with it than that has to spare."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import LimitWish
from solver.rules.limit import Limit, Near, Place, Reading, in_frame
from solver.rules.per_card import PerCard
from solver.rules.survive import NotCritical
from solver.rules.wanted import card_of, need_of


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

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        """How many channels the card carries that carries most, of those that may be lost with it."""
        need, wanted = need_of(survey, reading.limit)
        cards = Counter(card_of(channel) for channel in standing.in_order(need))
        if not cards:
            return None
        (index, slot), carried = min(cards.items(), key=lambda each: (-each[1], each[0]))
        frame = next(frame for frame in standing.frames if frame.site.index == index)
        seat = frame.occupant(slot or 0)
        own = Reading(replace(reading.limit, bound=self.most(wanted)), carried)
        said = tell(
            '"{name}": {card} in slot {slot}{where} carries {used} of {bound} that may be lost with a card',
            name=need.name,
            card="nothing" if seat is None else seat.kind.id,
            slot=slot or 0,
            where=in_frame(survey, replace(reading.limit, place=Place(frame=frame.site.name))),
            **own.amounts(bare=("used", "bound")),
        )
        return Near(said, tell('"{name}" is critical', name=need.name), own)

    def wish(self, limit: Limit) -> LimitWish | None:
        """The need is not critical."""
        return NotCritical(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell("is critical, and {most} of its channels may be lost with a card", most=self.most(wanted))
