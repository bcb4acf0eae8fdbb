"""Needs that ask for few channels on a card have no more on any."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, LimitWish
from solver.rules.limit import Draft, Limit, Number
from solver.rules.wanted import Channels, NumbersLeftOpen, Unshaped, at_most, card_of, need_of


def _most(wanted: Wanted | None) -> int:
    return (wanted.most_on_card if wanted else None) or 0


class MoreOnACard(NumbersLeftOpen):
    """Any number of its channels may be on one card."""

    sort = "per_card"
    order = 17
    key = "max_per_card"

    def left_open(self, survey: Survey) -> Said:
        return tell("let more than {most} of its channels be on one card", most=_most(self.need(survey).wanted))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return _most(self.need(survey).wanted), None

    def kept(self, survey: Survey) -> Message:
        need = self.need(survey)
        return tell(
            '"{name}" asks for at most {most} of its channels on one card', name=need.name, most=_most(need.wanted)
        )


class PerCard(Unshaped):
    """Channels spread over cards."""

    code = "per-card"
    key = "max_per_card"

    def most(self, wanted: Wanted) -> int:
        """So many channels on a card at most."""
        return _most(wanted)

    def concerns(self, wanted: Wanted) -> bool:
        return wanted.most_on_card is not None

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, most_on_card=None)

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        held: Counter[tuple[int, int | None]] = Counter()
        for place, channel in enumerate(channels):
            held[card_of(channel)] += 1
            if held[card_of(channel)] > self.most(wanted):
                yield place

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """On each card no more channels than that."""
        need, _ = need_of(draft.survey, limit)
        kept = [draft.kept(limit)]
        for terms in draft.on_cards(need).values():
            if len(terms) > self.most(wanted):
                at_most(draft, limit, kept, [(1, term) for term in terms], self.most(wanted))

    def wish(self, limit: Limit) -> LimitWish | None:
        """Any number on a card."""
        return MoreOnACard(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell("asks for at most {most} of its channels on one card", most=self.most(wanted))
