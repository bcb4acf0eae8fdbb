"""An independent check: every rule's limits against what a build uses of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver import rules
from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
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


def unknowns(survey: Survey, standing: Standing, *, shared: bool | None = None) -> Counter[Unknown]:
    """What is not checked because the files lack figures; of rules that rooms share or of the others, where given."""
    found: Counter[Unknown] = Counter()
    for rule in rules.LIST:
        if shared is None or rule.shared == shared:
            for unknown, count in rule.unknowns(survey, standing):
                found[unknown] += count
    return found
