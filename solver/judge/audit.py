"""An independent check: every rule's limits against what a build uses of them."""

from __future__ import annotations

from collections.abc import Iterator

from solver import rules
from solver.fitted.standing import Standing
from solver.room.survey import Survey
from solver.rules.limit import Reading


def readings(survey: Survey, standing: Standing) -> Iterator[Reading]:
    """Every limit that can be judged and what the build uses of it, rule by rule."""
    for rule in rules.ALL.values():
        for limit in rule.limits(survey):
            used = rule.used(survey, standing, limit)
            if used is not None:
                yield Reading(limit, used)


def faults(survey: Survey, standing: Standing) -> list[Reading]:
    """The limits that a build breaks; empty for a good build."""
    return [reading for reading in readings(survey, standing) if not reading.kept]
