"""One card a slot, and every card inside its chassis."""

from __future__ import annotations

from collections.abc import Iterator

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.survey import Survey
from solver.room.words import enumerated
from solver.rules.finding import Finding, at_slot, slots_text
from solver.rules.limit import Draft, Limit, Place, Rule, frames_at, site_of


class Seats(Rule):
    """One card a slot, inside the chassis."""

    code = "seats"
    speaks_of = "cards"
    describes = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame no slot taken outside it, and for each slot at most one card."""
        for site in survey.frames:
            yield Limit(self.code, Place(frame=site.name), 0, "slots")
            for slot in site.slots:
                yield Limit(self.code, Place(frame=site.name, slot=slot), 1, "cards")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Slots taken outside the chassis, or cards that take the slot."""
        for frame in frames_at(standing, limit):
            covered = [slot for seat in frame.seats for slot in seat.covers]
            if limit.place.slot is None:
                return sum(slot not in frame.site.slots for slot in covered)
            return covered.count(limit.place.slot)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Open the seats that lie inside the chassis; at most one of those that take a slot."""
        site = site_of(draft.survey, limit)
        if limit.place.slot is None:
            every = ((slot, kind) for slot in site.slots for kind in draft.kinds)
            draft.may_seat(site, [(slot, kind) for slot, kind in every if slot + kind.span - 1 in site.slots])
            return
        for cell in draft.cells(site, limit.place.slot):
            load = [(taken, seat.term) for taken, seat in draft.covering(cell)]
            if load and cell.slots[0] == limit.place.slot:
                draft.hold(limit, load, cell)

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        slot, chassis = limit.place.slot, frame.site.chassis
        if slot is not None:
            there = [f"{seat.kind.id} in {slots_text(seat.covers)}" for seat in frame.seats if slot in seat.covers]
            yield Finding(
                f"{at_slot(frame, slot)}: {enumerated(there)} take it, and it has room for one card",
                len(there),
                frame.site.name,
                slot,
            )
            return
        for seat in frame.seats:
            outside = [s for s in seat.covers if s not in frame.site.slots]
            if outside:
                takes = f"{seat.kind.id} takes {slots_text(seat.covers)}"
                text = f"{takes}; {chassis.id} has slots 1 to {chassis.slot_count}"
                where = at_slot(frame, seat.slot)
                yield Finding(f"{where}: {text}", len(outside), frame.site.name, seat.slot, seat.kind.id)
