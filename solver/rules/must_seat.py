"""Cards that have to be seated whether or not a need asks for them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule
from solver.standing import Standing
from solver.survey import Survey


class MustSeat(Rule):
    """Cards that are seated whether or not a need asks for them."""

    code = "must-seat"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each entry: at least so many of the card over all frames."""
        for card, count, place in survey.must_seat:
            yield Limit(
                self.code,
                Place(subject=card),
                count,
                "cards",
                at_least=True,
                source=("must_seat", place, "count"),
                give=range(1, count + 1),
            )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Cards of that kind that are seated."""
        return standing.cards[limit.place.subject or ""]

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """At least so many seats of the card are taken."""
        draft.hold(limit, [(1, seat.term) for seat in draft.seats(card=limit.place.subject)])
