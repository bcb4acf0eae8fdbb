"""The front: every build that no other beats on the scenario's criteria, with proof that none is missing.

A box says how much of each criterion but the first sum may be used, and which cooling margin must be kept. The least of
the box by its sums is beaten by nothing but a cooler one with the same sums, because whatever beat it would lie in the
same box. The least of all boxes splits every box that it lies in into those that are stricter in one criterion but the
first sum, of which no box has less; when no box is left, nothing is missing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Literal

from solver.judge import criteria
from solver.room.survey import Survey
from solver.search.model.scale import MARGIN, NEVER, Caps, Stage, no_tighter
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.incumbent import keep_at_once, worth_while
from solver.search.solve.part import margin_of
from solver.search.solve.shortage import builds_under, needs_giving_way
from solver.search.solve.stages import Chosen, RankedBuild, Search, audited


@dataclass(frozen=True)
class Front:
    """The points in the criteria's order; `complete` says that it is proven that none is missing.

    Where that is not so, `complete_below` is a criterion and an amount of it with less than which none is missing.
    `survey` is the room as it was searched: with what needs that are nice to have are short.
    """

    outcome: Literal["found", "impossible", "unknown"]
    points: tuple[RankedBuild, ...] = ()
    complete: bool = False
    stopped: bool = False
    survey: Survey | None = None
    complete_below: tuple[str, int] | None = None


@dataclass
class _Point:
    """A point as the search has it: its seating, and the caps that it fills."""

    chosen: Chosen
    caps: dict[Stage, int]
    values: dict[str, int]


@dataclass(eq=False)
class _Box:
    """Caps to keep, and the least point within them once it is known."""

    caps: dict[Stage, int]
    least: _Point | None = None


def front(survey: Survey, limit_s: float | None = None, workers: int = 1, clock: Clock | None = None) -> Front:
    """Search the front of a room.

    Parameters
    ----------
    survey
        The room, made ready. Its rank names the criteria; slack plays no part. Cooling counts in its steps.
    limit_s
        Seconds for the whole search; None for no limit.
    workers
        Threads across independent models. A complete front does not depend on it.

    Raises
    ------
    SearchError
        If the audit refuses a point, or one point beats another: a defect.
    """
    clock = clock or Clock(limit_s)
    found, least = needs_giving_way(survey, lambda room: _front(room, workers, clock), clock, workers)
    if least is None or least.outcome == "impossible":
        return found
    points = builds_under(least, found.outcome, found.points, clock)
    outcome: Literal["found", "unknown"] = "found" if points else "unknown"
    stopped = found.stopped if points else clock.over
    below = found.complete_below if least.proven else None
    complete = found.complete and least.proven
    return replace(found, outcome=outcome, points=points, complete=complete, stopped=stopped, complete_below=below)


def _front(survey: Survey, workers: int, clock: Clock) -> Front:
    found = _Found()
    kept: list[RankedBuild] = []
    try:
        if worth_while(survey) and not clock.over:
            clock.step(partial(keep_at_once, survey, clock, kept))
        builds = clock.step(lambda: _whole(survey, clock, workers, found))
    except Stopped:
        builds = _unproven(survey, found, clock)
    complete = found.complete
    if not complete:
        builds = builds or kept
    if not builds:
        return Front("impossible" if complete else "unknown", (), complete, clock.over, survey)
    standing = _unbeaten(survey, builds)
    if complete and len(standing) < len(builds):
        raise SearchError("a point of the front is beaten by another")
    complete = complete and all(b.proven for b in standing)
    below = None if complete else found.complete_below(survey, standing)
    return Front("found", tuple(standing), complete, clock.over, survey, below)


@dataclass
class _Found:
    """What a search of the front came to so far."""

    points: list[_Point] = field(default_factory=list)
    settled: list[RankedBuild] = field(default_factory=list)
    latest: list[Seating] = field(default_factory=list)
    complete: bool = False
    sure: tuple[str, int] | None = None
    """The first sum, and what no build that is still looked for falls below."""

    def complete_below(self, survey: Survey, builds: Sequence[RankedBuild]) -> tuple[str, int] | None:
        """What is sure, where all points below that are among some builds; nothing where it says nothing."""
        if self.sure is None or self.sure[1] <= 0:
            return None
        criterion, amount = self.sure
        keys = [_key(survey, build) for build in builds]
        for point in self.points:
            own = [_value(survey, point, c) for c in survey.rank]
            there = any(all(a <= b for a, b in zip(key, own, strict=True)) for key in keys)
            if point.values[criterion] < amount and not there:
                return None
        return self.sure


def _whole(survey: Survey, clock: Clock, workers: int, found: _Found) -> list[RankedBuild]:
    """All points, settled and audited, as far as the clock allows."""
    clock.check()
    search = Search.of(survey, clock, workers, rough=False)
    found.latest = search.latest
    boxes = [_Box({})]
    points, loose = found.points, []
    while boxes and not clock.over:
        box = min(boxes, key=lambda box: _promise(search, box))
        found.sure = _sure(search, _promise(search, box))
        if box.least is not None:
            points.append(box.least)
            clock.at = f"{len(points)} builds so far"
            boxes = _split(search, boxes, box.least)
            continue
        least, proven = _least_of(search, box.caps)
        if least is not None and not all(least.chosen.stages[c] for stage in _stages(search)[:1] for c in stage):
            loose = [least]  # what it is in the first stage is no bound of its box
        else:
            box.least = least
        if not proven:
            break
        if box.least is None:
            boxes.remove(box)
    sure = min((_promise(search, box) for box in boxes), default=NEVER)
    found.sure = _sure(search, sure)
    every = points + [box.least for box in boxes if box.least is not None] + loose
    builds = _settled(search, _coolest(search, every, sure), found.settled)
    found.complete = not boxes
    return builds


def _sure(search: Search, bound: int) -> tuple[str, int] | None:
    """The first sum, and its part of a bound of the first stage."""
    stages = _stages(search)
    if not stages or not 0 < bound < NEVER:
        return None
    return stages[0][0], search.scale.split(stages[0], bound)[stages[0][0]]


def _value(survey: Survey, point: _Point, criterion: str) -> int:
    """What a point is in a criterion, as builds are compared: of cooling the steps that it misses."""
    if criterion != "cooling":
        return point.values[criterion]
    return survey.top_level - survey.level(point.caps[MARGIN])


def _unproven(survey: Survey, found: _Found, clock: Clock) -> list[RankedBuild]:
    """What was found when the search was left, audited as far as that does not take long either."""
    builds = list(found.settled)
    stages = dict.fromkeys(survey.rank, False)
    try:
        for seating in [*(point.chosen.seating for point in list(found.points)), *list(found.latest)]:
            builds.append(clock.step(partial(audited, survey, Chosen(seating, stages=stages))))
    except Stopped:
        pass
    return [replace(build, proven=False) for build in builds]


def _sums(search: Search) -> list[str]:
    return [criterion for criterion in search.survey.rank if criterion != "cooling"]


def _stages(search: Search) -> list[Stage]:
    """The sums in the criteria's order, joined while they fit."""
    stages: list[Stage] = []
    for criterion in _sums(search):
        if stages and search.scale.fits((*stages[-1], criterion)):
            stages[-1] = (*stages[-1], criterion)
        else:
            stages.append((criterion,))
    return stages


def _promise(search: Search, box: _Box) -> int:
    """What no build within a box falls below in the first stage."""
    stages = _stages(search)
    if not stages:
        return 0
    if box.least is not None:
        return box.least.caps[stages[0]]
    return min((part.lower(stages[0], box.caps) for part in search.parts if part.may_keep(box.caps)), default=NEVER)


def _least_of(search: Search, box: Caps) -> tuple[_Point | None, bool]:
    """The first build of a box by the sums in their order; whether that, or its absence, is proven.

    A cooler one with the same sums lies in a box that is left when it is split.
    """
    caps: dict[Stage, int] = dict(box)
    chosen: Chosen | None = None
    values: dict[str, int] = {}
    proven = True
    for stage in _stages(search):
        least = search.least(stage, caps)
        if least.value is None or least.seating is None:
            return None, least.proven
        chosen = chosen or Chosen(least.seating)
        chosen.seating = least.seating
        caps[stage] = least.value
        values.update(search.scale.split(stage, least.value))
        chosen.stages.update(dict.fromkeys(stage, least.proven))
        proven = proven and least.proven
    if "cooling" in search.survey.rank:
        steps = [margin for margin in search.levels if margin >= box.get(MARGIN, 0)]
        if chosen is None:
            margin, proven, seating = search.coolest(caps, None, steps)
            if margin is None or seating is None:
                return None, proven
            chosen = Chosen(seating)
        else:
            reached = margin_of(search.survey, chosen.seating)
            margin = max(step for step in steps if reached is None or step <= reached)
        chosen.stages["cooling"] = proven
        caps[MARGIN] = margin
    assert chosen is not None
    chosen.reached = dict(values)
    caps = {stage: cap for stage, cap in caps.items() if stage in _stages(search) or stage == MARGIN}
    return _Point(chosen, caps | _own_caps(search, values), values), proven


def _own_caps(search: Search, values: Mapping[str, int]) -> dict[Stage, int]:
    """A point's caps on every sum but the first, each alone."""
    return {(c,): values[c] // search.scale.units.get(c, 1) for c in _sums(search)[1:]}


def _split(search: Search, boxes: Sequence[_Box], point: _Point) -> list[_Box]:
    """The boxes that are left when the least point of all is found, without those that lie in another."""
    found: list[_Box] = []
    for box in boxes:
        if not _inside(search, point, box.caps):
            found.append(box)
            continue
        stricter = [{**box.caps, s: cap - 1} for s, cap in _own_caps(search, point.values).items() if cap > 0]
        if MARGIN in point.caps:
            stricter += [{**box.caps, MARGIN: higher} for higher in search.levels if higher > point.caps[MARGIN]][:1]
        for caps in stricter:
            # The least of a box is the least of every smaller one that it lies in.
            kept = box.least is not None and _inside(search, box.least, caps)
            found.append(_Box(caps, box.least if kept else None))
    return [
        box
        for n, box in enumerate(found)
        if not any(
            no_tighter(other.caps, box.caps) and (m < n or not no_tighter(box.caps, other.caps))
            for m, other in enumerate(found)
            if m != n
        )
    ]


def _inside(search: Search, point: _Point, caps: Caps) -> bool:
    """Whether a point keeps the caps of a box."""
    own = _own_caps(search, point.values)
    return all(point.caps[MARGIN] >= cap if s == MARGIN else own[s] <= cap for s, cap in caps.items())


def _coolest(search: Search, points: Sequence[_Point], sure: int) -> list[_Point]:
    """The points without those whose sums another has with a greater margin.

    While boxes are left it is not known whether cooler builds have the same sums as a point: unless what no build in
    them falls below says that none has.
    """
    stages = _stages(search)
    best: dict[tuple[int, ...], _Point] = {}
    for point in points:
        key = tuple(point.values.values())
        if key not in best or point.caps.get(MARGIN, 0) > best[key].caps.get(MARGIN, 0):
            best[key] = point
        if stages and "cooling" in point.chosen.stages:
            point.chosen.stages["cooling"] = point.caps[stages[0]] < sure
    return list(best.values())


def _settled(search: Search, points: Sequence[_Point], done: list[RankedBuild]) -> list[RankedBuild]:
    """The canonical build of every point, audited; what is `done` is told as it comes."""

    def settle(point: _Point) -> RankedBuild:
        search.settle(point.caps, point.chosen, finer=MARGIN in point.caps)
        build = audited(search.survey, point.chosen)
        done.append(build)
        return build

    if search.workers == 1:
        return [settle(point) for point in points]
    with ThreadPoolExecutor(search.workers) as pool:
        return list(pool.map(settle, points))


def _key(survey: Survey, build: RankedBuild) -> tuple[int, ...]:
    return tuple(criteria.value(survey, build.figures, criterion) for criterion in survey.rank)


def _unbeaten(survey: Survey, builds: Sequence[RankedBuild]) -> list[RankedBuild]:
    """The builds that no other beats or repeats, in the criteria's order, by their recomputed figures."""
    found: list[RankedBuild] = []
    for build in sorted(builds, key=lambda b: _key(survey, b)):
        mine = _key(survey, build)
        if not any(all(a <= b for a, b in zip(_key(survey, other), mine, strict=True)) for other in found):
            found.append(build)
    return found


def scenarios_choice(survey: Survey, points: Sequence[RankedBuild]) -> RankedBuild:
    """The point that the scenario's own order and slack pick from a complete front."""
    left = list(points)
    for criterion in survey.rank:
        least = min(criteria.value(survey, p.figures, criterion) for p in left)
        allowed = least + criteria.slack(survey, criterion, least)
        left = [p for p in left if criteria.value(survey, p.figures, criterion) <= allowed]
    return min(left, key=lambda p: _key(survey, p))
