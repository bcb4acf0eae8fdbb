"""Numbers of which no file says which pins they are on."""

from __future__ import annotations

from collections.abc import Sequence

from solver.handover.looms import Numbered
from solver.room.faults import quote
from solver.room.words import write_ranges


def not_wired(channels: Sequence[Numbered]) -> list[str]:
    """Each card whose numbers have no connector or no pins, in words: where it is, its numbers, and what is lacking."""
    lacking: dict[tuple[str, ...], list[int]] = {}
    for channel in channels:
        contact = channel.contact
        if channel.number is None or (contact is not None and contact.wires is not None):
            continue
        room = f"{channel.room}, " if channel.room else ""
        what = "no connector" if contact is None else f"no pinout of connector {quote(contact.connector.id)}"
        key = f"{room}{channel.frame}", channel.direction, str(channel.slot), channel.card, what
        lacking.setdefault(key, []).append(channel.number)
    return [
        f"{frame} {direction} {write_ranges(numbers)} (slot {slot}): the files describe {what} of {card}"
        for (frame, direction, slot, card, what), numbers in lacking.items()
    ]
