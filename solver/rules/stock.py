"""No more of a card, chassis or board than there is in stock and on offer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, ClassVar, Self

from solver.fitted.standing import Standing
from solver.room.buying import offer_more, price_of
from solver.room.message import Amount, Message, Said, Unit, joined, tell
from solver.room.survey import Offer, Survey
from solver.room.wish import Change, Document, LimitWish, SharedWish
from solver.room.words import Work
from solver.rules.limit import Draft, Limit, Near, Place, Reading, Rule


def most_taken(survey: Survey, item: str) -> int:
    """No build takes more of a card than the slots hold, nor more of a chassis or a board than there are frames."""
    kind = survey.kinds.get(item)
    return sum(1 if kind is None else len(site.slots) // kind.span for site in survey.frames)


@dataclass(frozen=True)
class MoreOfAnItem(SharedWish):
    """A card, chassis or board of which more may be ordered."""

    sort = "item"
    order = 110
    work: ClassVar[Work] = "buy"
    unit: ClassVar[Unit | None] = "items"
    guessed = True

    what: str

    @property
    def item(self) -> str | None:
        return self.what

    def most(self, survey: Survey) -> int:
        return most_taken(survey, self.what)

    def path(self, survey: Survey) -> list[str | int]:
        capped = [offer.index for offer in survey.offers.get(self.what, ())]
        return ["offer", capped[-1], "at_most"] if capped else ["offer"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        offer_more(survey, document, self.what, change.amount)

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        price = price_of(survey, self.what)
        each: Said = tell(", {price} each", price=Amount(price, "money")) if price else ""
        if survey.offers.get(self.what):
            before, after = self.values(survey, change)
            text = "allow {amount} more {item} ({before} -> {after} to be had{each})"
            parts = {"before": before or 0, "after": after or 0}
            return tell(text, amount=change.amount, item=self.what, each=each, **parts)
        text = "order {amount} x {item}, which is not on offer now{each}"
        return tell(text, amount=change.amount, item=self.what, each=each)

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        most = survey.most_of(self.what) or 0
        return most, most + change.amount

    def kept(self, survey: Survey) -> Message:
        return _to_be_had(survey, [self])

    @classmethod
    def kept_together(cls, survey: Survey, wishes: Sequence[Self]) -> list[tuple[list[Self], Message]]:
        """All items together."""
        return [(list(wishes), _to_be_had(survey, wishes))]

    def lifted(self, survey: Survey) -> Survey:
        """Any number of it, at its price."""
        endless = Offer(self.what, price_of(survey, self.what), None, -1)
        return replace(survey, offers={**survey.offers, self.what: (*survey.offers.get(self.what, ()), endless)})


def _to_be_had(survey: Survey, wishes: Sequence[MoreOfAnItem]) -> Message:
    counts = [(survey.most_of(wish.what), wish.what) for wish in wishes]
    some: list[Said] = [tell("{most} {item}", most=most, item=item) for most, item in counts if most]
    none: list[Said] = [item for most, item in counts if not most]
    pieces: list[Said] = []
    if some:
        pieces.append(tell("no more than {items} can be had", items=joined(some, last=" and ")))
    if none:
        pieces.append(tell("none of {items}" if len(none) > 1 else "no {items}", items=joined(none, last=" and ")))
    return tell("{pieces}" if some else "{pieces} can be had", pieces=joined(pieces, ", and "))


class Stock(Rule):
    """Items that are to be had."""

    code = "stock"
    speaks_of = "loads"
    shared = True
    sparing = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each item of the hardware files that cannot be had without end."""
        hardware = survey.hardware
        for item in sorted(i.id for group in (hardware.card, hardware.board, hardware.chassis) for i in group):
            most = survey.most_of(item)
            if most is not None:
                capped = [o.index for o in survey.offers.get(item, ()) if o.at_most is not None]
                source = ("offer", capped[-1], "at_most") if capped else ("stock", item)
                give = range(1, most_taken(survey, item) + 1)
                yield Limit(self.code, Place(subject=item), most, "items", source=source, give=give)

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """How many the build takes beyond what owned frames bring with them."""
        return standing.items[limit.place.subject or ""]

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same count for the search."""
        load = draft.items(limit.place.subject or "")
        if load:
            draft.hold(limit, load)

    def wish(self, limit: Limit) -> LimitWish | None:
        """More of it may be ordered."""
        return MoreOfAnItem(limit.place.subject or "")

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        text = f"{{item}}: {{used}} {'is' if reading.used == 1 else 'are'} used; stock and offers have {{bound}}"
        return tell(text, item=reading.limit.place.subject or "", used=reading.used, bound=reading.limit.bound)

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        if not reading.used:
            return None
        item, bound = reading.limit.place.subject or "", reading.limit.bound
        owned = survey.stock.get(item, 0)
        said = tell("{item}: {used} of {bound} in use", item=item, used=reading.used, bound=bound)
        return Near(said, tell("stock {owned}, offers {offered}", owned=owned, offered=bound - owned))

    def lifted(self, survey: Survey) -> Survey | None:
        hardware = survey.hardware
        items = [i.id for group in (hardware.card, hardware.board, hardware.chassis) for i in group]
        for item in items:
            if survey.most_of(item) is not None:
                survey = MoreOfAnItem(item).lifted(survey)
        return survey

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        text = "{used} x {item}, {bound} to be had"
        pieces = [tell(text, item=each.limit.place.subject or "", **each.amounts()) for each in broken]
        return tell("stock and offers: {pieces}", pieces=joined([*pieces], "; "))
