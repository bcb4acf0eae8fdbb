"""Which build is best wherever unsure prices may come to lie, and how much each may turn out to cost too much.

What a purchase costs is linear in the prices, so the least cost of all builds is a concave function of them. Of some
known purchases the cheapest is a concave function too, and never below it. Where both are equal at every corner of the
region of each known purchase, they are equal everywhere, since within a region the known one is linear and the least
cost lies on or above what its corners say. So the search is asked at corners until no cheaper purchase turns up.

By how much a purchase costs more than the least is convex, so it is the most at a corner of the box. Whether any build
at all stays below some such excess (its greatest regret, in decision theory) is asked of the search with ceilings on
what it costs at corners, one after the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, lcm
from typing import Literal

from solver.fitted.standing import Standing, stand
from solver.judge.criteria import Figures, value
from solver.room.build import Build
from solver.room.survey import Ceiling, Survey
from solver.room.unsure import Prices, Purchase, UnsureOffer, priced_at, purchase_of, unsure_offers
from solver.search.ask.ranking import Ranking, rank
from solver.search.ask.regions import Corner, box, inside, region
from solver.search.solve.clock import Clock


@dataclass(frozen=True)
class Choice:
    """A build that is best somewhere, or that may come to cost too much by the least.

    Attributes
    ----------
    region
        Corners of the prices at which it is best; none where there are no such prices.
    excess, at
        What it costs more than the best at most, in minor units, and the prices at which it does.
    """

    build: Build
    purchase: Purchase
    region: tuple[Corner, ...]
    excess: Fraction
    at: Prices


@dataclass(frozen=True)
class Tolerated:
    """What unsure prices come to; `survey` is the room with what needs that are nice to have are short.

    It is proven that each choice is the best in its region. `steadiest` is the one whose `excess` is the least, of all
    builds where `steadiest_proven`, else of these.
    """

    outcome: Literal["found", "impossible", "unknown"]
    survey: Survey
    unsure: tuple[UnsureOffer, ...]
    choices: tuple[Choice, ...] = ()
    steadiest: Choice | None = None
    steadiest_proven: bool = False


def tolerate(survey: Survey, workers: int, clock: Clock) -> Tolerated:
    """Search every build that is the best at some of the prices that may come, in the scenario's ranking.

    Budget and slack play no part. The first choice is that of today, if not others cost as little then; the others
    follow by what they cost today.

    Raises
    ------
    SearchError
        If the search and the audit disagree: a defect.
    """
    search = _Search(survey, unsure_offers(survey), workers, clock)
    outcome = search.ask(search.today)
    if outcome != "found":
        return Tolerated(outcome, search.survey, search.unsure)
    choices = search.choices() if search.ask_all() else ()
    if not choices:
        return Tolerated("unknown", search.survey, search.unsure)
    steadiest, proven = search.steadier(min(choices, key=lambda choice: choice.excess))
    return Tolerated("found", search.survey, search.unsure, choices, steadiest, proven)


class _Search:
    """The purchases that are known, and what was proven to be the least cost at which prices."""

    def __init__(self, survey: Survey, unsure: tuple[UnsureOffer, ...], workers: int, clock: Clock) -> None:
        self.survey, self.unsure, self.workers, self.clock = survey, unsure, workers, clock
        self.today: Prices = tuple(Fraction(each.offer.price) for each in unsure)
        self.whole = box([(each.low, each.high) for each in unsure])
        self.known: dict[Purchase, Build] = {}
        self.least: dict[Prices, Fraction] = {}
        self.rank_met: tuple[int, ...] | None = None

    def ask(self, prices: Prices) -> Literal["found", "impossible", "unknown"]:
        """The best build at some prices; `unknown` where it is not proven to be."""
        self.clock.at = f"{len(self.least)} prices asked, {len(self.known)} purchases known"
        found = self._ranked(priced_at(self.survey, self.unsure, prices))
        if found is None or found.outcome != "found" or not found.builds[0].proven:
            return "impossible" if found is not None and found.outcome == "impossible" else "unknown"
        best = found.builds[0]
        purchase = self._purchase(best.standing, prices)
        self.known[purchase] = best.build
        self.least[prices] = purchase.cost(prices)
        if self.rank_met is None and found.survey is not None:
            self.survey = replace(self.survey, short=found.survey.short)
            self.rank_met = self._before_cost(best.figures)
        return "found"

    def _ranked(self, survey: Survey) -> Ranking | None:
        return None if self.clock.over else rank(survey, 1, workers=self.workers, clock=self.clock)

    def _purchase(self, standing: Standing, prices: Prices) -> Purchase:
        return purchase_of(self.survey, self.unsure, prices, standing.items)

    def _before_cost(self, figures: Figures) -> tuple[int, ...]:
        """What counts before the cost, and so is the same at all prices."""
        before = self.survey.rank[: self.survey.rank.index("cost")]
        return (figures.short, figures.short_needs, *(value(self.survey, figures, criterion) for criterion in before))

    def ask_all(self) -> bool:
        """Ask at every corner of every region, until none has anything cheaper; whether that is proven."""
        while True:
            corners = {c.at for own in self._regions().values() for c in own}
            unasked = sorted(corners - self.least.keys())
            if not unasked:
                return True
            for prices in unasked:
                count = len(self.known)
                if self.ask(prices) != "found":
                    return False
                if len(self.known) > count:
                    break

    def _regions(self) -> dict[Purchase, list[Corner]]:
        found = {purchase: region(purchase, self.known, self.whole) for purchase in self.known}
        return {purchase: own for purchase, own in found.items() if own}

    def choices(self) -> tuple[Choice, ...]:
        """The builds that have a region, each as it is planned within it; none where the time was over first."""
        found = []
        for purchase, corners in self._regions().items():
            if self.ask(inside(purchase, self.known, corners)) != "found":
                return ()
            found.append(self._choice(purchase, corners))
        return tuple(sorted(found, key=lambda choice: (choice.purchase.cost(self.today), choice.purchase.taken)))

    def _choice(self, purchase: Purchase, corners: Sequence[Corner]) -> Choice:
        build = self.known[purchase]
        return Choice(build, purchase, tuple(corners), *self._worst(stand(self.survey, build).items))

    def _worst(self, items: Mapping[str, int]) -> tuple[Fraction, Prices]:
        """What so many of each item cost more than the best at most, and where: at a corner.

        Where two offers of an item change places, the corners are those of the prices at which they are in one order.
        """
        own: set[Purchase] = set()
        found = {purchase_of(self.survey, self.unsure, self.today, items)}
        while found - own:
            own |= found
            corners = {corner.at for each in own for corner in region(each, own, self.whole)}
            found = {purchase_of(self.survey, self.unsure, prices, items) for prices in corners}
        return max((min(each.cost(at) for each in own) - self._least_at(at), at) for at in corners)

    def _least_at(self, prices: Prices) -> Fraction:
        """The least cost at any prices, once it is known at every corner of every region."""
        return min(each.cost(prices) for each in self.known)

    def steadier(self, best: Choice) -> tuple[Choice, bool]:
        """The build that may come to cost too much by the least; whether it is proven that no other does by less."""
        held: list[Prices] = []
        at = best.at
        while best.excess:
            held.append(at)
            ceilings = tuple(self._ceiling(prices, best.excess) for prices in held)
            found = self._ranked(replace(priced_at(self.survey, self.unsure, self.today), ceilings=ceilings))
            if found is None or found.outcome == "unknown":
                return best, False
            if found.outcome == "impossible":
                break
            other = found.builds[0]
            if self._before_cost(other.figures) != self.rank_met:
                return best, other.proven
            excess, at = self._worst(other.standing.items)
            if excess < best.excess:
                best = Choice(other.build, self._purchase(other.standing, self.today), (), excess, at)
        return best, True

    def _ceiling(self, prices: Prices, excess: Fraction) -> Ceiling:
        """What a build that costs less than so much more than the best may cost at some prices."""
        scale = lcm(*(price.denominator for price in prices))
        most = ceil((self._least_at(prices) + excess) * scale) - 1
        return Ceiling(priced_at(self.survey, self.unsure, prices).offers, most)
