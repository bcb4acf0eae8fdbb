"""Cards that have to be seated whether or not a need asks for them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.room.message import Message, Said, Unit, joined, tell
from solver.room.survey import Survey
from solver.room.wish import Change, Document, LimitWish, room_path
from solver.room.words import Work
from solver.rules.limit import Count, Draft, Limit, Near, Place, Reading, Rule


@dataclass(frozen=True)
class FewerSeated(LimitWish):
    """An entry that asks for fewer cards to be seated. `index` counts entries of the file from 0."""

    sort = "must_seat"
    order = 20
    work: ClassVar[Work] = "relax a limit"
    unit: ClassVar[Unit | None] = "cards"
    guessed = True

    index: int

    def entry(self, survey: Survey) -> tuple[str, int]:
        """The card and how many of it must be seated."""
        return next((card, count) for card, count, index in survey.must_seat if index == self.index)

    def most(self, survey: Survey) -> int:
        return self.entry(survey)[1]

    def path(self, survey: Survey) -> list[str | int]:
        return [*room_path(survey), "must_seat", self.index, "count"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        left = int(room["must_seat"][self.index].get("count", 1)) - change.amount
        if left:
            room["must_seat"][self.index]["count"] = left
        else:
            del room["must_seat"][self.index]

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        card, count = self.entry(survey)
        text = "seat {amount} fewer {card} than must be seated ({count} -> {left})"
        return tell(text, amount=change.amount, card=card, count=count, left=count - change.amount)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        _, count = self.entry(survey)
        return count, count - change.amount

    def kept(self, survey: Survey) -> Message:
        card, count = self.entry(survey)
        return tell("{count} x {card} must be seated", count=count, card=card)


class MustSeat(Rule):
    """Cards that are seated whether or not a need asks for them."""

    code = "must-seat"
    speaks_of = "cards"
    sparing = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each entry: at least so many of the card over all frames."""
        for card, count, index in survey.must_seat:
            yield Limit(
                self.code,
                Place(subject=card),
                count,
                "cards",
                at_least=True,
                source=("must_seat", index, "count"),
                give=range(1, count + 1),
            )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Cards of that kind that are seated."""
        return standing.cards[limit.place.subject or ""]

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """At least so many seats of the card are taken."""
        draft.hold(limit, [(1, seat.term) for seat in draft.seats(card=limit.place.subject)])

    def wants(self, survey: Survey) -> Collection[str]:
        """The cards that are named."""
        return {card for card, _, _ in survey.must_seat}

    def counts(self, survey: Survey) -> Iterator[Count]:
        """Entries that ask for more of a card than there is."""
        for card, count, _ in survey.must_seat:
            most = survey.most_of(card)
            if most is not None and most < count:
                text = "{count} x {card} must be seated; there are at most {most}"
                yield Count(card, count, most, tell(text, count=count, card=card, most=most))

    def lifted(self, survey: Survey) -> Survey | None:
        return replace(survey, must_seat=()) if survey.must_seat else None

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        return joined([self.over(survey, each) for each in broken], "; ")

    def over(self, survey: Survey, reading: Reading) -> Message:
        text = "{bound} x {card} must be seated, and {used} would be"
        return tell(
            text, bound=reading.limit.bound, card=reading.limit.place.subject or "", used=reading.used or "none"
        )

    def wish(self, limit: Limit) -> LimitWish | None:
        """Fewer of them must be seated."""
        return FewerSeated(int(limit.source[1])) if limit.source else None

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        text = "{card}: {used} seated; at least {bound} must be"
        return tell(text, card=reading.limit.place.subject or "", used=reading.used, bound=reading.limit.bound)

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        card, used, bound = reading.limit.place.subject or "", reading.used, reading.limit.bound
        return Near(tell("{card}: {used} seated, at least {bound}", card=card, used=used, bound=bound), "must_seat")
