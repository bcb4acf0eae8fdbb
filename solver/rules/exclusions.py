"""Cards beside which, or in whose frame, certain others may not stand."""

from __future__ import annotations

from dataclasses import replace

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.hardware import Exclusion
from solver.room.message import Message, tell
from solver.room.survey import Survey
from solver.rules.company import Company, by_slot, cards_of, counted, seats_of
from solver.rules.limit import Draft, Limit, Near, Reading, frames_at, in_frame


def beside(frame: FrameStanding, card: str, other: str) -> list[tuple[int, int]]:
    """First slots of two cards that stand directly beside each other, the left one first: one of each."""
    starts = {seat.slot: seat for seat in frame.seats}
    found = []
    for left in sorted(frame.seats, key=lambda seat: seat.slot):
        right = starts.get(left.slot + left.kind.span)
        if right is not None and (left.kind.id, right.kind.id) in ((card, other), (other, card)):
            found.append((left.slot, right.slot))
    return found


def slots_between(frame: FrameStanding, card: str, other: str) -> int | None:
    """The fewest slots between a card and one of the other kind, or its own; None where there are no two."""
    pairs = [(one, two) for one in cards_of(frame, card) for two in cards_of(frame, other) if one != two]
    apart = [max(one.slot, two.slot) - min(one.covers[-1], two.covers[-1]) - 1 for one, two in pairs]
    return min(apart, default=None)


class Exclusions(Company[Exclusion]):
    """Cards that exclude others, in their frame or directly beside them."""

    code = "exclusions"
    key = "excludes"

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Pairs beside each other; in a frame with the card how many of the other, of its own kind all but one."""
        card, entry = self.entry(survey, limit)
        for frame in frames_at(standing, limit):
            if entry.within == "next":
                return len(beside(frame, card, entry.card))
            own, other = (len(cards_of(frame, each)) for each in (card, entry.card))
            if card == entry.card:
                return max(0, own - 1)
            return other if own else 0
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Not both in the frame; of two that would stand beside each other, one at most."""
        card, entry = self.entry(draft.survey, limit)
        if entry.within == "frame":
            self.relax(draft, limit)
            return
        seats = {each: by_slot(seats_of(draft, limit, each)) for each in (card, entry.card)}
        for left, right in sorted({(card, entry.card), (entry.card, card)}):
            span = draft.survey.kinds[left].span
            for slot, load in seats[left].items():
                if slot + span in seats[right]:
                    draft.hold(replace(limit, bound=1), [*load, *seats[right][slot + span]])

    def relax(self, draft: Draft, limit: Limit) -> None:
        """Not both in the frame; beside each other says nothing of counts."""
        card, entry = self.entry(draft.survey, limit)
        if entry.within == "next":
            return
        own, other = (counted(1, seats_of(draft, limit, each)) for each in (card, entry.card))
        if card == entry.card:
            draft.hold(replace(limit, bound=1), own)
        elif own and other:
            draft.hold(replace(limit, bound=1), [(1, draft.any_of(own)), (1, draft.any_of(other))])

    # How it is told

    def asks(self, card: str, entry: Exclusion) -> Message:
        if card == entry.card:
            text = "no two {card} " + ("directly beside each other" if entry.within == "next" else "in one frame")
        else:
            text = "{card} excludes {other} " + ("directly beside it" if entry.within == "next" else "in its frame")
        return tell(text, card=card, other=entry.card)

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        """The slots between the nearest two that may not stand beside each other; two in a frame are there or not."""
        card, entry = self.entry(survey, reading.limit)
        for frame in frames_at(standing, reading.limit):
            between = slots_between(frame, card, entry.card)
            if entry.within == "frame" or between is None:
                return None
            slots = "1 slot" if between == 1 else f"{between} slots"
            said = tell(
                "{card} and {other}{where}: {slots} between the nearest, at least 1",
                card=card,
                other=entry.card,
                where=in_frame(survey, reading.limit),
                slots=slots,
            )
            limit = replace(reading.limit, bound=1, at_least=True, unit="slots")
            return Near(said, tell("what {card} excludes", card=card), Reading(limit, between))
        return None

    def said(self, survey: Survey, reading: Reading, standing: Standing | None) -> Message:
        card, entry = self.entry(survey, reading.limit)
        if entry.within == "frame":
            text = "more than one {card} in the frame" if card == entry.card else "{card} and {other} in one frame"
            return tell(text, card=card, other=entry.card)
        slots = (
            [pair for f in frames_at(standing, reading.limit) for pair in beside(f, card, entry.card)]
            if standing
            else []
        )
        told = ", ".join(f"{left} and {right}" for left, right in slots)
        text = "{card} and {other} directly beside each other" + (": slots {slots}" if told else "")
        return tell(text, card=card, other=entry.card, slots=told)
