"""Slots that the hardware closes: to some cards, or to all because the board reserves them."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from solver.fitted.standing import Standing
from solver.room.kind import Kind
from solver.room.message import Message, tell
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.rules.limit import Draft, Limit, Place, Reading, Rule, frames_at, site_of, whereabouts


def _refuses(site: FrameSite, slot: int, card: str) -> bool:
    return slot in site.refused.get(card, frozenset())


class Refused(Rule):
    """Slots that the hardware closes."""

    code = "refused"
    speaks_of = "cards"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each slot that refuses anything: none of what it refuses."""
        for site in survey.frames:
            closed = set().union(*site.refused.values(), *site.reserved.values())
            for slot in sorted(closed & set(site.slots)):
                yield Limit(self.code, Place(frame=site.name, slot=slot), 0, "cards")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Cards in the slot that it does not take."""
        slot = limit.place.slot or 0
        for frame in frames_at(standing, limit):
            reserved = slot in frame.site.reserved.get(frame.built.board, frozenset())
            return sum(slot in s.covers and (reserved or _refuses(frame.site, slot, s.kind.id)) for s in frame.seats)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """None of the refused cards; no card at all where the board in use reserves the slot."""
        site = site_of(draft.survey, limit)
        slot = limit.place.slot or 0
        here = [entry for cell in draft.cells(site, slot) for entry in draft.covering(cell)]
        refused = [(taken, seat.term) for taken, seat in here if _refuses(site, slot, seat.kind.id)]
        if refused:
            draft.hold(limit, refused)
        for board in sorted({layout.board for layout, _ in draft.layouts(site)}):
            if slot in site.reserved.get(board, frozenset()):
                for cell in draft.cells(site, slot, board):
                    for _, seat in draft.covering(cell):
                        draft.apart(limit, [(1, seat.term)], [], (site, board), alone=True)

    def shuts(self, limit: Limit, site: FrameSite, layout: Layout, kind: Kind) -> Collection[int]:
        """A slot that refuses the card, or that the board reserves."""
        slot = limit.place.slot or 0
        return (slot,) if slot in site.reserved.get(layout.board, ()) or _refuses(site, slot, kind.id) else ()

    def separates(self, survey: Survey, kind: Kind) -> object:
        """The slots of each frame that refuse it."""
        return [sorted(site.refused.get(kind.id, ())) for site in survey.frames]

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell("{where}: this slot does not take that card", where=whereabouts(reading.limit))
