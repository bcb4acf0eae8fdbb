"""A campus: rooms that share stock, offers and budget, planned together.

Like rooms form a group. What a room of a group can be built of is never listed whole: at prices for every item each
group is asked for its cheapest allotment, the purse takes fractions of the allotments known and sets new prices, until
no group has a cheaper one. Every pricing gives a bound in exact integers (Lagrange). Then allotments are taken whole;
where a gap to the bound remains, all allotments within the gap are added, which closes it. Every allotment that is
taken is seated slot by slot; one that cannot be is struck out, and its group is modelled slot by slot from then on.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import repeat
from math import ceil
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
from solver.search.campus.group import NOTHING, Group, nature
from solver.search.campus.housing import as_built, best_seats
from solver.search.campus.pooling import Pools, deal, pool
from solver.search.campus.purse import SCALE, UNBUILT, Prices, Purse, Question, Relaxation, State, Whole, whole
from solver.search.model.allotment import SHORTS, Allotment, Found, Weights
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock, SearchError, Stopped
from solver.search.solve.standing import as_stands

EFFORT = 60.0
"""How long the whole allotments may be searched, in the solver's own deterministic seconds."""

FIRST_WITHIN_GAP = 20
"""So many allotments of a group are listed at first: the better value that they may give narrows the gap."""

MOST_WITHIN_GAP = 60
"""Up to so many allotments of one group are listed to close a gap; of more the room itself is stated."""

COOLING_ROUNDS = 40
"""Prices are set so often at most to find or rule out a higher cooling level."""

FRACTION = 1e-6
"""Values of the relaxation are equal if they differ by less than this."""

MOST_DEALS = 12
"""So often kinds are dealt anew when a room's cannot be seated."""

Progress = Callable[[str, int | None, int | None], None]
"""Told the stage, the best value and the bound, in the criterion's unit; None for what is not known."""


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
class _Taken:
    """Which allotment each group's rooms take: pairs of how many rooms and the allotment, with its seats."""

    groups: tuple[tuple[tuple[int, Allotment, Seating], ...], ...]


@dataclass(frozen=True)
class _Outcome:
    """The answer to a question: the least value found, what it cannot fall below, and who takes what."""

    value: int | None
    bound: int | None
    taken: _Taken | None

    @property
    def proven(self) -> bool:
        """Whether the value is the least; or, without one, whether there is none."""
        return self.bound is None if self.value is None else self.value == self.bound


OPEN = _Outcome(None, -(10**18), None)
"""Nothing found, nothing proven."""

NONE = _Outcome(None, None, None)
"""Proven that there is none."""


@dataclass(frozen=True)
class _Priced:
    """What prices came to: a bound with the prices that gave it, after so many; or what ends the question at once."""

    bound: int
    best: tuple[Prices, list[int]] | None
    asked: int
    outcome: _Outcome | None = None


def _least(group: Group, weights: Weights, margin_mk: int, dear: int, clock: Clock) -> Found:
    return group.least(weights, margin_mk, dear, clock)


@dataclass(frozen=True)
class Reached:
    """How far the stages came: who takes what, what is proven, bounds, values kept, and whether there is nothing."""

    taken: _Taken | None
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
        by_nature: dict[str, list[int]] = {}
        for index, survey in enumerate(self.campus.rooms):
            by_nature.setdefault(nature(survey), []).append(index)
        self.groups = [Group(self.campus.rooms, rooms) for _, rooms in sorted(by_nature.items())]
        self.counts = [len(group.rooms) for group in self.groups]

    def ask(self, question: Question, rounds: int | None = None) -> _Outcome:
        """The least value of a criterion under caps, with every allotment seated, after so many prices at most.

        Where a value is enough, `NONE` says that the least is above it.
        """
        left = rounds
        while not self.clock.over and left != 0:
            priced = self._price(question, left)
            outcome = priced.outcome or self._take(question, priced.bound, priced.best)
            if outcome.value is None or outcome.taken is not None:
                return outcome
            left = None if left is None else max(0, left - priced.asked)
        return OPEN

    def _price(self, question: Question, rounds: int | None, *, in_fractions: bool = False) -> _Priced:
        """Set prices until the bound stands.

        Where what is known does not keep the caps even in fractions, more is asked for until it does. `in_fractions`
        says that this is what is asked.
        """
        margin = question.margin_mk
        asked = 0
        relaxation = self._relaxation(question)
        prices = relaxation.prices()
        if prices is None and question.criterion != UNBUILT:
            unbuilt = dataclasses.replace(question, criterion=UNBUILT, enough=0)
            first = self._price(unbuilt, rounds, in_fractions=True)
            if first.outcome is not None:
                return first
            asked = first.asked
            relaxation = self._relaxation(question)
            prices = relaxation.prices()
        bound = -(10**18)
        best: tuple[Prices, list[int]] | None = None
        while prices is not None and (rounds is None or asked < rounds):
            if in_fractions and prices.value < FRACTION:
                return _Priced(0, best, asked)
            asked += 1
            weights = prices.weights(question)
            dear = [ceil(worth * SCALE) for worth in prices.rooms]
            answers = list(
                self.threads.map(_least, self.groups, repeat(weights), repeat(margin), dear, repeat(self.clock))
            )
            if not all(answer.proven for answer in answers):
                break
            least = [NOTHING if answer.least is None else answer.least for answer in answers]
            if question.criterion == UNBUILT:
                least = [min(value, SCALE) for value in least]
            elif NOTHING in least:
                return _Priced(bound, best, asked, NONE)
            exact = max(0, -(-prices.bound(question, self.purse, self.counts, least) // SCALE))
            if question.enough is not None and exact > question.enough:
                return _Priced(exact, best, asked, NONE)
            if best is None or exact > bound:
                bound, best = exact, (prices, least)
            self._tell(question, None, bound)
            fresh = False
            for index, (group, answer) in enumerate(zip(self.groups, answers, strict=True)):
                cheaper = answer.least is not None and answer.least < prices.rooms[index] * SCALE - 1
                if cheaper and answer.allotment is not None and answer.allotment not in group.known(margin):
                    group.learn(answer.allotment, margin)
                    relaxation.add(index, answer.allotment)
                    fresh = True
            if not fresh or bound >= max(0, ceil(prices.value - FRACTION)):
                break
            prices = relaxation.prices()
        return _Priced(bound, best, asked, OPEN if in_fractions else None)

    def _relaxation(self, question: Question) -> Relaxation:
        """The relaxation over all that is known."""
        relaxation = Relaxation(question, self.purse, self.counts)
        for index, group in enumerate(self.groups):
            for allotment in group.known(question.margin_mk):
                relaxation.add(index, allotment)
        return relaxation

    def _tell(self, question: Question, value: int | None, bound: int) -> None:
        if question.stage is not None:
            self.progress(question.stage, None, None)
        else:
            best = None if value is None else self._shown(question, value)
            self.progress(question.criterion, best, self._shown(question, bound))

    def _shown(self, question: Question, value: int) -> int:
        return value * self.purse.unit if question.criterion == "cost" else value

    def _take(self, question: Question, bound: int, best: tuple[Prices, list[int]] | None) -> _Outcome:
        """Take whole allotments; where that leaves a gap to the bound, of all that could close it."""
        margin = question.margin_mk

        def take(stated: Sequence[State | None]) -> Whole:
            known = [group.known(margin) for group in self.groups]
            return whole(question, self.purse, self.counts, known, stated, bound, self.clock, EFFORT)

        nothing: list[State | None] = [None] * len(self.groups)
        found = take(nothing)
        for most, last in ((FIRST_WITHIN_GAP, False), (MOST_WITHIN_GAP, True)):
            above = question.least_above(found.value)
            if above is None or above <= bound or best is None or self.clock.over:
                break
            stated = self._within_gap(question, above, most, *best)
            complete = not any(stated)
            closed = take(stated if last else nothing)
            if closed.value is not None and (found.value is None or closed.value < found.value):
                found = closed
            if closed.proven and (last or complete):
                bound = above if found.value is None else min(above, found.value)
        if question.enough is not None and bound > question.enough:
            return NONE
        for group, own in zip(self.groups, found.taken, strict=False):
            for _, allotment in own:
                if allotment not in group.known(margin):
                    group.learn(allotment, margin)
        if found.value is None:
            return _Outcome(None, self._shown(question, bound), None)
        self._tell(question, found.value, bound)
        value, reached = (self._shown(question, each) for each in (found.value, bound))
        return _Outcome(value, reached, self._seat(question, found.taken))

    def _within_gap(
        self, question: Question, value: int, most: int, prices: Prices, least: list[int]
    ) -> list[State | None]:
        """Know every allotment that a better solution could use, or for too many of them how to state the room."""
        weights = prices.weights(question)
        gap = (value - 1) * SCALE - prices.bound(question, self.purse, self.counts, least)

        def more(group: Group, from_here: int) -> tuple[list[Allotment], State | None]:
            return group.within(weights, from_here + gap, most, question, self.clock)

        stated = []
        for group, (found, state) in zip(self.groups, self.threads.map(more, self.groups, least), strict=True):
            for allotment in found:
                group.learn(allotment, question.margin_mk)
            stated.append(state)
        return stated

    def _seat(self, question: Question, taken: Sequence[Sequence[tuple[int, Allotment]]]) -> _Taken | None:
        """Seat every allotment that is taken; None if one was struck out because it cannot be."""
        criteria, margin = question.room_criteria, question.margin_mk

        def seat(
            group: Group, own: Sequence[tuple[int, Allotment]]
        ) -> list[tuple[int, Allotment, Seating | None, bool]]:
            return [(n, a, *group.seat(a, criteria, margin, self.clock)) for n, a in own]

        seated = list(self.threads.map(seat, self.groups, taken))
        for group, own in zip(self.groups, seated, strict=True):
            if any(final and seats is None for _, _, seats, final in own):
                group.strike(margin)
        if any(seats is None for own in seated for _, _, seats, _ in own):
            return None
        return _Taken(tuple(tuple((n, a, s) for n, a, s, _ in own if s is not None) for own in seated))

    # Stages

    def stages(self, rank: Sequence[str] | None = None, seen: Callable[[Reached], None] | None = None) -> Reached:
        """Who takes what, by the user's order; `seen` is shown what stands after every stage."""
        survey = self.campus.purse
        rank = survey.rank if rank is None else rank
        margin = survey.refuse_mk
        first = self.ask(Question(UNBUILT, (), margin, 0))
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
                outcome = self.ask(Question(criterion, tuple(sorted(reached.caps.items())), margin))
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

    def _coolest(self, caps: Mapping[str, int], margin: int, witness: _Taken) -> tuple[int, int, _Taken]:
        """The highest cooling level found, the highest that is not ruled out, and who takes what there."""
        survey = self.campus.purse
        level = self._level(witness)
        highest = survey.top_level
        tried = level + 1
        while tried <= highest:
            question = self._within(caps, max(margin, tried * survey.step_mk))
            found = self._reseat(question, witness)
            if found is None:
                outcome = self.ask(question, COOLING_ROUNDS)
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

    def _reseat(self, question: Question, witness: _Taken) -> _Taken | None:
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
        return _Taken(tuple(groups)) if whole else None

    def _level(self, taken: _Taken | None) -> int:
        margins: list[int] = []
        if taken is None:
            return 0
        for group, own in zip(self.groups, taken.groups, strict=True):
            for _, _, seats in own:
                standing = as_stands(group.survey, seats)
                margins += [margin for frame in standing.frames for _, margin in frame.gap_margins()]
        return self.campus.purse.level(min(margins, default=None))

    # Builds

    def deal(self, pools: Pools, pooled: _Taken, criteria: tuple[str, ...], cost: int | None) -> _Taken | None:
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
                return _Taken(tuple(groups))
            refused += lost
        return None

    def finish(self, taken: _Taken) -> CampusStanding:
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
        taken = reached.taken or _Taken(())
        return self._standing(
            taken,
            [
                as_stands(group.survey, seats)
                for group, own in zip(self.groups, taken.groups, strict=True)
                for _, _, seats in own
            ],
        )

    def _standing(self, taken: _Taken, builds: Sequence[Standing]) -> CampusStanding:
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
