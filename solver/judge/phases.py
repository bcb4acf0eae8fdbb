"""What builds of several phases break together: what may be spent and ordered, and what stays where it was seated."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

from solver.room.build import Build
from solver.room.message import Amount, Message, Unit, tell
from solver.room.phases import Bought, Phases
from solver.room.survey import Offer

Place: TypeAlias = tuple[str, int]
"""A frame and a slot."""


@dataclass(frozen=True)
class Broken:
    """What is wrong in a phase, told by its place; None where it is wrong in all together."""

    rule: str
    phase: int | None
    frame: str | None
    subject: str | None
    used: int
    bound: int
    unit: Unit
    said: Message


def read_orders(phases: Phases, build: Build) -> tuple[list[Bought], list[Broken]]:
    """What a build says is ordered in each phase, and what of it is on offer at no such price then."""
    places = {stretch.phase.name: at for at, stretch in enumerate(phases.stretches)}
    bought, wrong = [], []
    for order in build.order:
        at = places[order.phase]
        price = int(order.price.scaleb(phases.first.decimals))
        own = phases.stretches[at].survey.offers.get(order.item, ())
        offer = next((each for each in own if each.price == price), None)
        if offer is None:
            said = tell("{item} is not on offer at {price}", item=order.item, price=Amount(price, "money"))
            wrong.append(Broken("stock", at, None, order.item, order.count, 0, "items", said))
            offer = Offer(order.item, price, None, -1)
        bought.append(Bought(at, offer, order.count))
    return bought, wrong


def broken(phases: Phases, builds: Sequence[Build], bought: Sequence[Bought]) -> list[Broken]:
    """Everything that is wrong between the builds of the phases; what is wrong in each by itself is the audit's."""
    return [*_money(phases, bought), *_offers(phases, bought), *_frames(builds), *_cards(phases, builds, bought)]


def _money(phases: Phases, bought: Sequence[Bought]) -> Iterator[Broken]:
    costs = phases.spent(bought)
    for at, (stretch, cost) in enumerate(zip(phases.stretches, costs, strict=True)):
        if stretch.budget is not None and cost > stretch.budget:
            yield _too_much(at, cost, stretch.budget, "budget: {used} is to be spent of {bound}")
    if phases.budget is not None and sum(costs) > phases.budget:
        yield _too_much(None, sum(costs), phases.budget, "budget: {used} is to be spent of {bound} in all phases")


def _too_much(at: int | None, cost: int, budget: int, text: str) -> Broken:
    said = tell(text, used=Amount(cost, "money"), bound=Amount(budget, "money"))
    return Broken("budget", at, None, None, cost, budget, "money", said)


def _offers(phases: Phases, bought: Sequence[Bought]) -> Iterator[Broken]:
    """Offers of which more is ordered in all phases together than there is."""
    taken = Counter[int]()
    for own in bought:
        taken[own.offer.index] += own.count
    for item, offers in sorted(phases.first.offers.items()):
        for offer in offers:
            used = taken[offer.index]
            if offer.at_most is not None and used > offer.at_most:
                text = "{item}: {used} are ordered in all phases; there are {bound} at that price"
                said = tell(text, item=item, used=used, bound=offer.at_most)
                yield Broken("stock", None, None, item, used, offer.at_most, "items", said)


def _frames(builds: Sequence[Build]) -> Iterator[Broken]:
    """Frames that were in use and no longer are, or have another board."""
    for at, (before, after) in enumerate(pairwise(builds), 1):
        boards = {frame.name: frame.board for frame in after.frame if frame.cards}
        for frame in before.frame:
            if frame.cards and boards.get(frame.name) != frame.board:
                said = tell("frame {frame}: its {board} is to stay", frame=frame.name, board=frame.board)
                yield Broken("stays", at, frame.name, frame.board, 1, 0, "items", said)


def _cards(phases: Phases, builds: Sequence[Build], bought: Sequence[Bought]) -> Iterator[Broken]:
    """Cards that leave their slot more often than they may."""
    held = [_places(build) for build in builds]
    if phases.moves == "never":
        for at, (before, after) in enumerate(pairwise(held), 1):
            for card, own in sorted(before.items()):
                for frame, slot in sorted(own - after.get(card, frozenset())):
                    said = tell("frame {frame}, slot {slot}: {card} is to stay here", frame=frame, slot=slot, card=card)
                    yield Broken("stays", at, frame, card, 1, 0, "cards", said)
        return
    for card in sorted({card for own in held for card in own}):
        owned = [phases.stocked(at, bought).stock.get(card, 0) for at in range(len(held))]
        short = moved_twice(owned, [own.get(card, frozenset()) for own in held])
        if short is not None:
            at, lacking = short
            said = tell("{card}: one would move twice, or {count} more be bought", card=card, count=lacking)
            yield Broken("stays", at, None, card, lacking, 0, "cards", said)


def moved_twice(owned: Sequence[int], held: Sequence[frozenset[Place]]) -> tuple[int, int] | None:
    """The first phase in which some card of a kind would have to leave its slot twice, and how many more would do.

    A card that has left its slot may only come to where one stays from then on; whatever else is seated, and what too
    few have left for, is a card that never was.

    Parameters
    ----------
    owned
        How many there are of the kind, phase by phase.
    held
        Where they stand.
    """
    new = left = 0
    before: frozenset[Place] = frozenset()
    for at, here in enumerate(held):
        left += len(before - here)
        for place in here - before:
            if left and all(place in later for later in held[at:]):
                left -= 1
            else:
                new += 1
        if new > owned[at]:
            return at, new - owned[at]
        before = here
    return None


def _places(build: Build) -> Mapping[str, frozenset[Place]]:
    found: dict[str, set[Place]] = {}
    for frame in build.frame:
        for slot, card in frame.seats():
            found.setdefault(card, set()).add((frame.name, slot))
    return {card: frozenset(own) for card, own in found.items()}
