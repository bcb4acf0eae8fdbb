"""What has a name in a build, and all that is on its path."""

from __future__ import annotations

from collections.abc import Iterator

from solver.answers.handed_over import handed_over
from solver.files.reading import Loaded
from solver.handover.lookup import Trails
from solver.reports.found import Found, found_channels, found_slot
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.faults import quote
from solver.room.words import in_room


def find(loaded: Loaded, build: Build, what: str, room: str | None = None) -> Found:
    """Find a number, a need or one of its channels, a slot, a card or a loom.

    Parameters
    ----------
    what
        A name as lists and labels have it: ``A:37`` or ``A:in:37``, ``drum mics`` or ``drum mics 3``, ``slot:A:5``,
        ``card:mic-8``, ``serial:0117``, ``loom:A5-in``, ``bay:B14``.
    room
        One of several rooms; None for all of them.

    Raises
    ------
    WrongQuestion
        If no room has that name, or nothing has the name that is asked for.
    """
    handed = handed_over(loaded, build, room)
    known = Trails(handed.wiring.trails, handed.wiring.places)
    asked = what.strip()
    found, places = known.by_name(asked)
    taken = {(trail.channel.room, trail.patched.bay.name) for trail in found if trail.patched is not None}
    free = [told for bay, told in _free_points(loaded, room, asked) if bay not in taken]
    if not found and not places:
        if elsewhere := [*free, *_in_no_frame(loaded, asked)]:
            raise WrongQuestion("; ".join(elsewhere), about="what")
        near = known.nearest(asked)
        meant = (
            f"did you mean {quote(near)}?"
            if near
            else "ask for a number (A:37), a need, slot:A:5, card:ID, loom:NAME, bay:B14, far:EQUIPMENT, tie:BOX 3 or "
            "cable:NUMBER"
        )
        raise WrongQuestion(f"nothing in this build is called {quote(asked)}; {meant}", about="what")
    return Found(
        **handed.head,
        asked=asked,
        channels=[channel for trail in found for channel in found_channels(trail)],
        slots=[found_slot(place) for place in places],
        notes=[*free, *handed.notes_of([trail.channel for trail in found])],
    )


def _in_no_frame(loaded: Loaded, asked: str) -> Iterator[str]:
    """What is said of an asset that stands in no slot of the build."""
    for asset in loaded.scenario.asset:
        if asset.is_called(asked):
            yield f"{asset.told} stands in no slot of this build: it {asset.where}"


def _free_points(loaded: Loaded, room: str | None, asked: str) -> Iterator[tuple[tuple[str | None, str], str]]:
    """What is said of points that bays have and no line of the build is on, by room and bay."""
    for own in loaded.scenario.rooms():
        for bay in own.bay if room in (None, own.name) else ():
            prefixes = [name for start in (f"bay:{bay.name}:", "bay:") for name in in_room(own.name or None, start)]
            texts = [asked[len(p) :].upper() for p in prefixes if asked.casefold().startswith(p.casefold())]
            text = next((text for text in texts if bay.has(text)), None)
            if text is not None:
                kept = f", and it is kept for {quote(bay.keep[text])}" if text in bay.keep else ""
                told = f"{text} of bay {quote(bay.name)} is free: no line of this build is on it{kept}"
                yield (own.name or None, bay.name), told
