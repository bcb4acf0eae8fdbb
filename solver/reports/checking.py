"""A build file judged: every fault with its place, and notes of what is no fault.

Where a strap group that changes numbers is not set, the build is judged under each legal setting of it: what is wrong
under all of them, by however much, is a fault, the rest is told setting by setting.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice, product
from typing import TYPE_CHECKING

from solver import rules
from solver.fitted.settings import legal_fillings, read_settings
from solver.fitted.standing import Standing, stand
from solver.judge.audit import faults
from solver.reports.broken import broken_limits
from solver.reports.element import BrokenLimit
from solver.reports.out_of_service import out_of_service
from solver.room.build import Build
from solver.room.faults import quote
from solver.room.survey import Survey

if TYPE_CHECKING:
    from solver.reports.report import BuildReport, FrameReport, Report

MOST_READINGS = 100
"""Combinations of settings that are not given; where there are more, what needs numbers is not judged."""

MOST_TOLD = 4
"""Kinds of settings with faults of their own that are told one by one."""

MOST_NAMED = 3
"""Faults of one kind of setting, or settings of one kind, that are told one by one."""

Filling = Mapping[str, Mapping[str, str]]
"""By frame, settings of groups that the build leaves out."""


@dataclass(frozen=True)
class Checked:
    """A build as it stands, its faults, and what was assumed to judge it.

    `filled` are the settings that the build leaves out and `standing` has.
    """

    build: Build
    standing: Standing
    faults: tuple[BrokenLimit, ...]
    assumed: tuple[str, ...] = ()
    filled: Filling = field(default_factory=dict)

    @property
    def notes(self) -> tuple[str, ...]:
        """All that is told beside the faults; who asks for faults alone does not wait for it."""
        return (*self.assumed, *_remarks(self.standing.survey, self.build, self.standing))


def check_room(
    survey: Survey, build: Build, others: frozenset[str] = frozenset(), bare: Standing | None = None
) -> Checked:
    """Judge a build of one room.

    Parameters
    ----------
    bare
        The build as it stands, where that is known already.
    others
        Codes of rules that are judged elsewhere, for all rooms together.
    """
    bare = bare or stand(survey, build)
    own = _broken(survey, bare, others)
    fillings = _fillings(survey, bare)
    if fillings is None:
        assumed = ["too many settings are left out: what depends on channel numbers is not judged"]
        return Checked(build, bare, own, tuple(assumed))
    if not fillings:
        return Checked(build, bare, own, tuple(_as_if(bare)))
    ways = [stand(survey, _filled(build, filling)) for filling in fillings]
    broken = [_broken(survey, way, others) for way in ways]
    common = set.intersection(*({_limit_of(fault) for fault in found} for found in broken))
    alone = [[fault.text for fault in found if _limit_of(fault) not in common] for found in broken]
    shown = min(range(len(ways)), key=lambda n: (len(alone[n]), n))
    certain = [fault for fault in own if rules.ALL[fault.rule].of_settings]
    certain += [fault for fault in broken[shown] if _limit_of(fault) in common and fault not in certain]
    assumed = _told_by_setting(fillings, alone, fillings[shown])
    return Checked(build, ways[shown], tuple(certain), tuple(assumed), fillings[shown])


def not_there(survey: Survey) -> list[str]:
    """What a scenario says to stand and cannot stand so: what is moved is counted from it all the same."""
    if survey.scenario.stands is None:
        return []
    faults = check_room(survey, survey.scenario.stands).faults
    known = [fault for fault in faults if (fault.frame, fault.slot) not in survey.scenario.gone]
    return [f"what stands: {fault.text}" for fault in known if rules.ALL[fault.rule].describes]


def check_report(survey: Survey, checked: Checked) -> Report:
    """The report of a check: every fault, and the build's own figures."""
    from solver.judge.criteria import figures
    from solver.reports.describe import describe_build
    from solver.reports.report import Report

    standing = checked.standing
    described = describe_build(survey, standing, figures(survey, standing), 1, False)
    return Report(
        scenario=survey.title,
        currency=survey.currency,
        sample_rate=survey.sample_rate,
        outcome="faulty" if checked.faults else "clean",
        proven=True,
        criteria=list(survey.rank),
        builds=[assumed_marked(described, {survey.room: checked.filled})],
        faults=list(checked.faults),
        notes=[*out_of_service(survey.scenario), *checked.notes],
    )


def assumed_marked(build: BuildReport, filled: Mapping[str | None, Filling]) -> BuildReport:
    """A build in which the settings that it leaves out are told from those that it has; `filled` is by room."""

    def marked(frame: FrameReport) -> FrameReport:
        given = filled.get(frame.room, {}).get(frame.name, {})
        work = [w.model_copy(update={"assumed": True}) if w.group in given else w for w in frame.strap_work]
        return frame.model_copy(update={"strap_work": work})

    return build.model_copy(update={"frames": [marked(frame) for frame in build.frames]})


def _broken(survey: Survey, standing: Standing, others: frozenset[str]) -> tuple[BrokenLimit, ...]:
    readings = [reading for reading in faults(survey, standing) if reading.limit.rule not in others]
    return tuple(fault for reading in readings for fault in broken_limits(survey, reading, standing))


def _fillings(survey: Survey, standing: Standing) -> list[Filling] | None:
    """Every way to set what is left out and changes numbers; none where nothing is, None where there are too many."""
    boards = {board.id: board for board in survey.hardware.board}
    ways: dict[str, list[dict[str, str]]] = {}
    for frame in standing.frames:
        board = boards[frame.built.board]
        read = read_settings(board, frame.built.straps, survey.family)
        if read.undecided:
            ways[frame.site.name] = legal_fillings(board, read)
    if not ways:
        return []
    found = list(islice(product(*ways.values()), MOST_READINGS + 1))
    if not found or len(found) > MOST_READINGS:
        return None
    return [dict(zip(ways, way, strict=True)) for way in found]


def _filled(build: Build, filling: Filling) -> Build:
    frames = [
        frame.model_copy(update={"straps": {**frame.straps, **filling.get(frame.name, {})}}) for frame in build.frame
    ]
    return build.model_copy(update={"frame": tuple(frames)})


def _limit_of(fault: BrokenLimit) -> tuple[object, ...]:
    """What a fault breaks, by however much."""
    return fault.rule, fault.frame, fault.slot, fault.subject


def _flat(filling: Filling) -> dict[tuple[str, str], str]:
    return {(frame, group): setting for frame, own in filling.items() for group, setting in own.items()}


def _settings_text(some: Sequence[Filling], every: Sequence[Filling]) -> str:
    """What sets some ways apart from all: the groups that matter, where that tells them all, else way by way."""
    several = len(every[0]) > 1

    def told(frame: str, group: str, settings: Sequence[str]) -> str:
        return f"{f'frame {frame}, ' if several else ''}{quote(group)} {' or '.join(settings)}"

    flat, ways = [_flat(filling) for filling in some], [_flat(filling) for filling in every]
    apart = {place: list(dict.fromkeys(way[place] for way in flat)) for place in flat[0]}

    def alike(kept: Mapping[tuple[str, str], Sequence[str]]) -> int:
        return sum(all(way[place] in own for place, own in kept.items()) for way in ways)

    if len(every) > 1 and alike(apart) == len(some):
        for place in list(apart):
            fewer = {other: own for other, own in apart.items() if other != place}
            apart = fewer if alike(fewer) == len(some) else apart
        return ", ".join(told(*place, own) for place, own in apart.items()) or "any setting"
    one_by_one = [", ".join(told(*place, [setting]) for place, setting in way.items()) for way in flat[:MOST_NAMED]]
    more = len(some) - len(one_by_one)
    others = f" or in {more} other way{'s' if more > 1 else ''}" if more > 0 else ""
    return " or with ".join(one_by_one) + others


def _told_by_setting(fillings: Sequence[Filling], alone: Sequence[list[str]], shown: Filling) -> list[str]:
    """For each way to set what is left out, what is wrong with it alone; ways with the same faults share a line."""
    merged: dict[tuple[str, ...], list[Filling]] = {}
    for filling, texts in zip(fillings, alone, strict=True):
        merged.setdefault(tuple(texts), []).append(filling)
    told = []
    for broken, ways in sorted(merged.items(), key=lambda item: len(item[0]))[:MOST_TOLD]:
        first, more = "; ".join(broken[:MOST_NAMED]), len(broken) - MOST_NAMED
        faults_text = f"{first}; and {more} more" if more > 0 else first or "no further fault"
        told.append(f"with {_settings_text(ways, fillings)}: {faults_text}")
    if len(merged) > MOST_TOLD:
        told.append("with any other settings: at least as many further faults")
    return [*told, f"numbers and figures are shown with {_settings_text([shown], [shown])}"]


def _as_if(standing: Standing) -> list[str]:
    """Where settings that may not stand together give numbers all the same."""
    return [
        f"frame {frame.site.name}: its numbers are those that the settings would give if they could stand together"
        for frame in standing.frames
        if any(len(stray.groups) > 1 for stray in frame.strays)
    ]


def _remarks(survey: Survey, build: Build, standing: Standing) -> list[str]:
    """What is no fault: nice needs that are short, needs that get more than they ask for, better ways to serve."""
    from solver.judge.preference import better_serving

    notes = [
        f"{quote(need.name)} is nice to have and short: {need.demand - lacks} of {need.demand} channels"
        for need, lacks in sorted(standing.short().items(), key=lambda item: item[0].name)
    ]
    notes += [
        f"{quote(need.name)}: {more} more than asked for" for need in survey.needs if (more := standing.surplus(need))
    ]
    return notes + better_serving(survey, build, standing)
