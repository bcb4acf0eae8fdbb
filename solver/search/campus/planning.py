"""A campus: rooms that share stock, offers and budget, planned together.

Like rooms form a group. Criterion by criterion, in the order of the ranking, the groups are asked together for the
least of it (`questions.py`); what they take is seated, and every room gets a build of its own.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import repeat
from typing import Literal

from solver.fitted.standing import Standing
from solver.judge import criteria
from solver.judge.campus import (
    Campus,
    CampusFigures,
    CampusStanding,
    all_may_lack,
    build_of_campus,
    faults,
    figures,
    firm,
    gives_way,
    stand_campus,
)
from solver.room.build import Build
from solver.search.campus.housing import as_built, best_seats
from solver.search.campus.pooling import Pools, deal, pool
from solver.search.campus.purse import UNBUILT, Purse, Question
from solver.search.campus.questions import NONE, Progress, Questions, Taken
from solver.search.model.allotment import SHORTS, Allotment
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.standing import as_stands

COOLING_ROUNDS = 40
"""Prices are set so often at most to find or rule out a higher cooling level."""

MOST_DEALS = 12
"""So often kinds are dealt anew when a room's cannot be seated."""


@dataclass(frozen=True)
class RankedCampus:
    """An audited build of all rooms. `bounds` holds what each criterion cannot fall below, `stages` what is proven."""

    build: Build
    standing: CampusStanding
    figures: CampusFigures
    proven: bool
    stages: Mapping[str, bool]
    bounds: Mapping[str, int]


@dataclass(frozen=True)
class CampusRanking:
    """The answer: `found`, `impossible` (proven) or `unknown`."""

    outcome: Literal["found", "impossible", "unknown"]
    best: RankedCampus | None = None
    stopped: bool = False


@dataclass(frozen=True)
class Reached:
    """How far the stages came: who takes what, what is proven, bounds, values kept, and whether there is nothing."""

    taken: Taken | None
    proven: Mapping[str, bool] = field(default_factory=dict)
    bounds: Mapping[str, int] = field(default_factory=dict)
    caps: Mapping[str, int] = field(default_factory=dict)
    none: bool = False


class _Search:
    """The questions of one plan."""

    def __init__(self, campus: Campus, clock: Clock, threads: ThreadPoolExecutor, progress: Progress) -> None:
        self.leads = SHORTS if gives_way(campus) else ()
        self.campus = all_may_lack(campus) if self.leads else campus
        self.clock = clock
        self.progress = progress
        self.seen: Callable[[Reached], None] = lambda reached: None
        self.purse = Purse(campus.purse)
        self.threads = threads
        self._questions = Questions(self.campus, self.purse, clock, threads, progress)
        self.groups = self._questions.groups

    # Stages

    def stages(self, rank: Sequence[str] | None = None, seen: Callable[[Reached], None] | None = None) -> Reached:
        """Who takes what, by the user's order; `seen` is shown what stands after every stage."""
        survey = self.campus.purse
        rank = survey.rank if rank is None else rank
        margin = survey.refuse_mk
        first = self._questions.ask(Question(UNBUILT, (), margin, 0))
        if first.taken is None or first.value != 0:
            return Reached(None, none=first == NONE)
        reached = Reached(first.taken, proven=dict.fromkeys((*self.leads, *survey.rank), False))
        if seen is not None:
            seen(reached)
        for turn, slack in enumerate([survey.slack] + ([{}] if survey.slack else [])):
            for criterion in rank if turn else (*self.leads, *rank):
                if criterion == "cooling":
                    reached = self.cool(reached, margin)
                    level = self._level(reached.taken)
                    margin = max(margin, (level - criteria.slack(survey, criterion, level, slack)) * survey.step_mk)
                    continue
                outcome = self._questions.ask(Question(criterion, tuple(sorted(reached.caps.items())), margin))
                if outcome.value is None or outcome.taken is None:
                    known = {criterion: outcome.bound} if outcome.bound is not None and outcome.bound > 0 else {}
                    return dataclasses.replace(reached, bounds={**reached.bounds, **known})
                loosened = outcome.value + criteria.slack(survey, criterion, outcome.value, slack)
                reached = Reached(
                    outcome.taken,
                    {**reached.proven, criterion: outcome.proven},
                    {**reached.bounds, criterion: outcome.bound or 0},
                    {**reached.caps, criterion: min(reached.caps.get(criterion, 10**18), loosened)},
                )
                if seen is not None:
                    seen(reached)
        return reached

    def cool(self, reached: Reached, margin: int = 0) -> Reached:
        """The same figures as cool as they can be had."""
        if reached.taken is None:
            return reached
        level, highest, taken = self._coolest(reached.caps, max(margin, self.campus.purse.refuse_mk), reached.taken)
        return dataclasses.replace(
            reached,
            taken=taken,
            proven={**reached.proven, "cooling": level == highest},
            bounds={**reached.bounds, "cooling": highest},
        )

    def _coolest(self, caps: Mapping[str, int], margin: int, witness: Taken) -> tuple[int, int, Taken]:
        """The highest cooling level found, the highest that is not ruled out, and who takes what there."""
        survey = self.campus.purse
        level = self._level(witness)
        highest = survey.top_level
        tried = level + 1
        while tried <= highest:
            question = self._within(caps, max(margin, tried * survey.step_mk))
            found = self._reseat(question, witness)
            if found is None:
                outcome = self._questions.ask(question, COOLING_ROUNDS)
                met = outcome.value is not None and outcome.value <= caps.get(question.criterion, 0)
                found = outcome.taken if met else None
                if outcome == NONE:
                    highest = tried - 1
                    break
            if found is not None:
                witness = found
                level = max(tried, self._level(witness))
            tried = max(tried, level) + 1
        return level, highest, witness

    def _within(self, caps: Mapping[str, int], margin_mk: int) -> Question:
        """Whether there are builds within caps: the least of the criterion that was capped last, if that is enough.

        Its prices tell allotments apart; those of rooms that are not built hardly do.
        """
        if not caps:
            return Question(UNBUILT, (), margin_mk, 0, "cooling")
        last = list(caps)[-1]
        others = tuple(sorted((criterion, cap) for criterion, cap in caps.items() if criterion != last))
        enough = caps[last] // (self.purse.unit if last == "cost" else 1)
        return Question(last, others, margin_mk, enough, "cooling")

    def _reseat(self, question: Question, witness: Taken) -> Taken | None:
        """The same allotments in other seats that keep a higher margin, if there are any."""
        criteria, margin = question.room_criteria, question.margin_mk
        groups = []
        for group, own in zip(self.groups, witness.groups, strict=True):
            seated = [(n, a, group.seat(a, criteria, margin, self.clock)[0]) for n, a, _ in own]
            cool_enough = tuple((n, a, s) for n, a, s in seated if s is not None)
            for _, allotment, _ in cool_enough:
                if allotment not in group.known(margin):
                    group.learn(allotment, margin)
            groups.append(cool_enough)
        whole = all(len(cool) == len(own) for cool, own in zip(groups, witness.groups, strict=True))
        return Taken(tuple(groups)) if whole else None

    def _level(self, taken: Taken | None) -> int:
        margins: list[int] = []
        if taken is None:
            return 0
        for group, own in zip(self.groups, taken.groups, strict=True):
            for _, _, seats in own:
                standing = as_stands(group.survey, seats)
                margins += [margin for frame in standing.frames for _, margin in frame.gap_margins()]
        return self.campus.purse.level(min(margins, default=None))

    # Builds

    def deal(self, pools: Pools, pooled: Taken, criteria: tuple[str, ...], cost: int | None) -> Taken | None:
        """Give every room kinds for what it takes of each pool, within the cost, and seat them; None if that fails."""
        margin = self.campus.purse.refuse_mk
        rooms = [
            (index, allotment) for index, own in enumerate(pooled.groups) for n, allotment, _ in own for _ in range(n)
        ]
        surveys = [self.groups[index].survey for index, _ in rooms]
        money = None if cost is None else cost // self.purse.unit
        refused: list[tuple[int, Allotment, Allotment]] = []
        for _ in range(MOST_DEALS):
            dealt = deal(pools, self.purse, surveys, rooms, money, refused, self.clock)
            if dealt is None:
                return None
            wanted = sorted({(index, own.items): own for (index, _), own in zip(rooms, dealt, strict=True)}.items())

            def seat(index: int, own: Allotment) -> tuple[Seating | None, bool]:
                return self.groups[index].seat(own, criteria, margin, self.clock)

            seats = dict(
                zip(
                    [key for key, _ in wanted],
                    self.threads.map(seat, [key[0] for key, _ in wanted], [own for _, own in wanted]),
                    strict=True,
                )
            )
            taken = [
                (index, own, allotment, seats[index, own.items])
                for (index, allotment), own in zip(rooms, dealt, strict=True)
            ]
            if any(not final for _, _, _, (_, final) in taken):
                return None
            lost = [(index, allotment, own) for index, own, allotment, (found, _) in taken if found is None]
            if not lost:
                groups: list[tuple[tuple[int, Allotment, Seating], ...]] = []
                for index in range(len(self.groups)):
                    counts = Counter(own for at, own, _, _ in taken if at == index)
                    groups.append(
                        tuple(
                            (n, own, found)
                            for own, n in sorted(counts.items(), key=lambda pair: pair[0].items)
                            if (found := seats[index, own.items][0]) is not None
                        )
                    )
                return Taken(tuple(groups))
            refused += lost
        return None

    def finish(self, taken: Taken) -> CampusStanding:
        """Every room's own build: the coolest seats of its cards, then those that rank first."""
        jobs = [
            (group.survey, allotment, seats)
            for group, own in zip(self.groups, taken.groups, strict=True)
            for _, allotment, seats in own
        ]
        builds = list(self.threads.map(best_seats, *zip(*jobs, strict=True), repeat(self.clock))) if jobs else []
        return self._standing(taken, builds)

    def as_found(self, reached: Reached) -> CampusStanding:
        """Every room's own build in the seats that were found first."""
        taken = reached.taken or Taken(())
        return self._standing(
            taken,
            [
                as_stands(group.survey, seats)
                for group, own in zip(self.groups, taken.groups, strict=True)
                for _, _, seats in own
            ],
        )

    def _standing(self, taken: Taken, builds: Sequence[Standing]) -> CampusStanding:
        """Builds given to the rooms of each group in turn, names exchanged."""
        built: dict[int, Standing] = {}
        at = 0
        for group, own in zip(self.groups, taken.groups, strict=True):
            left = list(group.rooms)
            for n, _, _ in own:
                for room in left[:n]:
                    built[room] = as_built(group.survey, builds[at], self.campus.rooms[room])
                left = left[n:]
                at += 1
        return CampusStanding(self.campus, tuple(built[room] for room in range(len(self.campus.rooms))))


def can_be_built(campus: Campus, clock: Clock, threads: ThreadPoolExecutor) -> bool | None:
    """Whether there are builds of all rooms together; None where that is not proven either way.

    What is nice to have stands in nobody's way.
    """
    needs = [tuple(need for need in survey.needs if not need.nice) for survey in campus.rooms]
    asked = [
        dataclasses.replace(survey, needs=own, rank=("cost",), slack={})
        for survey, own in zip(campus.rooms, needs, strict=True)
    ]
    reached = _Search(Campus(tuple(asked)), clock, threads, lambda stage, best, bound: None).stages(())
    if reached.taken is not None:
        return True
    return False if reached.none else None


def plan_campus(
    campus: Campus,
    workers: int = 1,
    clock: Clock | None = None,
    progress: Progress = lambda stage, best, bound: None,
) -> CampusRanking:
    """The best build of all rooms together.

    Parameters
    ----------
    campus
        The rooms, made ready.
    workers
        Threads over groups of like rooms. The answer does not depend on it.
    clock
        When to stop; without it never.
    progress
        Told of every step: stage, best value, bound; money in minor units.

    Raises
    ------
    SearchError
        If the build does not pass the audit or its recounted figures differ from the search's: a defect.
    """
    clock = clock or Clock()
    latest: list[tuple[_Search, Reached]] = []
    with suppress(Stopped):
        return clock.step(lambda: _whole(campus, workers, clock, progress, latest))
    if not latest:
        return CampusRanking("unknown", None, True)
    search, reached = latest[-1]
    try:
        best = clock.step(lambda: _audited(campus, reached, search.as_found(reached)))
    except Stopped:
        return CampusRanking("unknown", None, True)
    return CampusRanking("found", best, True)


def _whole(
    campus: Campus, workers: int, clock: Clock, progress: Progress, latest: list[tuple[_Search, Reached]]
) -> CampusRanking:
    """The best build as far as the clock allows; what stands after every stage is told."""
    clock.check()
    with ThreadPoolExecutor(workers) as threads:
        for asked in [firm(campus), campus] if gives_way(campus) else [campus]:
            search = _Search(asked, clock, threads, progress)

            def seen(reached: Reached, search: _Search = search) -> None:
                latest.append((search, reached))

            search.seen = seen
            reached = _with_pools(search) or search.stages(seen=seen)
            if reached.taken is not None:
                best = _audited(campus, reached, search.finish(reached.taken))
                return CampusRanking("found", best, clock.over)
            if asked is not campus and clock.over:
                return CampusRanking("unknown", stopped=True)
    return CampusRanking("impossible" if reached.none else "unknown", stopped=clock.over)


def _audited(campus: Campus, reached: Reached, standing: CampusStanding) -> RankedCampus:
    """A build of all rooms, audited and recounted."""
    build = build_of_campus(standing, campus.purse.title)
    standing = stand_campus(campus, build)
    broken = faults(campus, standing)
    if broken:
        raise SearchError(f"the audit refuses a build of the search: {broken}")
    found = figures(campus, standing)
    _check_figures(campus, reached, found)
    sure = all(reached.proven.get(lead, True) for lead in SHORTS)
    proven = {criterion: known and (sure or criterion in SHORTS) for criterion, known in reached.proven.items()}
    bounds = {c: bound for c, bound in reached.bounds.items() if sure or c in SHORTS}
    return RankedCampus(build, standing, found, all(proven.values()), proven, bounds)


def _check_figures(campus: Campus, reached: Reached, found: CampusFigures) -> None:
    """What is proven is met exactly, the rest kept; where more is met than was known, channels used may be others."""
    for criterion, cap in reached.caps.items():
        value = found.value(criterion)
        if criterion not in SHORTS and any(found.value(lead) < reached.caps.get(lead, 0) for lead in SHORTS):
            continue
        exact = reached.proven[criterion] and (criterion in SHORTS or not campus.purse.slack)
        if value > cap or (exact and value != cap):
            raise SearchError(f"the search claims {criterion} {cap}, the audit finds {value}")


def _with_pools(search: _Search) -> Reached | None:
    """Search with alike kinds of card as one, then give every room its kinds; None where that does not settle it.

    What is found with pools cannot be beaten without them, so that it is proven as soon as the kinds can be dealt.
    """
    campus = search.campus
    cooling = "cooling" in campus.purse.rank
    if cooling and (campus.purse.slack or campus.purse.rank[-1] != "cooling"):
        return None
    pools = pool(campus)
    if pools is None:
        return None
    pooled = _Search(pools.campus, search.clock, search.threads, search.progress)
    latest: list[Reached] = []

    def seat(reached: Reached) -> None:
        assert reached.taken is not None
        counted = tuple(sorted(c for c in reached.caps if c != "cost"))
        dealt = search.deal(pools, reached.taken, counted, reached.caps.get("cost"))
        if dealt is not None:
            latest[:] = [dataclasses.replace(reached, taken=dealt)]
            search.seen(latest[0])

    reached = pooled.stages([c for c in campus.purse.rank if c != "cooling"], seat)
    if reached.taken is None and reached.none:
        return reached
    if search.clock.over:
        return dataclasses.replace(latest[0], bounds=reached.bounds) if latest else None
    if not latest or latest[0].caps != reached.caps:
        return None
    return search.cool(latest[0]) if cooling else latest[0]
