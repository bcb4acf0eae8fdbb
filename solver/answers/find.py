"""What has a name in a build, and all that is on its path."""

from __future__ import annotations

from solver.answers.standing_rooms import odd_frames, stood_rooms
from solver.files.reading import Loaded
from solver.handover.bays import patch
from solver.handover.lookup import trails
from solver.handover.looms import looms, numbered
from solver.reports.bays import bay_limit
from solver.reports.found import Found, found_channels, found_slot
from solver.reports.report import file_warnings
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.faults import quote


def find(loaded: Loaded, build: Build, what: str, room: str | None = None) -> Found:
    """Find a number, a need or one of its channels, a slot, a card or a loom.

    Parameters
    ----------
    what
        A name as lists and labels have it: ``A:37`` or ``A:in:37``, ``drum mics`` or ``drum mics 3``, ``slot:A:5``,
        ``card:mic-8``, ``loom:A5-in``, ``bay:B14``.
    room
        One of several rooms; None for all of them.

    Raises
    ------
    WrongQuestion
        If no room has that name, or nothing has the name that is asked for.
    """
    stood = stood_rooms(loaded, build, room)
    channels = numbered(stood.rooms)
    bays = patch(stood.rooms, channels)
    known = trails(stood.rooms, channels, looms(stood.rooms, channels), bays.of_channels())
    faults = [*stood.faults, *map(bay_limit, bays.faults)]
    asked = what.strip()
    found, places = known.by_name(asked)
    if not found and not places:
        free = _free_point(loaded, room, asked)
        if free is not None:
            raise WrongQuestion(free, about="what")
        near = known.nearest(asked)
        meant = (
            f"did you mean {quote(near)}?"
            if near
            else "ask for a number (A:37), a need, slot:A:5, card:ID, loom:NAME or bay:B14"
        )
        raise WrongQuestion(f"nothing in this build is called {quote(asked)}; {meant}", about="what")
    return Found(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=stood.sample_rate,
        outcome="faulty" if faults else "clean",
        asked=asked,
        channels=[channel for trail in found for channel in found_channels(trail)],
        slots=[found_slot(place) for place in places],
        faults=faults,
        notes=[*bays.notes, *odd_frames("the build", stood.rooms)],
        warnings=file_warnings(loaded.warnings),
    )


def _free_point(loaded: Loaded, room: str | None, asked: str) -> str | None:
    """What is said of a point that a bay has and no line of the build is on."""
    for own in loaded.scenario.rooms():
        for bay in own.bay if room in (None, own.name) else ():
            for prefix in (f"bay:{bay.name}:", "bay:"):
                text = asked[len(prefix) :].upper()
                if asked.casefold().startswith(prefix.casefold()) and bay.has(text):
                    kept = f", and it is kept for {quote(bay.keep[text])}" if text in bay.keep else ""
                    return f"{text} of bay {quote(bay.name)} is free: no line of this build is on it{kept}"
    return None
