"""The best plan of a scenario with racks; where no rack has a place for it, for warmth, one that stands anywhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from solver.answers.asked import surveyed
from solver.answers.plan import Planned, plan
from solver.answers.racks import racks
from solver.files.reading import Loaded
from solver.room.build import Build
from solver.room.scenario import Frame, Room, Scenario
from solver.search.rack.warmth import kept_out_by_warmth, most_rises_mk
from solver.search.solve.clock import Clock

MOST_ROUNDS = 4
"""Plans that are made at most until none gives more heat than the one before it was planned to stand."""

Rises = Mapping[tuple[str | None, str], int]
"""By room and frame how much warmer its inlet is, in mK."""


def planned_for_racks(loaded: Loaded, workers: int, clock: Clock) -> tuple[Planned, list[str]]:
    """The best plan, and what is to be said of it.

    Where things that rise from below keep it out of a rack, frames are planned again with all other heat of their rack
    below them, the worst that can be, until the heat of what is planned is no more than was counted: that is verified,
    and stands wherever the other rules let it. That no cheaper build has places is not proven then.
    """
    best = plan(surveyed(loaded), loaded, 1, workers, clock)
    if not best.builds or not _kept_out(loaded, best.builds[0], clock):
        return best, []
    told = "the best plan has no place: what rises from below is too warm for it"
    rises = _rises(loaded, best.builds[0])
    for _ in range(MOST_ROUNDS):
        warmer = replace(loaded, scenario=_warmed(loaded, rises))
        found = plan(surveyed(warmer), warmer, 1, workers, clock)
        if not found.builds:
            none = "none was found within the limit" if found.report.outcome == "unknown" else "no build does"
            return best, [f"{told}; {none} with all other heat that its rack has then below each frame"]
        after = _rises(loaded, found.builds[0])
        if all(rise <= rises.get(frame, 0) for frame, rise in after.items()):
            kelvin = -(-max(rises.values()) // 100) / 10
            best_of_these = "the best plan" if found.report.proven else "a plan, not proven to be the best,"
            return found, [
                f"{told}; this is {best_of_these} that stands with all other heat of its rack below each frame, up to "
                f"{kelvin:.1f} K, the worst that can be; that none that is better has places is not proven"
            ]
        rises = {frame: max(rises.get(frame, 0), after.get(frame, 0)) for frame in (*rises, *after)}
    return best, [f"{told}; planned again {MOST_ROUNDS} times, its heat was more each time than was counted"]


def _kept_out(loaded: Loaded, build: Build, clock: Clock) -> bool:
    return any(kept_out_by_warmth(stand, clock) for _, stand in racks(loaded, build))


def _rises(loaded: Loaded, build: Build) -> Rises:
    return {(room, name): mk for room, stand in racks(loaded, build) for name, mk in most_rises_mk(stand).items()}


def _warmed(loaded: Loaded, rises: Rises) -> Scenario:
    """The scenario with so much warmer air at the inlets of frames."""
    scenario = loaded.scenario

    def frames(room: str | None, own: tuple[Frame, ...]) -> tuple[Frame, ...]:
        more = {name: Decimal(mk) / 1000 for (where, name), mk in rises.items() if where == room}
        return tuple(f.model_copy(update={"inlet_rise_k": f.inlet_rise_k + more.get(f.name, 0)}) for f in own)

    def warmed(room: Room) -> Room:
        return room.model_copy(update={"frame": frames(room.name or None, room.frame)})

    if scenario.room:
        return scenario.model_copy(update={"room": tuple(map(warmed, scenario.room))})
    return scenario.model_copy(update={"frame": frames(None, scenario.frame)})
