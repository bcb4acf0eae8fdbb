"""Where channels go that a room cannot carry any more: on lines of other rooms, idle ones before others."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from solver.fitted.frame import FrameStanding
from solver.fitted.moves import Spot, serving
from solver.fitted.repatched import Repatch, Repatched
from solver.fitted.serving import Line
from solver.fitted.standing import Standing
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, in_room
from solver.search.solve.clock import Clock
from solver.search.solve.repatch import CardChannel, Others, repatch


def elsewhere(
    before: Standing,
    after: Sequence[FrameStanding],
    dead: Collection[CardChannel],
    clock: Clock,
    unfed: Collection[tuple[str, int]],
    rooms: Sequence[Standing],
) -> tuple[Repatched, list[Repatch]]:
    """Serve again what a room serves, also on lines of other rooms that run at its sample rate.

    What works in the room goes on. Idle lines, then what is to spare elsewhere, then what is nice to have there serve
    what has to be met here. Frames and needs of other rooms are called with these. The first five parameters are those
    of `repatch`.

    Returns
    -------
    The channels of the room, and those of other rooms that get another number or are given up.

    Raises
    ------
    Stopped
        If the clock is over before anything is found.
    """
    rooms = [room for room in rooms if room.survey.sample_rate == before.survey.sample_rate]
    theirs = {plain: (need, spots) for room in rooms for plain, need, spots in _giving_way(room)}
    others = Others(
        lines=[line for room in rooms for line in _lines(room)],
        served={plain: spots for plain, (_, spots) in theirs.items()},
        room_of={called(room, frame.site.name): room.survey.room for room in rooms for frame in room.frames},
    )
    found = repatch(before, after, dead, clock, unfed, others=others)
    here = [each for each in found.channels if each.need not in theirs]
    there = [
        replace(each, need=need, channel=each.channel + need.channels - each.need.channels)
        for each in found.channels
        if each.moved and each.need in theirs
        for need, _ in (theirs[each.need],)
    ]
    return Repatched(tuple(here), found.proven), there


def called(room: Standing, name: str) -> str:
    """A frame or a need of another room, with that room."""
    return in_room(room.survey.room, name)[0]


def _spots(room: Standing, spots: Sequence[Spot]) -> list[Spot]:
    return [replace(spot, frame=called(room, spot.frame)) for spot in spots]


def _giving_way(room: Standing) -> Iterator[tuple[Need, Need, list[Spot]]]:
    """What of a room may give way: needs that are nice to have, and the channels of others that are to spare.

    As a need of just these channels, as the need that it is, and where they are.
    """
    for (_, need), spots in serving([room]).items():
        free = spots if need.nice else spots[need.channels :]
        asked = need.channels if need.nice else 0
        if free:
            whole = replace(need, name=called(room, need.name))
            yield replace(whole, channels=asked, wanted=None, one_of=()), whole, _spots(room, free)


def _lines(room: Standing) -> Iterator[tuple[str, Line]]:
    """The lines of a room but those that serve what has to be met there."""
    held = {
        (spot.frame, need.direction, spot.slot, spot.card_channel)
        for (_, need), spots in serving([room]).items()
        for spot in ([] if need.nice else spots[: need.channels])
    }
    for frame in sorted(room.frames, key=lambda frame: frame.site.name):
        for direction in DIRECTIONS:
            for line in frame.lines(direction):
                if not any((frame.site.name, direction, line.slot, channel) in held for channel in line.channels):
                    yield called(room, frame.site.name), line
