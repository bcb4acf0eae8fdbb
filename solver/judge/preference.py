"""A preference, never a fault: whether the services that a build file names could be chosen better for its cards."""

from __future__ import annotations

from solver import rules
from solver.fitted.standing import Standing, stand
from solver.judge.audit import readings
from solver.judge.criteria import Figures, figures
from solver.room.build import Build
from solver.room.faults import quote
from solver.room.survey import Need, Survey


def better_serving(survey: Survey, build: Build, standing: Standing) -> list[str]:
    """What the same cards could do if what serves what were left to the check; nothing where that is no better.

    Only services that are in order are compared: channels that are there, have numbers and serve once.
    """
    if not any(frame.built.serves is not None for frame in standing.frames) or not _in_order(survey, standing):
        return []
    open_frames = tuple(frame.built.model_copy(update={"serves": None}) for frame in standing.frames)
    other = stand(survey, build.model_copy(update={"frame": open_frames}))
    found = []
    for need in survey.needs:
        had, could = standing.served(need), other.served(need)
        if had < min(need.demand, could):
            found.append(f"{quote(need.name)} could have {min(need.demand, could)} channels in place of {had}")
    own, free = figures(survey, standing), figures(survey, other)
    if not found:
        found = _spared(survey, standing, other, own, free)
    elsewhere = 'with the same cards and straps, and without "serves" in the file, '
    return [f"{elsewhere}{'; '.join(found)}"] if found else []


def _spared(survey: Survey, standing: Standing, other: Standing, own: Figures, free: Figures) -> list[str]:
    found = []
    if free.holes < own.holes:
        found.append(f"{own.holes - free.holes} fewer gaps would be left in the numbering")
    if free.misfit < own.misfit:
        spent = [n for n in survey.needs if _misfit(standing, n) > _misfit(other, n)]
        names = ", ".join(quote(need.name) for need in spent)
        found.append(f"plainer ports would carry {names}, and ports that take other signals too stay free")
    return found


def _in_order(survey: Survey, standing: Standing) -> bool:
    return all(reading.kept for reading in readings(survey, standing) if rules.ALL[reading.limit.rule].describes)


def _misfit(standing: Standing, need: Need) -> int:
    lines = {
        (frame.site.index, use.slot, use.channel.line): use.channel.line_type
        for frame, use in standing.uses(need)
        if use.channel is not None
    }
    return sum(line_type.misfit for line_type in lines.values())
