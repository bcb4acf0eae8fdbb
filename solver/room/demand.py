"""A survey in which needs ask for something else: more or fewer channels, another signal, or nothing."""

from __future__ import annotations

from dataclasses import replace

from solver.room.message import Message, tell
from solver.room.survey import Need, Shortage, Survey
from solver.room.words import DIRECTIONS, SIDES, Direction


def must_be_met(survey: Survey) -> Survey:
    """The survey without the needs that are nice to have: they stand in nobody's way, since they give way."""
    return replace(survey, needs=tuple(need for need in survey.needs if not need.nice), short=Shortage())


def asking(survey: Survey, need: Need, channels: int) -> Survey:
    """The survey with so many channels asked for by a need, which may be one of its own.

    One that is critical has as many of them to spare as before, since those may be lost.
    """
    others = [n for n in survey.needs if n.name != need.name]
    spare = min(need.spare, channels) if need.critical else 0
    asked = replace(need, channels=channels - spare, spare=spare, nice=False)
    return replace(survey, needs=tuple(sorted([*others, asked], key=lambda n: n.name)))


def most_numbers(survey: Survey, direction: Direction) -> int:
    """The most numbers that the frames have in a direction."""
    return sum(
        max((sum(b.width for b in w.blocks(direction)) for w in site.candidates), default=0) for site in survey.frames
    )


def bare_signals(survey: Survey) -> list[Need]:
    """A need of no channels for each signal and direction that a card can serve and no need asks for."""
    asked = {(n.direction, n.signal) for n in survey.needs}
    signals: set[tuple[Direction, str]] = set()
    for kind in survey.kinds.values():
        for (direction, _), channels in kind.channels.items():
            signals.update((direction, s) for channel in channels for s in channel.line_type.signals)
    found = []
    for direction, signal in sorted(signals - asked, key=lambda s: (DIRECTIONS.index(s[0]), s[1])):
        name = f"{signal} {direction}"
        while any(n.name == name for n in survey.needs):
            name += "'"
        found.append(Need(name, direction, signal, 0, 0, -1))
    return found


def given_up(need: Need, amount: int) -> tuple[int, int]:
    """How many channels and how many spare ones a need gives up: spare ones first, but where they say its spread."""
    if need.wanted is not None and need.wanted.may_lose is not None:
        channels = min(need.channels, amount)
        return channels, amount - channels
    spare = min(need.spare, amount)
    return amount - spare, spare


def drop(need: Need, amount: int) -> Message:
    """Channels of a need that give way, and what is left of it."""
    sides = SIDES[need.direction]
    if amount == need.demand:
        what = f"all {{amount}} {{signal}} {sides}" if amount > 1 else f"{{amount}} {{signal}} {sides[:-1]}"
        return tell(f'drop {what} on "{{name}}"', amount=amount, signal=need.signal, name=need.name)
    spare = need.spare - given_up(need, amount)[1]
    return tell(
        f'drop {{amount}} of {{demand}} {{signal}} {sides} on "{{name}}"; {{after}}{{spare}} left',
        amount=amount,
        demand=need.demand,
        signal=need.signal,
        name=need.name,
        after=need.demand - amount - spare,
        spare=tell(" and {spare} spare", spare=spare) if spare else "",
    )
