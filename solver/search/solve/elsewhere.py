"""Where channels go that a room cannot carry any more: on lines of other rooms, idle ones before others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.fitted.moves import Spot, serving
from solver.fitted.repatched import Repatch, Repatched
from solver.fitted.serving import Line
from solver.fitted.standing import Standing
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, in_room
from solver.search.solve.clock import Clock
from solver.search.solve.repatch import PatchModel


def elsewhere(
    kept: Repatched, standing: Standing, others: Sequence[Standing], clock: Clock
) -> tuple[Repatched, list[Repatch]]:
    """Carry what a room has lost on lines of other rooms that run at its sample rate.

    Needs that have to be met there go on with all that they ask for: idle lines, then what is to spare there, then what
    is nice to have there serve what has to be met here. Frames and needs of other rooms are called with these.

    Returns
    -------
    The channels of the room, and those of other rooms that get another number or are given up.

    Raises
    ------
    Stopped
        If the clock is over before anything is found.
    """
    rooms = [room for room in others if room.survey.sample_rate == standing.survey.sample_rate]
    lost: dict[Need, list[Repatch]] = {}
    for each in kept.lost:
        lost.setdefault(each.need, []).append(each)
    own = {_plain(need, len(gone)): gone for need, gone in lost.items()}
    served = {need: [each.before for each in gone] for need, gone in own.items()}
    theirs = {plain: (need, spots) for room in rooms for plain, need, spots in _giving_way(room)}
    lines = [line for room in rooms for line in _lines(room)]
    chosen, proven = PatchModel(
        {**served, **{plain: spots for plain, (_, spots) in theirs.items()}}, lines, borrow=True
    ).solved(clock)
    found = {(each.need, each.channel): each for each in chosen}
    placed = {
        (each.need, each.channel): found[need, n].after for need, gone in own.items() for n, each in enumerate(gone, 1)
    }
    here = [replace(each, after=placed.get((each.need, each.channel), each.after)) for each in kept.channels]
    there = [
        replace(each, need=need, channel=each.channel + need.channels - each.need.channels)
        for each in chosen
        if each.moved and each.need in theirs
        for need, _ in (theirs[each.need],)
    ]
    return Repatched(tuple(here), kept.proven and proven), there


def _plain(need: Need, channels: int) -> Need:
    """So many channels of a need, wherever they are."""
    return replace(need, channels=channels, spare=0, wanted=None, one_of=())


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
