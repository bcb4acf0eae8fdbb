"""Racks as a build has them drawn, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.answers.standing_rooms import standing_rooms
from solver.files.reading import Loaded
from solver.racks.limit import Placement
from solver.racks.pieces import RackStand, racks_of
from solver.reports.element import BrokenLimit
from solver.reports.rack import rack_faults
from solver.room.build import Build


def racks(loaded: Loaded, build: Build) -> Iterator[tuple[str | None, RackStand]]:
    """Every rack with the name of its room, and what stands in it by a build."""
    rooms = {room.name or None: room for room in loaded.scenario.rooms()}
    if any(room.rack for room in rooms.values()):
        for standing in standing_rooms(loaded, build):
            name = standing.survey.room
            yield from ((name, stand) for stand in racks_of(standing, rooms[name]))


def drawn_at(build: Build, room: str | None, stand: RackStand) -> Placement | None:
    """The places that a build has for what is in a rack; None where it does not draw that rack."""
    drawn = next((r for r in build.rack if (r.room, r.name) == (room, stand.rack.name)), None)
    if drawn is None:
        return None
    return Placement(stand, {name: unit for name, unit in drawn.at.items() if name in stand.by_name})


def faults_of_racks(loaded: Loaded, build: Build) -> Iterator[BrokenLimit]:
    """What is wrong with the racks that a build draws."""
    for room, stand in racks(loaded, build):
        placement = drawn_at(build, room, stand)
        if placement is not None:
            yield from rack_faults(placement, room)
