"""Cards that do not stand beside certain others, or not in one frame with them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from solver.fitted.standing import FrameStanding, Standing
from solver.room.hardware import Exclusion
from solver.room.message import Message, tell
from solver.room.survey import Kind, Survey
from solver.rules.companions import by_slot, counted
from solver.rules.limit import Draft, Limit, Place, Reading, Rule, frames_at, in_several, site_of, whereabouts


def _pairs(survey: Survey) -> Iterator[tuple[Kind, Exclusion, str]]:
    """Each card that excludes another, what it excludes, and what that is called."""
    for kind in survey.kinds.values():
        for entry in kind.card.excludes:
            yield kind, entry, f"{kind.id} excludes {entry.card} ({entry.within})"


def _entry(survey: Survey, limit: Limit) -> tuple[str, Exclusion]:
    """The card that a limit speaks of, and what it excludes."""
    return next((kind.id, entry) for kind, entry, name in _pairs(survey) if name == limit.place.subject)


def beside(frame: FrameStanding, card: str, other: str) -> list[tuple[int, int]]:
    """First slots of two cards that stand directly beside each other, the left one first: one of each."""
    starts = {seat.slot: seat for seat in frame.seats}
    found = []
    for left in sorted(frame.seats, key=lambda seat: seat.slot):
        right = starts.get(left.slot + left.kind.span)
        if right is not None and (left.kind.id, right.kind.id) in ((card, other), (other, card)):
            found.append((left.slot, right.slot))
    return found


class Exclusions(Rule):
    """Cards that exclude others, in their frame or directly beside them."""

    code = "exclusions"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame and each thing that a card excludes: none of it is there."""
        for site in survey.frames:
            for _, _, name in _pairs(survey):
                yield Limit(self.code, Place(frame=site.name, subject=name), 0, "cards")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Pairs beside each other; in a frame how many there are of what is excluded, or of a card beyond one of it."""
        card, entry = _entry(survey, limit)
        for frame in frames_at(standing, limit):
            if entry.within == "next":
                return len(beside(frame, card, entry.card))
            own, other = (sum(seat.kind.id == each for seat in frame.seats) for each in (card, entry.card))
            if card == entry.card:
                return max(0, own - 1)
            return other if own else 0
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Not both in the frame; of two that would stand beside each other, one at most."""
        card, entry = _entry(draft.survey, limit)
        if entry.within == "frame":
            self.relax(draft, limit)
            return
        site = site_of(draft.survey, limit)
        seats = {each: by_slot(list(draft.seats(site, each))) for each in (card, entry.card)}
        for left, right in sorted({(card, entry.card), (entry.card, card)}):
            span = draft.survey.kinds[left].span
            for slot, load in seats[left].items():
                if slot + span in seats[right]:
                    draft.hold(replace(limit, bound=1), [*load, *seats[right][slot + span]])

    def relax(self, draft: Draft, limit: Limit) -> None:
        """Not both in the frame; beside each other says nothing of counts."""
        card, entry = _entry(draft.survey, limit)
        if entry.within == "next":
            return
        site = site_of(draft.survey, limit)
        own, other = (counted(1, list(draft.seats(site, each))) for each in (card, entry.card))
        if card == entry.card:
            draft.hold(replace(limit, bound=1), own)
        elif own and other:
            draft.hold(replace(limit, bound=1), [(1, draft.any_of(own)), (1, draft.any_of(other))])

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What it excludes, and itself where others exclude it."""
        excluded = any(entry.card == kind.id for _, entry, _ in _pairs(survey))
        own = [(entry.card, entry.within) for entry in kind.card.excludes]
        return sorted(own), kind.id if excluded else None

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell("{where}: {said}", where=whereabouts(reading.limit), said=self._said(survey, reading, standing))

    def over(self, survey: Survey, reading: Reading) -> Message:
        where = in_several(survey, reading.limit)
        return tell("{where}{said}", where=where, said=self._said(survey, reading, None))

    def _said(self, survey: Survey, reading: Reading, standing: Standing | None) -> Message:
        card, entry = _entry(survey, reading.limit)
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
