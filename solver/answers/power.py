"""What a build draws from the mains, frame by frame and breaker by breaker."""

from __future__ import annotations

from solver.answers.standing_rooms import stood_rooms
from solver.files.reading import Loaded
from solver.judge import mains
from solver.reports.element import file_warnings
from solver.reports.power import BreakerPower, FramePower, Power, breaker_power, broken, frame_power, year_of
from solver.room.build import Build
from solver.room.words import CURRENCY_DECIMALS


def power(loaded: Loaded, build: Build) -> Power:
    """What frames draw and breakers carry at full load; what is too much, and what else is wrong with the build."""
    scenario = loaded.scenario
    rooms = {room.name or None: room for room in scenario.rooms()}
    frames: list[FramePower] = []
    breakers: list[BreakerPower] = []
    stood = stood_rooms(loaded, build)
    faults = list(stood.faults)
    notes: list[str] = []
    unknown: list[str] = [] if scenario.mains else ["amperes and energy: the scenario has no mains"]
    for standing in stood.rooms:
        name = standing.survey.room
        drawn = mains.draws(standing, scenario.mains)
        carried = mains.loads(rooms[name], drawn)
        frames += [frame_power(name, draw, scenario.mains) for draw in drawn]
        breakers += [breaker_power(name, load) for load in carried]
        faults += [broken(name, fault) for fault in mains.faults(drawn, carried)]
        notes += mains.warnings(drawn, carried)
        unknown += mains.not_checked(drawn, carried)
    watts = [frame.mains_w for frame in frames]
    kwh, cost = year_of(frames, scenario.mains, CURRENCY_DECIMALS[scenario.currency])
    return Power(
        scenario=scenario.title,
        currency=scenario.currency,
        outcome="faulty" if faults else "clean",
        volts=None if scenario.mains is None else scenario.mains.volts,
        hours_a_year=None if scenario.mains is None else scenario.mains.hours_a_year,
        frames=frames,
        breakers=breakers,
        mains_w=None if None in watts else sum(w for w in watts if w is not None),
        year_kwh=kwh,
        year_cost=cost,
        faults=faults,
        notes=notes,
        not_checked=unknown,
        warnings=file_warnings(loaded.warnings),
    )
