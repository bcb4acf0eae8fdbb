"""What each channel of a need comes from or goes to, and the tie lines on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from solver.room.ends import Cable, FarEnd, TieLine, Via
from solver.room.scenario import Room
from solver.room.survey import Survey
from solver.room.words import parse_ranges


@dataclass(frozen=True)
class Hop:
    """A line of a tie line, with its numbers at both ends."""

    tie: TieLine
    far: int
    near: int

    @property
    def far_text(self) -> str:
        """As the end towards the equipment is labelled."""
        return f"{self.tie.far.at} {self.far}"

    @property
    def near_text(self) -> str:
        """As the end towards the frames is labelled."""
        return f"{self.tie.near.at} {self.near}"


@dataclass(frozen=True)
class FarPath:
    """One socket of equipment, the cable from there on, and the tie lines on the way to a bay or a card, in order."""

    end: FarEnd
    socket: int | None
    cable: Cable | None
    hops: tuple[Hop, ...]

    @property
    def text(self) -> str:
        """The equipment with the number of its socket."""
        return self.end.called(self.socket)


def room_of(survey: Survey) -> Room:
    """The room of a scenario that was surveyed."""
    return next(room for room in survey.scenario.rooms() if (room.name or None) == survey.room)


def far_paths(survey: Survey) -> Mapping[tuple[str, int], FarPath]:
    """What is at the far end of each channel of a need, where a file tells it."""
    room = room_of(survey)
    demands = {need.name: need.demand for need in survey.needs}
    cables = {cable.number: cable for cable in room.cable}
    ties = {tie.name: tie for tie in room.tie_line}
    found: dict[tuple[str, int], FarPath] = {}
    for end in room.far_end:
        if end.need is None:
            continue
        hops = [list(_hops(ties[via.tie_line], via)) for via in end.via]
        for at, channel in enumerate(end.channels_of(demands[end.need])):
            cable = None if end.cable is None else cables[end.cable]
            found[end.need, channel] = FarPath(end, end.socket(at), cable, tuple(own[at] for own in hops))
    return found


def _hops(tie: TieLine, via: Via) -> Iterator[Hop]:
    near = dict(zip(tie.far.labels(), tie.near.labels(), strict=True))
    for number in parse_ranges(via.numbers):
        yield Hop(tie, number, near[number])
