"""No more of a card, chassis or board than there is in stock and on offer."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule
from solver.standing import Standing
from solver.survey import Survey


class Stock(Rule):
    """Items that are to be had."""

    code = "stock"
    shared = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each item of the hardware files that cannot be had without end."""
        hardware = survey.hardware
        for item in sorted(i.id for group in (hardware.card, hardware.board, hardware.chassis) for i in group):
            most = survey.most_of(item)
            if most is not None:
                capped = [o.place for o in survey.offers.get(item, ()) if o.at_most is not None]
                source = ("offer", capped[0], "at_most") if capped else ("stock", item)
                yield Limit(self.code, Place(subject=item), most, "items", source=source, give=range(1, 10))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """How many the build takes beyond what owned frames bring with them."""
        return standing.items[limit.place.subject or ""]

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same count for the search."""
        load = draft.items(limit.place.subject or "")
        if load:
            draft.hold(limit, load)
