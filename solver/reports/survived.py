"""Which failures a build survives, in words."""

from __future__ import annotations

from collections.abc import Iterable

from solver import rules
from solver.fitted.standing import Standing
from solver.reports.wording import in_words
from solver.room.faults import quote
from solver.room.survey import Survey
from solver.rules.limit import Reading


def survived(survey: Survey, standing: Standing, found: Iterable[Reading]) -> list[str]:
    """Each failure that a build survives as the scenario asks: of which needs nothing is lost, or which frames run on.

    Parameters
    ----------
    found
        How the build stands to every limit that can be judged.
    """
    kept = {reading.limit for reading in found if reading.kept}
    used = {frame.site.name for frame in standing.frames}
    told = []
    for rule in rules.LIST:
        said = rule.ready_for(survey)
        own = [limit for limit in rule.limits(survey) if limit.place.frame in (None, *used)] if said else []
        if said is not None and own and kept.issuperset(own):
            needs = dict.fromkeys(quote(limit.place.subject or "") for limit in own if limit.place.frame is None)
            frames = dict.fromkeys(limit.place.frame for limit in own if limit.place.frame is not None)
            whose = f": {', '.join(needs)}" if needs else f" of {', '.join(frames)}"
            told.append(f"{in_words(survey, said).rstrip(',')}{whose}")
    return told
