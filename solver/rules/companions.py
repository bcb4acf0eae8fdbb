"""Cards that need other cards: so many of them share one in their frame, or each has one directly beside it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.hardware import Companion
from solver.room.message import Amount, Message, Said, tell
from solver.room.survey import Survey
from solver.rules.company import Company, by_slot, cards_of, counted, seats_of
from solver.rules.limit import Draft, Limit, Near, Reading, frames_at, in_frame


def served_beside(frame: FrameStanding, card: str, entry: Companion) -> set[int]:
    """First slots of the cards that get one of the other card beside them, where each of those serves `per` at most.

    From slot 1 on each card takes the one on its left if that has not served as many yet, else the one on its right. No
    other way serves more, since the one on the right may still serve the card beyond it.
    """
    left = {seat.slot: entry.per for seat in frame.seats if seat.kind.id == entry.card}
    ends = {seat.slot + seat.kind.span: seat.slot for seat in frame.seats if seat.kind.id == entry.card}
    found: set[int] = set()
    for seat in cards_of(frame, card):
        for other in (ends.get(seat.slot), seat.slot + seat.kind.span):
            if other is not None and left.get(other):
                left[other] -= 1
                found.add(seat.slot)
                break
    return found


class Companions(Company[Companion]):
    """Cards that need others: in their frame one for each so many, or one directly beside each."""

    code = "companions"
    key = "needs"

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """How many of the cards are left without."""
        card, entry = self.entry(survey, limit)
        for frame in frames_at(standing, limit):
            needing = len(cards_of(frame, card))
            if entry.within == "next":
                return needing - len(served_beside(frame, card, entry))
            return max(0, needing - entry.per * len(cards_of(frame, entry.card)))
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Counts in the frame; beside each other, a row for each chain that begins and ends with a card that needs.

        In a chain the cards that need and the others stand side by side in turn. Where each of the others serves one
        card alone, the chain has one too few of them, unless one more stands at an end of it. Where each may serve
        more, it serves both cards beside it, so that a single card that needs is all there is to a chain.
        """
        self.relax(draft, limit)
        card, entry = self.entry(draft.survey, limit)
        if entry.within == "frame":
            return
        needing, others = by_slot(seats_of(draft, limit, card)), by_slot(seats_of(draft, limit, entry.card))
        span, other_span = draft.survey.kinds[card].span, draft.survey.kinds[entry.card].span
        for first in sorted(needing):
            load = list(needing[first])
            last, links = first, 0
            while True:
                ends = [*others.get(first - other_span, []), *others.get(last + span, [])]
                own = replace(limit, bound=2 * links)
                draft.hold(own, [*load, *((-1, term) for _, term in ends)])
                following = last + span + other_span
                if entry.per > 1 or following not in needing or last + span not in others:
                    break
                load += [*others[last + span], *needing[following]]
                last, links = following, links + 1

    def relax(self, draft: Draft, limit: Limit) -> None:
        """Counts in the frame: each of the others serves `per`, and two at most where it has to stand beside them."""
        card, entry = self.entry(draft.survey, limit)
        needing = counted(1, seats_of(draft, limit, card))
        if needing:
            draft.hold(limit, [*needing, *counted(-_serves(entry), seats_of(draft, limit, entry.card))])

    def wants(self, survey: Survey) -> Collection[str]:
        """What cards need."""
        return self.others(survey)

    # How it is told

    def said(self, survey: Survey, reading: Reading, standing: Standing | None) -> Message:
        card, entry = self.entry(survey, reading.limit)
        return tell("{used} x {card} without {needs}", used=reading.used, card=card, needs=_needs(entry))

    def asks(self, card: str, entry: Companion) -> Message:
        return tell("{card} needs {needs}", card=card, needs=_needs(entry))

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        """How many of the cards those that they need are enough for, as far as these stand where they have to."""
        card, entry = self.entry(survey, reading.limit)
        for frame in frames_at(standing, reading.limit):
            needing, needed = len(cards_of(frame, card)), len(cards_of(frame, entry.card))
            if not needing:
                return None
            enough = _serves(entry) * needed
            if entry.within == "next" and reading.used:
                enough = needing - reading.used
            said = tell(
                f"{{card}}{{where}}: {{needing}} of {{enough}} that {{needed}} x {{other}} {_where(entry)} "
                f"{'allows' if needed == 1 else 'allow'}",
                card=card,
                where=in_frame(survey, reading.limit),
                needing=needing,
                enough=enough,
                needed=needed,
                other=entry.card,
            )
            counted_so = Reading(replace(reading.limit, bound=enough), needing)
            return Near(said, tell("what {card} needs", card=card), counted_so)
        return None

    def remarks(self, survey: Survey) -> Iterator[Message]:
        """What cannot be had and keeps cards out that are needed."""
        for kind, entry in self.entries(survey).values():
            asked = any(kind.taking(need.direction, need.signal) for need in survey.needs if need.demand)
            if not asked or survey.most_of(kind.id) == 0 or survey.stock.get(entry.card):
                continue
            prices = [offer.price for offer in survey.offers.get(entry.card, ()) if offer.at_most != 0]
            if not prices:
                yield tell("{asks}, and none can be had", asks=self.asks(kind.id, entry))
            elif survey.budget is not None and min(prices) > survey.budget:
                yield tell(
                    "{asks}, and none is owned: one costs {price}, the budget is {budget}",
                    asks=self.asks(kind.id, entry),
                    price=Amount(min(prices), "money"),
                    budget=Amount(survey.budget, "money"),
                )


def _serves(entry: Companion) -> int:
    """How many cards one of the others is enough for: beside it stand two at most."""
    return min(entry.per, 2) if entry.within == "next" else entry.per


def _where(entry: Companion) -> str:
    return "directly beside" if entry.within == "next" else "in the frame"


def _needs(entry: Companion) -> Said:
    """What a card needs, such as ``a clock-feed in the frame, one for each 4``."""
    if entry.per == 1:
        return tell(f"a {{card}} of its own {_where(entry)}", card=entry.card)
    return tell(f"a {{card}} {_where(entry)}, one for each {{per}}", card=entry.card, per=entry.per)
