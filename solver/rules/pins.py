"""Cards that the scenario pins to a slot."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule, site_of
from solver.standing import Standing
from solver.survey import Survey


class Pins(Rule):
    """Cards that stand where they are pinned."""

    code = "pins"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each pin: that card with its first slot there."""
        for site in survey.frames:
            for slot, card in sorted((int(s), c) for s, c in site.spec.pins.items()):
                yield Limit(
                    self.code,
                    Place(frame=site.name, slot=slot, subject=card),
                    1,
                    "cards",
                    at_least=True,
                    source=("frame", site.name, "pins", str(slot)),
                    give=range(1, 2),
                )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Whether the card stands there: 1 or 0."""
        where, card = limit.place, limit.place.subject
        return sum(
            frame.site.name == where.frame and seat.slot == where.slot and seat.kind.id == card
            for frame in standing.frames
            for seat in frame.seats
        )

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The pinned seat is taken."""
        seats = draft.seats(site_of(draft.survey, limit), limit.place.subject)
        draft.hold(limit, [(1, seat.term) for seat in seats if seat.slot == limit.place.slot])
