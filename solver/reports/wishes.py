"""What needs asked of their channels and had, and a repair does not keep, in words."""

from __future__ import annotations

from collections.abc import Mapping

from solver import rules
from solver.fitted.moves import Spot
from solver.fitted.repatched import Repatched
from solver.fitted.standing import Standing
from solver.fitted.wishes_kept import Channels, Wish, astray, held
from solver.reports.latencies import latency_changes
from solver.reports.wording import in_words
from solver.room.faults import quote
from solver.room.survey import Need
from solver.room.words import write_ranges
from solver.rules.limit import Reading


def wishes_lost(found: Repatched, before: Standing, after: Standing) -> list[str]:
    """Each wish of a need that was kept for channels for which it no longer is, and other latencies than before."""
    had, has = astray(before, _places(found, before, after=False)), astray(after, _places(found, after, after=True))
    said = []
    for (need, wish), channels in has.items():
        lost = [channel for channel in channels if channel not in had.get((need, wish), ())]
        if lost:
            said.append(f"{_told(before, need, wish)}: {quote(need.name)} {write_ranges(lost)} not so")
    return [*said, *latency_changes(found, before, after)]


def _places(found: Repatched, standing: Standing, *, after: bool) -> Mapping[Need, Channels]:
    spots: dict[Need, list[Spot | None]] = {}
    for each in found.channels:
        spots.setdefault(each.need, []).append(each.after if after else each.before)
    return held(standing, spots)


def _told(standing: Standing, need: Need, wish: Wish) -> str:
    """What a need asks for, with its name."""
    rule, survey = rules.ALL[wish], standing.survey
    names = [need.name, *(one.of[1] for one in need.one_of)]
    limit = next(limit for limit in rule.limits(survey) if limit.place.subject in names)
    return in_words(survey, rule.over(survey, Reading(limit, 1)))
