"""Cards that need others beside them or in their frame: one for each so many."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Any

from solver.fitted.standing import FrameStanding, Seated, Standing
from solver.room.hardware import Companion
from solver.room.message import Message, Said, tell
from solver.room.survey import Kind, Survey
from solver.rules.limit import (
    Draft,
    Limit,
    Load,
    Place,
    Reading,
    Rule,
    Seat,
    frames_at,
    in_several,
    site_of,
    whereabouts,
)


def _pairs(survey: Survey) -> Iterator[tuple[Kind, Companion, str]]:
    """Each card that needs another, what it needs, and what that is called."""
    for kind in survey.kinds.values():
        for entry in kind.card.needs:
            yield kind, entry, f"{kind.id} needs {entry.card} ({entry.within})"


def _entry(survey: Survey, limit: Limit) -> tuple[str, Companion]:
    """The card that a limit speaks of, and what it needs."""
    return next((kind.id, entry) for kind, entry, name in _pairs(survey) if name == limit.place.subject)


def by_slot(seats: Sequence[Seat]) -> dict[int, Load]:
    """The seats of one kind of card by first slot."""
    ordered = sorted(seats, key=lambda seat: seat.slot)
    return {slot: [(1, seat.term) for seat in own] for slot, own in groupby(ordered, key=lambda seat: seat.slot)}


def counted(amount: int, seats: Sequence[Seat]) -> Load:
    """So much for each of these seats that is taken."""
    return [(amount, seat.term) for seat in seats]


def served_beside(frame: FrameStanding, card: str, entry: Companion) -> set[int]:
    """First slots of the cards that stand beside one of the other card that is theirs.

    From slot 1 on each takes the one on its left, if that has not served as many yet, else the one on its right: no
    other way serves more, since a card on the right may still serve one of its own.
    """
    left = {seat.slot: entry.per for seat in frame.seats if seat.kind.id == entry.card}
    ends = {seat.slot + seat.kind.span: seat.slot for seat in frame.seats if seat.kind.id == entry.card}
    found: set[int] = set()
    for seat in sorted(_of(frame, card), key=lambda seat: seat.slot):
        for other in (ends.get(seat.slot), seat.slot + seat.kind.span):
            if other is not None and left.get(other):
                left[other] -= 1
                found.add(seat.slot)
                break
    return found


def _of(frame: FrameStanding, card: str) -> list[Seated]:
    return [seat for seat in frame.seats if seat.kind.id == card]


class Companions(Rule):
    """Cards that need others: in their frame one for each so many, or one directly beside each."""

    code = "companions"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame and each thing that a card needs: none of the cards is left without."""
        for site in survey.frames:
            for _, _, name in _pairs(survey):
                yield Limit(self.code, Place(frame=site.name, subject=name), 0, "cards")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """How many of the cards are left without."""
        card, entry = _entry(survey, limit)
        for frame in frames_at(standing, limit):
            needing = len(_of(frame, card))
            if entry.within == "next":
                return needing - len(served_beside(frame, card, entry))
            return max(0, needing - entry.per * len(_of(frame, entry.card)))
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Counts in the frame; beside each other, each chain that begins and ends with a card that needs the other.

        Where one serves one card alone, such a chain of cards in turn has one too few, unless one more stands at an
        end of it. Where one serves more, it serves both that it can stand beside.
        """
        self.relax(draft, limit)
        card, entry = _entry(draft.survey, limit)
        if entry.within == "frame":
            return
        needing, others = by_slot(self._seats(draft, limit, card)), by_slot(self._seats(draft, limit, entry.card))
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
        """Counts in the frame: one serves so many, and no more than two where it has to stand beside them."""
        card, entry = _entry(draft.survey, limit)
        serves = min(entry.per, 2) if entry.within == "next" else entry.per
        needing = counted(1, self._seats(draft, limit, card))
        if needing:
            draft.hold(limit, [*needing, *counted(-serves, self._seats(draft, limit, entry.card))])

    @staticmethod
    def _seats(draft: Draft, limit: Limit, card: str) -> list[Seat]:
        return list(draft.seats(site_of(draft.survey, limit), card))

    def wants(self, survey: Survey) -> Collection[str]:
        """What cards need."""
        return {entry.card for _, entry, _ in _pairs(survey)}

    def separates(self, survey: Survey, kind: Kind) -> object:
        """What it needs, and itself where others need it."""
        needed = kind.id if any(entry.card == kind.id for _, entry, _ in _pairs(survey)) else None
        own: list[Any] = [(entry.card, entry.per, entry.within) for entry in kind.card.needs]
        return sorted(own), needed

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        card, entry = _entry(survey, reading.limit)
        where = whereabouts(reading.limit)
        return tell(
            "{where}: {used} x {card} without {needs}", where=where, used=reading.used, card=card, needs=_needs(entry)
        )

    def over(self, survey: Survey, reading: Reading) -> Message:
        card, entry = _entry(survey, reading.limit)
        where = in_several(survey, reading.limit)
        return tell(
            "{where}{used} x {card} without {needs}", where=where, used=reading.used, card=card, needs=_needs(entry)
        )

    def remarks(self, survey: Survey) -> Iterator[Message]:
        """What cannot be had and keeps cards out that are needed."""
        for kind, entry, _ in _pairs(survey):
            asked = any(kind.taking(need.direction, need.signal) for need in survey.needs if need.demand)
            if asked and survey.most_of(kind.id) != 0 and survey.most_of(entry.card) == 0:
                yield tell("{card} needs {needs}, and none can be had", card=kind.id, needs=_needs(entry))


def _needs(entry: Companion) -> Said:
    """What a card needs, such as ``a clock-feed in the frame, one for each 4``."""
    where = "directly beside" if entry.within == "next" else "in the frame"
    if entry.per == 1:
        return tell(f"a {{card}} of its own {where}", card=entry.card)
    return tell(f"a {{card}} {where}, one for each {{per}}", card=entry.card, per=entry.per)
