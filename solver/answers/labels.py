"""Labels for the bays, slots and looms of a build."""

from __future__ import annotations

from solver.answers.asking import LABEL_WIDTH
from solver.answers.standing_rooms import odd_frames, stood_rooms
from solver.files.reading import Loaded
from solver.handover.bays import patch
from solver.handover.looms import looms, numbered
from solver.reports.bays import bay_limit
from solver.reports.labels import LabelList, labels_of
from solver.reports.report import file_warnings
from solver.room.build import Build


def labels(loaded: Loaded, build: Build, room: str | None = None, width: int = LABEL_WIDTH) -> LabelList:
    """Texts for labels: rows of bays, slots, both ends of looms.

    Parameters
    ----------
    room
        One of several rooms; None for all of them.
    width
        Characters that a label has room for.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    stood = stood_rooms(loaded, build, room)
    channels = numbered(stood.rooms)
    bays = patch(stood.rooms, channels)
    faults = [*stood.faults, *map(bay_limit, bays.faults)]
    found = labels_of(stood.rooms, channels, looms(stood.rooms, channels), bays.points, width)
    long = sum(not label.fits for label in found)
    said = f"{long} label{'s' if long > 1 else ''} longer than {width} characters: no shorter text would be unique"
    return LabelList(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        width=width,
        labels=found,
        faults=faults,
        notes=[*([said] if long else []), *bays.notes, *odd_frames("the build", stood.rooms)],
        warnings=file_warnings(loaded.warnings),
    )
