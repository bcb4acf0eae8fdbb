"""Ranked builds: criteria in the user's order, each stage proven or said not to be, then the next-best builds.

A stage takes the least value over all models of the room (`Search`), skipping those whose known bound cannot beat it.
A build is canonical: ties end with the first seating in order of layouts, slots and ids.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from solver.judge import criteria
from solver.room.message import Said
from solver.room.survey import Survey
from solver.search.model.scale import MARGIN, NEVER, TIES, Stage
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.incumbent import keep_at_once, worth_while
from solver.search.solve.shortage import builds_under, needs_giving_way
from solver.search.solve.stages import UNCHECKED, Chosen, Least, RankedBuild, Search, audited, reachable_margins


@dataclass(frozen=True)
class Readiness:
    """What builds cost at least that survive something, and without that, in minor units."""

    what: tuple[Said, ...]
    cost: int
    without: int
    proven: bool


@dataclass(frozen=True)
class Ranking:
    """The answer: `found`, `impossible` (proven) or `unknown`. `complete` says that no further build exists.

    `survey` is the room as it was ranked: with what needs that are nice to have are short. `ready` says what it costs
    to survive failures, where that was asked.
    """

    outcome: Literal["found", "impossible", "unknown"]
    builds: tuple[RankedBuild, ...] = ()
    complete: bool = False
    stopped: bool = False
    survey: Survey | None = None
    ready: Readiness | None = None


def _next_build(search: Search) -> tuple[Chosen | None, bool]:
    """The next-best seating; where there is none, whether that is proven."""
    survey = search.survey
    caps: dict[Stage, int] = {}
    chosen: Chosen | None = None
    search.settled.clear()
    passes: list[Mapping[str, int | str]] = [survey.slack, {}] if survey.slack else [{}]
    for slack in passes:
        grouped = search.grouped(slack)
        for stage in grouped:
            witness = chosen.seating if chosen else None
            if stage == ("cooling",):
                steps = [m for m in search.levels if m >= caps.get(MARGIN, 0)]
                if search.exact_at_once:
                    steps = sorted({*steps, *reachable_margins(survey, steps[0], UNCHECKED)})
                margin, proven, seating = search.coolest(caps, witness, steps)
                if seating is None or margin is None:
                    return None, proven
                chosen = chosen or Chosen(seating)
                chosen.seating = seating
                chosen.stages["cooling"] = chosen.stages.get("cooling", True) and proven
                loosened = margin - criteria.slack(survey, "cooling", 0, slack) * survey.step_mk
                caps[MARGIN] = max(caps.get(MARGIN, 0), survey.refuse_mk, loosened)
                continue
            least = search.least(stage, caps)
            if not caps and not least.proven and not slack:
                search.known.update(_known_of(search, stage, least))
            if least.value is None or least.seating is None:
                if chosen is None:
                    return None, least.proven
                chosen.stages = {**dict.fromkeys(survey.rank, False), **chosen.stages, stage[0]: False}
                return chosen, False
            chosen = chosen or Chosen(least.seating)
            chosen.seating = least.seating
            values = search.scale.split(stage, least.value)
            met, bounds = _proven_of(values, _known_of(search, stage, least))
            for criterion in stage:
                chosen.stages[criterion] = chosen.stages.get(criterion, True) and met[criterion]
            chosen.bounds = chosen.bounds or bounds
            if not survey.slack:
                search.settled.update(chosen.stages)
            if len(stage) == 1 and stage[0] in slack:
                unit = search.scale.units.get(stage[0], 1)
                loosened = values[stage[0]] + criteria.slack(survey, stage[0], values[stage[0]], slack)
                caps[stage] = loosened // unit
            else:
                caps[stage] = least.value
                if slack == passes[-1]:
                    chosen.reached.update(values)
    assert chosen is not None
    search.settle(caps, chosen, finer=not search.exact_at_once)
    return chosen, False


def _known_of(search: Search, stage: Stage, least: Least) -> dict[str, int]:
    """What no build of a stage can be below, criterion by criterion."""
    return search.scale.split(stage, least.bound) if 0 < least.bound < NEVER else {}


def _proven_of(values: Mapping[str, int], known: Mapping[str, int]) -> tuple[dict[str, bool], dict[str, int]]:
    """Which criteria are proven, as far as what is known meets what was found, and what bounds the next one."""
    stages: dict[str, bool] = {}
    bounds: dict[str, int] = {}
    met = True
    for criterion, value in values.items():
        bound = known.get(criterion, 0)
        if met and 0 < bound < value:
            bounds[criterion] = bound
        met = met and bound == value
        stages[criterion] = met
    return stages, bounds


def rank(
    survey: Survey,
    top: int = 5,
    limit_s: float | None = None,
    workers: int = 1,
    clock: Clock | None = None,
) -> Ranking:
    """Search the `top` best builds of a room.

    Parameters
    ----------
    survey
        The room, made ready.
    top
        How many distinct builds at most.
    limit_s
        Seconds for the whole search; None for no limit.
    workers
        Threads across independent models. Proven answers do not depend on it.

    Raises
    ------
    SearchError
        If a build that was found does not pass the audit or its figures differ from the search's: a defect.
    """
    clock = clock or Clock(limit_s)
    found, least = needs_giving_way(survey, lambda room: _ranked(room, top, workers, clock), clock, workers)
    if least is None or least.outcome == "impossible":
        return found
    builds = builds_under(least, found.outcome, found.builds, clock)
    outcome: Literal["found", "unknown"] = "found" if builds else "unknown"
    stopped = found.stopped if builds else clock.over
    return replace(found, outcome=outcome, builds=builds, complete=found.complete and least.proven, stopped=stopped)


def _ranked(survey: Survey, top: int, workers: int, clock: Clock) -> Ranking:
    builds: list[RankedBuild] = []
    complete = False
    latest: list[Seating] = []
    settled: dict[str, bool] = {}
    kept: list[RankedBuild] = []
    known: dict[str, int] = {}
    try:
        clock.check()
        if worth_while(survey):
            clock.step(partial(keep_at_once, survey, clock, kept))
        search = clock.step(lambda: Search.of(survey, clock, workers))
        latest, settled, known = search.latest, search.settled, search.known
        while len(builds) < top:
            if top > 1:
                clock.at = f"build {len(builds) + 1} of {top}"
            chosen, none = clock.step(lambda: _next_build(search))
            if chosen is None:
                complete = none
                break
            builds.append(clock.step(partial(audited, survey, chosen)))
            search.listed.append(chosen.seating)
            latest.clear()
            if clock.over:
                break
    except Stopped:
        builds += _unproven(survey, list(latest), dict(settled), clock)
    builds = _with_kept(survey, builds, kept, known, stopped=not complete)
    if builds:
        _check_order(survey, builds)
        return Ranking("found", tuple(builds), complete, clock.over, survey)
    return Ranking("impossible" if complete else "unknown", (), complete, clock.over, survey)


def _key(survey: Survey, build: RankedBuild) -> tuple[int, ...]:
    return tuple(criteria.value(survey, build.figures, criterion) for criterion in survey.rank)


def _with_kept(
    survey: Survey,
    builds: Sequence[RankedBuild],
    kept: Sequence[RankedBuild],
    known: Mapping[str, int],
    *,
    stopped: bool,
) -> list[RankedBuild]:
    """The builds with the kept one in the place of a first one that is not proven and worse, or of none."""
    if not kept or (not builds and not stopped):
        return list(builds)
    own = kept[0]
    if builds and (builds[0].proven or survey.slack or _key(survey, own) >= _key(survey, builds[0])):
        return list(builds)
    stages, bounds = _proven_of(dict(zip(survey.rank, _key(survey, own), strict=True)), known)
    others = [build for build in builds[1:] if build.build != own.build]
    return [replace(own, stages=stages, bounds=bounds), *others]


def _unproven(
    survey: Survey, latest: Sequence[Seating], settled: Mapping[str, bool], clock: Clock
) -> list[RankedBuild]:
    """What was found when the search was left, audited where that does not take long either."""
    try:
        stages = {**dict.fromkeys(survey.rank, False), **settled, TIES[0]: False}
        return [clock.step(partial(audited, survey, Chosen(seating, stages=stages))) for seating in latest]
    except Stopped:
        return []


def _check_order(survey: Survey, builds: Sequence[RankedBuild]) -> None:
    """Proven builds come in the order of their recomputed figures."""
    if survey.slack or not all(b.proven for b in builds):
        return
    keys = [tuple(criteria.value(survey, b.figures, c) for c in survey.rank) for b in builds]
    if keys != sorted(keys):
        raise SearchError(f"the audit's figures put the builds in another order: {keys}")


__all__ = ["Clock", "RankedBuild", "Ranking", "SearchError", "rank"]
