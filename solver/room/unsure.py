"""What a scenario says is not sure, as facts: which offers' prices may move, and how far."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm

from solver.room.buying import bought
from solver.room.survey import Offer, Survey, cheapest_first

Prices = tuple[Fraction, ...]
"""A price for each unsure offer, in their order, in minor units; fractions of one too."""


@dataclass(frozen=True, slots=True)
class UnsureOffer:
    """An offer whose price may be anything from `low` to `high`, in minor units."""

    offer: Offer
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Purchase:
    """What a build buys: `fixed` money on what is sure, and how many at each unsure offer.

    What it costs is linear in the unsure prices, unless two offers of one item change places: then each order in which
    they are drawn on is a purchase of its own, and the build costs what the cheaper one does.
    """

    fixed: int
    taken: tuple[int, ...]

    def cost(self, prices: Prices) -> Fraction:
        """What it costs at some prices, in minor units."""
        return self.fixed + sum((n * price for n, price in zip(self.taken, prices, strict=True)), Fraction(0))


def unsure_offers(survey: Survey) -> tuple[UnsureOffer, ...]:
    """The offers whose prices are not sure, in the order of the file.

    The file must have passed the loader's checks: each range has its offer and holds its price.
    """
    tolerance = survey.scenario.tolerance
    return tuple(
        UnsureOffer(offer, int(low.scaleb(survey.decimals)), int(high.scaleb(survey.decimals)))
        for own in (tolerance.price if tolerance else ())
        for offer in survey.offers[own.item]
        for low, high in [(own.from_, own.to)]
        if own.now is None or offer.price == int(own.now.scaleb(survey.decimals))
    )


def priced_at(survey: Survey, unsure: Sequence[UnsureOffer], prices: Prices) -> Survey:
    """The room at some prices, without budget and slack; all money in the fraction of a minor unit that they need."""
    scale = lcm(*(price.denominator for price in prices))
    exchanged = {each.offer: int(price * scale) for each, price in zip(unsure, prices, strict=True)}
    offers = {
        item: cheapest_first(replace(offer, price=exchanged.get(offer, offer.price * scale)) for offer in own)
        for item, own in survey.offers.items()
    }
    return replace(survey, offers=offers, budget=None, slack={})


def purchase_of(survey: Survey, unsure: Sequence[UnsureOffer], prices: Prices, items: Mapping[str, int]) -> Purchase:
    """What so many of each item are bought of at some prices, for the least money."""
    drawn: dict[int, int] = {}
    fixed = 0
    known = {offer.index: offer.price for own in survey.offers.values() for offer in own}
    unsure_ones = {each.offer.index for each in unsure}
    for count, offer in _drawn(priced_at(survey, unsure, prices), items):
        if offer.index in unsure_ones:
            drawn[offer.index] = count
        else:
            fixed += count * known[offer.index]
    return Purchase(fixed, tuple(drawn.get(each.offer.index, 0) for each in unsure))


def _drawn(survey: Survey, items: Mapping[str, int]) -> Iterator[tuple[int, Offer]]:
    for item, used in items.items():
        yield from bought(survey, item, used)
