"""What is owned goes first, then the cheapest offers, of each at most so many: said in three ways that must agree."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from generate import random_pair

from solver.room.buying import bought, from_stock
from solver.room.ready import survey_room
from solver.room.survey import Offer, Survey, cheapest_first
from solver.search.campus.purse import Purse, Question, Relaxation, whole
from solver.search.model.allotment import Allotment
from solver.search.solve.clock import Clock

ITEM = "mic-8"


def _drawn(seed: int) -> tuple[Survey, int]:
    """Some of an item in stock and on offer, and how many of it are used, which can be had."""
    draw = random.Random(seed)
    offers = [
        Offer(ITEM, 100 * draw.randint(0, 5), draw.choice([None, 0, 1, 2, 3]), index)
        for index in range(draw.randint(0, 4))
    ]
    stock = {ITEM: draw.randint(0, 3)}
    survey = replace(survey_room(*random_pair(1)), stock=stock, offers={ITEM: cheapest_first(offers)}, budget=None)
    most = survey.most_of(ITEM)
    return survey, draw.randint(0, 9 if most is None else most)


def _spent(survey: Survey, used: int) -> int:
    return sum(count * offer.price for count, offer in bought(survey, ITEM, used))


def test_owned_ones_go_first_and_then_the_cheapest_offers() -> None:
    offers = [Offer(ITEM, 300, None, 0), Offer(ITEM, 100, 2, 1), Offer(ITEM, 200, 1, 2)]
    survey = replace(survey_room(*random_pair(1)), stock={ITEM: 4}, offers={ITEM: cheapest_first(offers)})
    assert [from_stock(survey, ITEM, used) for used in (0, 3, 9)] == [0, 3, 4]
    drawn = [(count, offer.index) for count, offer in bought(survey, ITEM, 9)]
    assert drawn == [(2, 1), (1, 2), (2, 0)]


@pytest.mark.parametrize("seed", range(60))
def test_rooms_spend_in_whole_allotments_and_in_fractions_what_a_build_is_counted_to_cost(seed: int) -> None:
    survey, used = _drawn(seed)
    purse, question = Purse(survey), Question("cost", (), 0)
    allotment = Allotment(((ITEM, used),), 0, 0, 0)
    taken = whole(question, purse, [1], [[allotment]], [None], 0, Clock(), 1.0)
    assert taken.proven
    assert taken.value is not None
    assert taken.value * purse.unit == _spent(survey, used)

    relaxation = Relaxation(question, purse, [1])
    relaxation.add(0, allotment)
    prices = relaxation.prices()
    assert prices is not None
    assert round(prices.value * purse.unit) == _spent(survey, used)


ENDING = [seed for seed in range(60) if _drawn(seed)[0].most_of(ITEM) is not None]
"""Seeds without an offer of any number."""


@pytest.mark.parametrize("seed", ENDING)
def test_more_than_stock_and_offers_have_is_taken_by_nobody(seed: int) -> None:
    survey, _ = _drawn(seed)
    most = survey.most_of(ITEM)
    assert most is not None
    purse, question = Purse(survey), Question("cost", (), 0)
    allotment = Allotment(((ITEM, most + 1),), 0, 0, 0)
    taken = whole(question, purse, [1], [[allotment]], [None], 0, Clock(), 1.0)
    assert taken.proven
    assert taken.value is None
    relaxation = Relaxation(question, purse, [1])
    relaxation.add(0, allotment)
    assert relaxation.prices() is None
