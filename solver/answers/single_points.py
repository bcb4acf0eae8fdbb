"""What each single failure takes from a build, the worst first."""

from __future__ import annotations

from collections import Counter

from solver.answers.mending import Repairs
from solver.answers.one_room import one_room
from solver.files.reading import Loaded
from solver.fitted.cooled import fan_fails
from solver.handover.clocking import clock_parts
from solver.handover.failing import what_fails, what_is_taken
from solver.reports.cooled import without_fan_told
from solver.reports.failed import (
    Points,
    SinglePoint,
    SinglePoints,
)
from solver.room.build import Build
from solver.search.solve.clock import Clock, Stopped


def single_points(loaded: Loaded, build: Build, clock: Clock, room: str | None = None) -> SinglePoints:
    """What is lost of a build with one card, supply, fan, board or frame, or one part of the clock, for each of them.

    The worst comes first. Supplies of which nobody says what each delivers alone are left out, and fans without which
    nobody can say how warm the frame gets.

    Raises
    ------
    WrongQuestion
        If no room has that name, or there are several and none is named.
    """
    own = one_room(loaded, build, room)
    handed, standing = own.handed, own.standing
    cards = {f"slot:{frame.site.name}:{seat.slot}": seat.kind.id for frame in standing.frames for seat in frame.seats}
    frames = [f"frame:{frame.site.name}" for frame in standing.frames] if len(standing.frames) > 1 else []
    several = [frame for frame in standing.frames if frame.site.left_ma and frame.site.chassis.supply.count > 1]
    wholes = [f"supply:{frame.site.name}" for frame in several]
    fans = [fails for frame in standing.frames if (fails := fan_fails(frame)) is not None]
    wholes += [f"fan:{fails.frame}" for fails in fans if fails.runs_on is not None]
    clocks = {part.name: part.told for part in clock_parts(own.wiring.clocks.get(None), standing.by_name)}
    wholes += [*clocks]
    wholes += [f"board:{frame.site.name}" for frame in standing.frames] + frames
    points = Points(own.wiring.trails)
    found: list[SinglePoint] = []
    try:
        for what in [*cards, *wholes]:
            clock.at = what
            dead = what_fails(own.wiring, standing, [what])
            taken = what_is_taken(standing, dead)
            patched = clock.step(Repairs(standing, dead, points, 1, clock).patched)
            found.append(
                SinglePoint(
                    what=what,
                    card=cards.get(what),
                    told=clocks.get(what),
                    without_clock=sorted(dead.unclocked()),
                    channels=sum(taken.takes(each.need, each.before) for each in patched.channels),
                    lost=len(patched.lost),
                    needs=dict(Counter(each.need.name for each in patched.lost)),
                    proven=patched.proven,
                )
            )
    except Stopped:
        pass
    complete = len(found) == len(cards) + len(wholes)
    found.sort(key=lambda point: (-point.lost, -point.channels, -len(point.without_clock)))
    untold = [fails for fails in fans if fails.runs_on is None]
    notes = [without_fan_told(fails) for fails in untold]
    return SinglePoints(**handed.head, complete=complete, points=found, notes=[*notes, *handed.notes])
