"""Needs that are to be apart from others share no card with them, so that one card that fails does not take both."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, joined, tell
from solver.room.survey import Need, Survey, Wanted
from solver.room.wish import Change, LimitWish
from solver.rules.limit import Draft, Limit, Number, Term
from solver.rules.wanted import Channels, NumbersLeftOpen, Unshaped, at_most, card_of, need_of


def _others(wanted: Wanted | None) -> Said:
    """The names of the others."""
    return joined([tell('"{name}"', name=name) for name in (wanted.apart if wanted else ())], last=" and ")


class OnOneCardWithOthers(NumbersLeftOpen):
    """It may share cards with the needs that it was to be apart from."""

    sort = "apart"
    order = 18
    key = "apart_from"

    def left_open(self, survey: Survey) -> Said:
        return tell("let it share cards with {others}", others=_others(self.need(survey).wanted))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return _others(self.need(survey).wanted), None

    def kept(self, survey: Survey) -> Message:
        need = self.need(survey)
        return tell('"{name}" asks for other cards than {others}', name=need.name, others=_others(need.wanted))


class ApartFrom(Unshaped):
    """Needs on cards of their own."""

    code = "apart-from"
    key = "apart_from"

    def concerns(self, wanted: Wanted) -> bool:
        return bool(wanted.apart)

    def without(self, wanted: Wanted) -> Wanted:
        return replace(wanted, apart=(), apart_from_it=())

    def astray(self, standing: Standing, wanted: Wanted, channels: Channels) -> Iterator[int]:
        others = [need for need in standing.survey.needs if need.name in wanted.apart]
        theirs = {card_of(channel) for need in others for channel in standing.in_order(need)}
        for place, channel in enumerate(channels):
            if card_of(channel) in theirs:
                yield place

    def state(self, draft: Draft, limit: Limit, wanted: Wanted, numbers: Sequence[Number]) -> None:
        """A card has channels of the need or of any of the others."""
        need, _ = need_of(draft.survey, limit)
        kept = [draft.kept(limit)]
        own = _held(draft, limit, need)
        for other in (need for need in draft.survey.needs if need.name in wanted.apart):
            theirs = _held(draft, limit, other)
            for card in sorted(own.keys() & theirs.keys()):
                at_most(draft, limit, kept, [(1, own[card]), (1, theirs[card])], 1)

    def wish(self, limit: Limit) -> LimitWish | None:
        """Cards that they share."""
        return OnOneCardWithOthers(int(limit.source[1])) if limit.source else None

    def told(self, survey: Survey, need: Need, wanted: Wanted) -> Said:
        return tell("asks for other cards than {others}", others=_others(wanted))


def _held(draft: Draft, limit: Limit, need: Need) -> dict[tuple[int, int], Term]:
    """By card whether it has channels of a need; where all of these are sure, as many have as they fill at least."""
    sure = draft.placed(need)
    numbers = draft.on_cards(need)
    held = {card: draft.any_of([(1, term) for term in terms]) for card, terms in sorted(numbers.items())}
    if sure and held:
        least = -(-need.demand // max(map(len, numbers.values())))
        at_most(draft, limit, [], [(-1, term) for term in held.values()], -least)
    return held
