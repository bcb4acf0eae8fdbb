"""Which looms go to other connectors between two builds: with the lines that they carry, or idle with their card."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from solver.fitted.card_moves import CardMove, Seat
from solver.fitted.moves import Spot, paired
from solver.handover.looms import Loom, Numbered
from solver.handover.wiring import Wiring
from solver.room.survey import Need
from solver.room.words import Direction

Line: TypeAlias = tuple[str | None, str, int]
"""A channel of a need: room, need, and which one."""


@dataclass(frozen=True)
class LoomMove:
    """A need's channel that is on another connector than before, or on another line of it.

    `straight`: it is on the same line of a connector alike, so the same plug fits.
    """

    room: str | None
    need: Need
    channel: int
    was: Spot
    is_: Spot
    before: Loom
    after: Loom
    straight: bool

    @property
    def line(self) -> Line:
        """The channel."""
        return self.room, self.need.name, self.channel


def loom_moves(before: Wiring, after: Wiring) -> Iterator[LoomMove]:
    """Every channel of a need that a loom carries before and after, on another connector or line."""
    old, new = _by_spot(before), _by_spot(after)
    for room, need, channel, was, is_ in paired(before.rooms, after.rooms):
        if was is None or is_ is None:
            continue
        here, there = (own.get(_key(need.direction, spot)) for own, spot in ((old, was), (new, is_)))
        if here is not None and there is not None and _socket(*here) != _socket(*there):
            straight = _plug(*here) == _plug(*there)
            yield LoomMove(room, need, channel, was, is_, here[0], there[0], straight)


def looms_moved(before: Wiring, after: Wiring) -> int:
    """How many looms that carry something go to another connector, or are on other lines of it."""
    moved = {(move.before.room, move.before.name) for move in loom_moves(before, after)}
    return len(moved)


def idle_moves(before: Wiring, after: Wiring, cards: Iterable[CardMove]) -> list[tuple[Loom, Loom]]:
    """Looms that carry nothing before and after, and go to another slot with their card."""
    there = {(Seat(loom.room, loom.frame, loom.slot), loom.connector.id): loom for loom in after.looms}
    went = {move.before: move.after for move in cards if move.before is not None and move.after is not None}
    pairs = (
        (loom, there.get((to, loom.connector.id)))
        for loom in before.looms
        if (to := went.get(Seat(loom.room, loom.frame, loom.slot))) is not None
    )
    return [(one, other) for one, other in pairs if other is not None and not (carried(one) or carried(other))]


def carried(loom: Loom) -> set[Line]:
    """The channels of needs that are on a loom."""
    return {(c.room, carries.need.name, carries.channel) for c in loom.channels for carries in c.carries}


def _by_spot(wiring: Wiring) -> Mapping[tuple[object, ...], tuple[Loom, Numbered]]:
    return {
        (own.room, own.frame, own.direction, own.slot, own.card_channel): (loom, own)
        for loom in wiring.looms
        for own in loom.channels
    }


def _key(direction: Direction, spot: Spot) -> tuple[object, ...]:
    return spot.room, spot.frame, direction, spot.slot, spot.card_channel


def _plug(loom: Loom, channel: Numbered) -> tuple[object, ...]:
    at = loom.connector
    line = None if channel.contact is None else channel.contact.channel
    return at.type, at.gender, at.pinout, line


def _socket(loom: Loom, channel: Numbered) -> tuple[object, ...]:
    return loom.room, loom.name, *_plug(loom, channel)
