"""What is ordered stays within the budget."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, ClassVar

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.buying import most_money, spent
from solver.room.message import Amount, Message, Said, Unit, tell
from solver.room.survey import Ceiling, Survey
from solver.room.wish import Change, Document, LimitWish, SharedWish
from solver.room.words import MOST_MONEY, Work
from solver.rules.limit import Draft, Limit, Near, Place, Reading, Rule


class MoreMoney(SharedWish):
    """A budget that may be exceeded."""

    sort = "budget"
    order = 100
    work: ClassVar[Work] = "buy"
    unit: ClassVar[Unit | None] = "money"

    def most(self, survey: Survey) -> int:
        return most_money(survey)

    def path(self, survey: Survey) -> list[str | int]:
        return ["budget"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        total = Decimal((survey.budget or 0) + change.amount).scaleb(-survey.decimals)
        if total > MOST_MONEY:
            del document["budget"]  # a file holds no such budget, so what is left is none
        else:
            document["budget"] = f"{total:f}"

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        before, after = self.values(survey, change)
        more = Amount(change.amount, "money")
        return tell("spend {more} more ({before} -> {after})", more=more, before=before or "", after=after or "")

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        before = survey.budget or 0
        return Amount(before, "money"), Amount(before + change.amount, "money")

    def kept(self, survey: Survey) -> Message:
        return tell("the budget is {budget}", budget=Amount(survey.budget or 0, "money"))

    def lifted(self, survey: Survey) -> Survey:
        return replace(survey, budget=None)


def _ceiling(survey: Survey, limit: Limit) -> Ceiling | None:
    """What a limit at other prices than those of today speaks of."""
    return None if limit.place.subject is None else survey.ceilings[int(limit.place.subject)]


class Budget(Rule):
    """Orders within the budget."""

    code = "budget"
    speaks_of = "loads"
    shared = True
    limits_money = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """One, if there is a budget, and one at each of the other prices at which cost has a ceiling."""
        if survey.budget is not None:
            give = range(1, most_money(survey) + 1)
            yield Limit(self.code, Place(), survey.budget, "money", source=("budget",), give=give)
        for index, ceiling in enumerate(survey.ceilings):
            yield Limit(self.code, Place(subject=str(index)), ceiling.cost, "money")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """The total of the orders in minor units, at the prices that the limit speaks of."""
        ceiling = _ceiling(survey, limit)
        return standing.cost if ceiling is None else spent(replace(survey, offers=ceiling.offers), standing.items)

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same total for the search."""
        ceiling = _ceiling(draft.survey, limit)
        draft.hold(limit, draft.cost() if ceiling is None else draft.cost_at(ceiling.offers))

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The prices of what is ordered."""
        hardware = survey.hardware
        prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
        unpriced = {o.item for o in survey.scenario.offer if o.price is None and prices.get(o.item) is None}
        for item, lines in standing.orders.items():
            if item in unpriced:
                yield Unknown("cost", "price", item), sum(count for count, _ in lines)

    def wish(self, limit: Limit) -> LimitWish | None:
        """More is spent."""
        return MoreMoney()

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        return tell("budget: {used} is to be spent of {bound}", **reading.amounts())

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        said = tell("budget: {used} of {bound} {currency}", currency=survey.currency, **reading.amounts())
        return Near(said, "budget")

    def lifted(self, survey: Survey) -> Survey | None:
        return replace(survey, budget=None)

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        return tell("budget: {channels} cost {used} of {bound}", channels=channels, **broken[0].amounts())
