"""What is ordered stays within the budget."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule
from solver.standing import Standing
from solver.survey import Survey


class Budget(Rule):
    """Orders within the budget."""

    code = "budget"
    shared = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """One, if there is a budget."""
        if survey.budget is not None:
            yield Limit(self.code, Place(), survey.budget, "money", source=("budget",), give=range(1, 10**12))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """The total of the orders in minor units."""
        return standing.cost

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same total for the search."""
        draft.hold(limit, draft.cost())
