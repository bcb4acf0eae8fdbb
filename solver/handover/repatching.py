"""What gets another point of a bay between two builds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.fitted.moves import Spot, paired
from solver.fitted.standing import Standing
from solver.handover.bays import Patched
from solver.handover.wiring import Wiring
from solver.room.survey import Need
from solver.room.words import Direction


@dataclass(frozen=True)
class PointMove:
    """A need's channel whose points are others than before, or that had none before, or has none afterwards."""

    room: str | None
    need: Need
    channel: int
    before: Patched | None
    after: Patched | None


def point_moves(before: Sequence[Standing], after: Sequence[Standing]) -> Iterator[PointMove]:
    """Every channel of a need that gets other points, channels counted as where builds are compared."""
    old, new = _by_spot(before), _by_spot(after)
    for room, need, channel, was, is_ in paired(before, after):
        here, there = _at(old, need.direction, was), _at(new, need.direction, is_)
        if _point(here) != _point(there):
            yield PointMove(room, need, channel, here, there)


def _point(patched: Patched | None) -> tuple[str, str] | None:
    return None if patched is None else (patched.bay.name, patched.card_point)


def _by_spot(rooms: Sequence[Standing]) -> Mapping[tuple[object, ...], Patched]:
    return {
        (channel.room, channel.frame, channel.direction, channel.slot, channel.card_channel): patched
        for patched in Wiring(tuple(rooms)).bays.points
        for channel in patched.channels
    }


def _at(points: Mapping[tuple[object, ...], Patched], direction: Direction, spot: Spot | None) -> Patched | None:
    if spot is None:
        return None
    return points.get((spot.room, spot.frame, direction, spot.slot, spot.card_channel))
