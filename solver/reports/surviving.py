"""What it costs to survive failures, in words."""

from __future__ import annotations

from solver.reports.explanation import Surviving
from solver.reports.wording import in_words, money
from solver.room.survey import Survey
from solver.search.ask.ranking import Readiness


def surviving(survey: Survey, ready: Readiness) -> Surviving:
    """The cheapest build that survives beside the cheapest of all."""
    what = [in_words(survey, each) for each in ready.what]
    cost, without, more = (money(survey, n) for n in (ready.cost, ready.without, ready.cost - ready.without))
    sure = "both proven the least" if ready.proven else "as far as was searched in the time"
    costs = f"costs {more} {survey.currency} more: {cost} instead of {without}, {sure}"
    if ready.cost == ready.without:
        costs = f"costs nothing more than {without} {survey.currency}, {sure}"
    return Surviving(
        what=what,
        cost=cost,
        without=without,
        more=more,
        proven=ready.proven,
        text=f"surviving {' and '.join(what)} {costs}",
    )
