"""What is wrong with points of bays, cables and far ends of a build, to which no plan keeps."""

from __future__ import annotations

from solver.answers.standing_rooms import standing_rooms
from solver.answers.times import times, told_once
from solver.files.reading import Loaded
from solver.handover.wiring import Wiring
from solver.reports.bays import wiring_limits
from solver.reports.element import BrokenLimit
from solver.room.build import Build


def wiring_faults(loaded: Loaded, build: Build) -> list[BrokenLimit]:
    """The faults of all rooms, on every kind of day and in every phase; one that is not always so says when it is."""
    if not any(room.cable or room.bay or room.far_end for room in loaded.scenario.rooms()):
        return []
    each = times(loaded, build).items()
    return told_once({name: wiring_limits(Wiring(tuple(standing_rooms(*then)))) for name, then in each})
