"""Where exactly a build breaks a limit that it breaks in places, and the words for slots and channels."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from solver.fitted.frame import FrameStanding, Use
from solver.room.words import Direction, write_ranges


@dataclass(frozen=True, slots=True)
class Finding:
    """One place where a limit is broken: `found` is how much of it in the limit's unit."""

    text: str
    found: int
    frame: str
    slot: int | None = None
    subject: str | None = None


def at_slot(frame: FrameStanding, slot: int) -> str:
    """Frame and slot in words."""
    return f"frame {frame.site.name}, slot {slot}"


def channels_text(direction: Direction | None, indices: Iterable[int]) -> str:
    """Channels of one direction in words."""
    numbers = sorted(set(indices))
    return f"{direction}put channel{'s' if len(numbers) > 1 else ''} {write_ranges(numbers)}"


def slots_text(slots: Iterable[int]) -> str:
    """Slots in words."""
    numbers = list(slots)
    return f"slot{'s' if len(numbers) > 1 else ''} {write_ranges(numbers)}"


def by_slot_and_need(uses: Iterable[Use]) -> dict[tuple[int, str], list[int]]:
    """Channels of uses by slot and name of need, in order."""
    found: dict[tuple[int, str], list[int]] = {}
    for use in uses:
        found.setdefault((use.slot, use.need.name), []).append(use.index)
    return dict(sorted(found.items()))
