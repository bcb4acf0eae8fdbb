"""Where phantom power is to be, where it must not be, and where the source decides (common practice, no source)."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Literal

from solver.fitted.cards_set import told
from solver.fitted.frame import FrameStanding, Seated, Use
from solver.fitted.standing import Standing
from solver.handover.looms import Numbered
from solver.room.hardware import PHANTOM
from solver.room.signals import NO_PHANTOM
from solver.room.survey import Need
from solver.room.traits import Switch
from solver.room.words import write_ranges

Phantom = Literal["on", "off", "any"]
"""What it is to be on a number; `any`: no file says what the source takes, and nothing that is set with it forbids."""

Inputs = Collection[tuple[str | None, str, int, int]]
"""Channels of inputs by room, frame, slot and place along it."""


def phantom_on(frame: FrameStanding) -> list[str]:
    """The channels of a frame that are to have phantom power, slot by slot."""
    entries = [entry for seat in frame.seats for entry in told(frame.choices(seat), usual=True)]
    on = [entry for entry in entries if entry.setting == PHANTOM and entry.to == "on"]
    return [f"slot {e.slot}{f' channels {e.channels}' if e.channels else ''}" for e in on]


def left_to_sources(rooms: Iterable[Standing]) -> Inputs:
    """Inputs whose needs do not say whether their sources take phantom power, where it may be switched on."""
    return {
        (room.survey.room, frame.site.name, use.slot, use.index)
        for room in rooms
        for frame in room.frames
        for seat in frame.seats
        for (_, switch), to in frame.choices(seat).items()
        if switch.setting.name == PHANTOM and to == "off"
        for uses in (_served(frame, seat, switch),)
        if all(PHANTOM not in dict(use.need.traits) for use in uses)
        for use in uses
    }


def _served(frame: FrameStanding, seat: Seated, switch: Switch) -> list[Use]:
    """What the channels that are switched together serve."""
    return [
        use
        for use in frame.uses
        if use.need.direction == "in"
        and frame.occupant(use.slot) is seat
        and (use.slot - seat.slot, use.index) in switch.places
    ]


def phantom_of(channel: Numbered, need: Need, open_: Inputs) -> Phantom | None:
    """What phantom power is to be on a number; None where there is none, and on lines of a signal that takes none.

    Parameters
    ----------
    open_
        Those of `left_to_sources`.
    """
    to = dict(channel.settings).get(PHANTOM)
    if need.direction != "in" or to is None:
        return None
    if (channel.room, channel.frame, channel.slot, channel.card_channel) in open_:
        return "any"
    on = (dict(need.traits).get(PHANTOM) or to) == "on"
    return "on" if on else None if need.signal in NO_PHANTOM else "off"


def without_phantom(channels: Iterable[Numbered]) -> str:
    """Numbers whose cards feed phantom power and whose needs must not get it, with what they carry."""
    found: dict[tuple[str | None, str, str], list[int]] = {}
    for channel in channels:
        fed = PHANTOM in dict(channel.settings) and channel.direction == "in" and channel.number is not None
        for carries in channel.carries if fed else ():
            if dict(carries.need.traits).get(PHANTOM) == "off" and channel.number is not None:
                found.setdefault((channel.room, channel.frame, carries.need.signal), []).append(channel.number)
    return "; ".join(f"{_numbers(*key[:2], own)} ({key[2]})" for key, own in found.items())


def as_sources_ask(channels: Iterable[Numbered], open_: Inputs) -> str:
    """The numbers of `left_to_sources`."""
    found: dict[tuple[str | None, str], list[int]] = {}
    for own in channels:
        at = own.room, own.frame, own.slot, own.card_channel
        if own.direction == "in" and own.number is not None and at in open_:
            found.setdefault((own.room, own.frame), []).append(own.number)
    return "; ".join(_numbers(*key, own) for key, own in found.items())


def _numbers(room: str | None, frame: str, numbers: list[int]) -> str:
    return f"{room + ', ' if room else ''}{frame} in {write_ranges(numbers)}"
