"""Whether the cards of a frame have the others and the sockets that they need, and none that they exclude."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import product

from solver.room.hardware import Card, Chassis


def in_company(seats: Sequence[tuple[int, str]], cards: Mapping[str, Card]) -> bool:
    """Whether each card has what it needs, whichever belongs to which, and nothing that it excludes.

    `seats` are first slots and cards of one frame.
    """
    held = dict(seats)
    counts = Counter(held.values())
    covered = {slot: set(range(slot, slot + cards[card].span)) for slot, card in seats}
    beside = {
        slot: [
            other
            for other in held
            if other != slot and any(abs(a - b) == 1 for a in covered[slot] for b in covered[other])
        ]
        for slot in held
    }
    for card in counts:
        for need in cards[card].needs:
            if need.within == "frame":
                if -(-counts[card] // need.per) > counts[need.card]:
                    return False
                continue
            able = [
                [other for other in beside[slot] if held[other] == need.card] for slot in held if held[slot] == card
            ]
            if not any(max(Counter(chosen).values()) <= need.per for chosen in product(*able)):
                return False
        for ban in cards[card].excludes:
            if ban.within == "frame" and counts[ban.card] > (ban.card == card):
                return False
            if ban.within == "next" and any(
                held[slot] == card and held[other] == ban.card for slot in held for other in beside[slot]
            ):
                return False
    return True


def plugged(chassis: Chassis, cards: Sequence[Card]) -> bool:
    """Whether each cable of each card can take a socket of its sort; where a chassis tells none, nothing is known."""
    if chassis.supply_sockets is None:
        return True
    free = dict(chassis.supply_sockets)
    for cable in (cable for card in cards for cable in card.supply_cables):
        free[cable] = free.get(cable, 0) - 1
    return min(free.values(), default=0) >= 0
