"""Channels that move together: as long as they follow each other there and here; and how they are told in words."""

from __future__ import annotations

import pytest

from solver.reports.difference import ChannelChange, ChannelPlace
from solver.reports.together import moving_together, was_and_becomes


def place(number: int | None, slot: int, card_channel: int, frame: str = "A") -> ChannelPlace:
    return ChannelPlace(frame=frame, number=number, slot=slot, card_channel=card_channel)


def change(
    channel: int, before: ChannelPlace | None, after: ChannelPlace | None, need: str = "mics", room: str | None = None
) -> ChannelChange:
    return ChannelChange(room=room, need=need, direction="in", channel=channel, before=before, after=after)


FIRST = change(1, place(9, 2, 1), place(17, 3, 5, "B"))


def test_what_follows_there_and_here_is_told_together() -> None:
    changes = [change(n, place(8 + n, 2, n), place(16 + n, 3, 4 + n, "B")) for n in (1, 2, 3)]
    (run,) = moving_together(changes)
    assert run == changes
    assert was_and_becomes(run) == ("A in 9-11 (slot 2, channels 1-3)", "B in 17-19 (slot 3, channels 5-7)")


@pytest.mark.parametrize(
    "second",
    [
        change(2, place(10, 2, 2), place(18, 3, 6, "B"), need="lines"),
        change(2, place(10, 2, 2), place(18, 3, 6, "B"), room="Live"),
        change(3, place(10, 2, 2), place(18, 3, 6, "B")),
        change(2, place(11, 2, 2), place(18, 3, 6, "B")),
        change(2, place(10, 2, 3), place(18, 3, 6, "B")),
        change(2, place(10, 3, 2), place(18, 3, 6, "B")),
        change(2, place(10, 2, 2), place(18, 3, 6, "A")),
        change(2, place(10, 2, 2), place(None, 3, 6, "B")),
        change(2, place(10, 2, 2), None),
        change(2, None, place(18, 3, 6, "B")),
    ],
    ids=["need", "room", "channel", "number", "card channel", "slot", "frame", "no number", "not served", "not before"],
)
def test_what_differs_in_anything_else_is_told_alone(second: ChannelChange) -> None:
    assert moving_together([FIRST, second]) == [[FIRST], [second]]


def test_channels_that_begin_or_end_to_be_served_and_such_without_a_number_follow_each_other_too() -> None:
    begun = [change(n, None, place(n, 1, n)) for n in (1, 2)]
    ended = [change(n, place(None, 1, n), None) for n in (3, 4)]
    assert moving_together([*begun, *ended]) == [begun, ended]
    assert was_and_becomes(begun) == (None, "A in 1-2 (slot 1, channels 1-2)")
    assert was_and_becomes(ended) == ("A, no number (slot 1, channels 3-4)", None)
    assert was_and_becomes(begun[:1]) == (None, "A in 1 (slot 1, channel 1)")
