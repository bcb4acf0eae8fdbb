"""How far builds hold while a need, the air or heat becomes more, each by itself, and what holds whatever comes.

Whatever works works with less as well: fewer channels, cooler air, less heat. So the least cost never falls as a figure
rises, and a build that costs the least at one value stays the best up to the last at which it keeps every rule. That
value is found by halving, with the audit alone; one step above it the search is asked again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from solver.fitted.standing import Standing, stand
from solver.judge.audit import faults
from solver.room.build import Build
from solver.room.graded import Grade, changed
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Survey
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock
from solver.search.solve.stages import RankedBuild


@dataclass(frozen=True)
class Held:
    """The values at which a build costs the least, both ends included; None where nothing can be built.

    `survey` is the room at the first of them.
    """

    low: int
    high: int
    survey: Survey
    build: RankedBuild | None


@dataclass(frozen=True)
class Graded:
    """What becomes of the choice while one figure moves and all else is as it is today; `proven` up to `high`."""

    grade: Grade
    held: tuple[Held, ...]
    proven: bool


class Grading:
    """A scenario of which figures may come to be more. Cost is ranked first; budget and slack play no part."""

    def __init__(self, scenario: Scenario, hardware: Hardware, workers: int, clock: Clock) -> None:
        self.scenario, self.hardware, self.workers, self.clock = scenario, hardware, workers, clock

    def at(self, figures: Sequence[tuple[Grade, int]]) -> Survey:
        """The room with figures as they may come to be.

        Raises
        ------
        ValueError
            If a measured rise is too far from what the formulas give there.
        """
        return replace(survey_room(*changed(self.scenario, self.hardware, figures)), budget=None, slack={})

    def along(self, grade: Grade) -> Graded:
        """The best builds from the lowest value of a figure to the highest."""
        held: list[Held] = []
        value = grade.low
        while value <= grade.high:
            self.clock.at = f"{grade.name} at {value}"
            one, proven = self.best([(grade, value)])
            if not proven:
                return Graded(grade, tuple(held), False)
            last = grade.high if one.build is None else self._last(grade, value, one.build.build)
            held.append(replace(one, low=value, high=last))
            value = last + 1
        return Graded(grade, tuple(held), True)

    def best(self, figures: Sequence[tuple[Grade, int]]) -> tuple[Held, bool]:
        """The best build at some figures, or none; whether that is proven."""
        survey = self.at(figures)
        if self.clock.over:
            return Held(0, 0, survey, None), False
        found = rank(survey, 1, workers=self.workers, clock=self.clock)
        build = found.builds[0] if found.builds else None
        proven = found.outcome == "impossible" if build is None else build.proven
        return Held(0, 0, survey, build), proven

    def _last(self, grade: Grade, low: int, build: Build) -> int:
        """The last value at which a build keeps every rule that keeps them at `low`."""
        high = grade.high
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if standing_at(self.at([(grade, middle)]), build) else (low, middle - 1)
        return low


def standing_at(survey: Survey, build: Build) -> Standing | None:
    """A build of other figures as it stands at these, with what serves what anew; None where it breaks a rule."""
    unsaid = tuple(frame.model_copy(update={"serves": None, "settings": ()}) for frame in build.frame)
    standing = stand(survey, build.model_copy(update={"frame": unsaid}))
    return None if faults(survey, standing) else standing
