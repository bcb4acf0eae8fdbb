"""Channels of a need that follow each other before and after, which are told together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from solver.reports.difference import ChannelChange, ChannelPlace
from solver.room.words import Direction, in_runs, write_ranges


def moving_together(changes: Iterable[ChannelChange]) -> list[list[ChannelChange]]:
    """Channels that change hands, in their order, those that stay together in one list."""
    return in_runs(changes, _follows)


def was_and_becomes(run: Sequence[ChannelChange]) -> tuple[str | None, str | None]:
    """Where the channels that move together are before and after, in words; None where they are not served."""
    direction = run[0].direction
    return _spots(direction, [change.before for change in run]), _spots(direction, [change.after for change in run])


def _follows(one: ChannelChange, other: ChannelChange) -> bool:
    if (one.room, one.need, one.channel + 1) != (other.room, other.need, other.channel):
        return False
    return _next(one.before) == other.before and _next(one.after) == other.after


def _next(place: ChannelPlace | None) -> ChannelPlace | None:
    """The place of the channel after, on the same card."""
    if place is None:
        return None
    number = None if place.number is None else place.number + 1
    return place.model_copy(update={"number": number, "card_channel": place.card_channel + 1})


def _spots(direction: Direction, places: Sequence[ChannelPlace | None]) -> str | None:
    own = [place for place in places if place is not None]
    if not own:
        return None
    numbers = [place.number for place in own if place.number is not None]
    told = f"{own[0].frame} {direction} {write_ranges(numbers)}" if numbers else f"{own[0].frame}, no number"
    channels = f"channel{'s' if len(own) > 1 else ''} {write_ranges([place.card_channel for place in own])}"
    return f"{told} (slot {own[0].slot}, {channels})"
