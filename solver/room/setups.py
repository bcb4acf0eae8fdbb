"""The kinds of day of a scenario, each as a room of its own with the needs and the sample rate that it has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.room.times import Setup


@dataclass(frozen=True)
class Day:
    """A kind of day, and the room as it is then."""

    setup: Setup
    survey: Survey


@dataclass(frozen=True)
class Setups:
    """The kinds of day that share one seating.

    `straps` says whether they may be set for each, `over` whether what is not used is added up over them, each as often
    as it comes, or counts where it is the most.
    """

    days: tuple[Day, ...]
    straps: Literal["per setup", "same"]
    over: Literal["sum", "worst"]

    @property
    def first(self) -> Survey:
        """The room as it is on the first of them."""
        return self.days[0].survey


def setups_of(scenario: Scenario, hardware: Hardware) -> Setups:
    """The kinds of day of a scenario that has some."""
    days = tuple(Day(setup, survey_room(scenario_of(scenario, setup), hardware)) for setup in scenario.setup)
    return Setups(days, scenario.straps, scenario.over_setups)


def scenario_of(scenario: Scenario, setup: Setup) -> Scenario:
    """A scenario as it is on one of its kinds of day, as if there were no other."""
    needs = tuple(need for need in scenario.need if need.name in setup.needs)
    ends = tuple(end for end in scenario.far_end if end.need is None or end.need in setup.needs)
    rate = setup.sample_rate or scenario.sample_rate
    return scenario.model_copy(update={"need": needs, "far_end": ends, "sample_rate": rate, "setup": ()})


def of_day(build: Build, day: str) -> Build:
    """The frames of a build as they are on a kind of day, as if there were no other."""
    frames = [frame.model_copy(update={"setup": None}) for frame in build.frame if frame.setup == day]
    return build.model_copy(update={"frame": tuple(frames)})


def of_all_days(builds: Sequence[tuple[str, Build]]) -> Build:
    """The builds of all kinds of day as one."""
    frames = [frame.model_copy(update={"setup": day}) for day, build in builds for frame in build.frame]
    return builds[0][1].model_copy(update={"frame": tuple(frames)})
