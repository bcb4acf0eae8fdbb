"""What is bought and at which price, as a scenario's document has it too."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from decimal import Decimal
from typing import Any

from solver.room.survey import Offer, Survey


def from_stock(survey: Survey, item: str, used: int) -> int:
    """How many of `used` of an item are owned: those go first."""
    return min(used, survey.stock.get(item, 0))


def bought(survey: Survey, item: str, used: int) -> list[tuple[int, Offer]]:
    """What covers `used` of an item beyond the stock for the least money: how many of each offer drawn on.

    What the offers cannot cover is left out; the stock rule reports it.
    """
    short = used - from_stock(survey, item, used)
    drawn: list[tuple[int, Offer]] = []
    for offer in survey.offers.get(item, ()):
        taken = short if offer.at_most is None else min(short, offer.at_most)
        if taken:
            drawn.append((taken, offer))
            short -= taken
    return drawn


def spent(survey: Survey, items: Mapping[str, int]) -> int:
    """What so many of each item cost beyond the stock, in minor units."""
    return sum(count * offer.price for item, used in items.items() for count, offer in bought(survey, item, used))


def price_of(survey: Survey, item: str) -> int:
    """What one more of an item costs in minor units: its dearest offer, or its list price; 0 where none is known."""
    offers = survey.offers.get(item, ())
    if offers:
        return offers[-1].price
    hardware = survey.hardware
    prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
    return int((prices.get(item) or Decimal(0)).scaleb(survey.decimals))


def left_in_stock(survey: Survey, item: str) -> int:
    """How many of a chassis or a board that are owned no frame of the scenario, of any room, may come to need."""
    chassis = {each.id: each for each in survey.hardware.chassis}
    needed = 0
    for frame in (frame for room in survey.scenario.rooms() for frame in room.frame):
        boards = [frame.board] if frame.board else chassis[frame.chassis].boards
        needed += not frame.owned and frame.chassis == item
        needed += not (frame.owned and frame.board) and item in boards
    return max(0, survey.stock.get(item, 0) - needed)


def most_money(survey: Survey) -> int:
    """More than any build can cost, in minor units, were everything bought."""
    hardware = survey.hardware
    items = [i.id for group in (hardware.card, hardware.board, hardware.chassis) for i in group]
    dearest = max((price_of(survey, item) for item in items), default=0)
    return sum(2 * len(site.slots) + 2 for site in survey.frames) * dearest


def offer_more(survey: Survey, document: MutableMapping[str, Any], item: str, amount: int) -> None:
    """Put so many more of an item on offer in a scenario's document."""
    offers = survey.offers.get(item, ())
    if offers:
        entry = document["offer"][offers[-1].index]
        entry["at_most"] = int(entry["at_most"]) + amount
        return
    entry = {_sort(survey, item): item, "at_most": amount}
    if "offer" in document:
        document["offer"].append(entry)
    else:
        document["offer"] = [entry]


def _sort(survey: Survey, item: str) -> str:
    hardware = survey.hardware
    if any(card.id == item for card in hardware.card):
        return "card"
    return "chassis" if any(chassis.id == item for chassis in hardware.chassis) else "board"
