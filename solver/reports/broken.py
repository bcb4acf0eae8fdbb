"""A limit that a build breaks, as the documents have it: where, by how much, and in words."""

from __future__ import annotations

from solver import rules
from solver.fitted.standing import Standing
from solver.reports.element import BrokenLimit
from solver.reports.wording import in_words
from solver.room.survey import Survey
from solver.rules.finding import Finding
from solver.rules.limit import Limit, Reading, frames_at


def _fault_text(survey: Survey, reading: Reading, standing: Standing | None = None) -> str:
    """A broken limit in one sentence."""
    return in_words(survey, rules.ALL[reading.limit.rule].fault(survey, reading, standing))


def broken_limit(survey: Survey, reading: Reading, standing: Standing | None = None) -> BrokenLimit:
    """A limit that a build does not keep, as the report has it."""
    place = reading.limit.place
    return BrokenLimit(
        rule=reading.limit.rule,
        frame=place.frame,
        slot=place.slot,
        subject=place.subject,
        found=reading.used,
        limit=reading.limit.bound,
        unit=reading.limit.unit,
        text=_fault_text(survey, reading, standing),
    )


def broken_limits(survey: Survey, reading: Reading, standing: Standing) -> list[BrokenLimit]:
    """The same for a build: once, or once for each place where it breaks the limit."""
    whole = broken_limit(survey, reading, standing)
    return [
        whole.model_copy(
            update={"frame": at.frame, "slot": at.slot, "subject": at.subject, "found": at.found, "text": at.text}
        )
        for at in _places(survey, standing, reading.limit)
    ] or [whole]


def _places(survey: Survey, standing: Standing, limit: Limit) -> list[Finding]:
    """Each place where a build breaks a limit; none where it is broken as a whole."""
    rule = rules.ALL[limit.rule]
    frames = standing.frames if limit.place.frame is None else frames_at(standing, limit)
    return [found for frame in frames for found in rule.places(survey, frame, limit)]
