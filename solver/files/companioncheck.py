"""What cards need beside them and what they exclude: ids that are there, and nothing that cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from solver.room.faults import Fault, quote, unknown
from solver.room.hardware import Card, Companion, Exclusion


def check_companions(file: str, card: Card, cards: Mapping[str, Card]) -> Iterator[Fault]:
    """Faults of what one card needs and excludes, of all cards by id."""
    listed: Mapping[str, Sequence[Companion | Exclusion]] = {"needs": card.needs, "excludes": card.excludes}
    ids = set(cards)
    for key, entries in listed.items():
        seen: set[tuple[str, str]] = set()
        for number, entry in enumerate(entries, 1):
            path = ("card", card.id, key, number, "card")
            if entry.card not in ids:
                yield unknown(file, path, entry.card, ids, "is no card of these hardware files")
            if (entry.card, entry.within) in seen:
                message = f'{quote(entry.card)} stands there twice within "{entry.within}"'
                yield Fault(file, path, message, entry.card)
            seen.add((entry.card, entry.within))
    for number, need in enumerate(card.needs, 1):
        path = ("card", card.id, "needs", number, "card")
        if need.card == card.id:
            yield Fault(file, path, "a card cannot need itself", need.card)
        other = cards.get(need.card)
        bans = [(card.id, entry) for entry in card.excludes if entry.card == need.card]
        if other is not None and other is not card:
            bans += [(other.id, entry) for entry in other.excludes if entry.card == card.id]
        for who, entry in bans:
            if entry.within == "frame" or need.within == "next":
                message = (
                    f"{card.id} needs {need.card} and excludes it, so it can stand nowhere"
                    if who == card.id
                    else f"{card.id} needs {need.card}, which excludes it, so it can stand nowhere"
                )
                yield Fault(file, path, message, need.card)
                break
