"""Ranked builds: criteria in the user's order, each stage proven or said not to be, then the next-best builds.

One model for each combination of strap settings, so that blocks are constants, while there are few; one model for
all of them otherwise. Every stage takes the least value over the models, skipping those whose known bound
cannot beat it. A build is canonical: ties end with the first seating in order of ids.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise, permutations, product
from math import gcd
from typing import Any, Literal

from ortools.sat.python import cp_model

from solver import audit, criteria
from solver.build import Build, BuiltFrame
from solver.rules.limit import Load
from solver.search.draft import CpDraft, Option
from solver.standing import FrameStanding, Seated, Standing, build_of, stand
from solver.straps import Layout
from solver.survey import Kind, Survey
from solver.words import DIRECTIONS, parse_percent

MARGIN = "margin"
"""Key of the least cooling margin, in mK, among what a stage has to keep."""

MOST_MODELS = 64
"""Up to so many combinations of settings each get a model of their own."""


class SearchError(RuntimeError):
    """The search and the audit disagree: a defect of this program, never of the files."""


class Clock:
    """When to stop: at a deadline, or when somebody asks. Safe to use from several threads."""

    def __init__(self, limit_s: float | None = None) -> None:
        self._deadline = None if limit_s is None else time.monotonic() + limit_s
        self._stopped = threading.Event()
        self._solvers: set[cp_model.CpSolver] = set()
        self._lock = threading.Lock()

    def stop(self) -> None:
        """End every running solve with what it has."""
        self._stopped.set()
        with self._lock:
            for solver in self._solvers:
                solver.stop_search()

    @property
    def remaining_s(self) -> float | None:
        """Seconds left, None for no limit."""
        return None if self._deadline is None else max(0.0, self._deadline - time.monotonic())

    @property
    def over(self) -> bool:
        """Whether the search has to end."""
        return self._stopped.is_set() or self.remaining_s == 0.0

    def solve(self, solver: cp_model.CpSolver, model: cp_model.CpModel) -> Literal["proven", "found", "none", "open"]:
        """Solve within the time left."""
        if self.over:
            return "open"
        if self.remaining_s is not None:
            solver.parameters.max_time_in_seconds = self.remaining_s
        with self._lock:
            self._solvers.add(solver)
        try:
            status = solver.solve(model)
        finally:
            with self._lock:
                self._solvers.discard(solver)
        if status == cp_model.OPTIMAL:
            return "proven"
        if status == cp_model.INFEASIBLE:
            return "none"
        if status == cp_model.FEASIBLE:
            return "found"
        if status == cp_model.MODEL_INVALID:
            raise SearchError(model.validate())
        return "open"


@dataclass(frozen=True)
class Seating:
    """What a solve found: for each frame its option and the seats taken."""

    options: tuple[Option, ...]
    cards: tuple[tuple[tuple[int, str], ...], ...]
    ends: dict[str, dict[int, int]] | None = None

    def counts(self, frame: int) -> Counter[str]:
        """Cards of each kind in a frame."""
        return Counter(card for _, card in self.cards[frame])


@dataclass(frozen=True)
class RankedBuild:
    """An audited build. `proven` says that no build ranks between it and the one before."""

    build: Build
    standing: Standing
    figures: criteria.Figures
    proven: bool
    stages: Mapping[str, bool]


@dataclass(frozen=True)
class Ranking:
    """The answer: `found`, `impossible` (proven) or `unknown`. `complete` says that no further build exists."""

    outcome: Literal["found", "impossible", "unknown"]
    builds: tuple[RankedBuild, ...] = ()
    complete: bool = False
    stopped: bool = False


@dataclass
class _Answer:
    """The outcome of one model at one stage: value None when nothing was found, `proven` when it is final."""

    value: int | None
    proven: bool
    seating: Seating | None = None


def _solver() -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.random_seed = 1
    parameters.linearization_level = 2
    parameters.catch_sigint_signal = False
    return solver


def _looser(criterion: str, cap: int, than: int) -> bool:
    return cap <= than if criterion == MARGIN else cap >= than


class _Part:
    """One model: some options for each frame. Its answers are kept, since later builds only add exclusions."""

    def __init__(self, survey: Survey, options: Sequence[Sequence[Option]], kinds: Sequence[Kind]) -> None:
        self.survey = survey
        self.options = options
        self.kinds = kinds
        self.dead = False
        self._draft: CpDraft | None = None
        self._lower: dict[tuple[Any, ...], int] = {}
        self._known: dict[tuple[object, ...], _Answer] = {}

    @property
    def draft(self) -> CpDraft:
        """The model, built when first asked for."""
        if self._draft is None:
            self._draft = CpDraft(self.survey, self.options, self.kinds)
            for criterion in self.survey.rank:
                if criterion != "cooling":
                    criteria.objective(self._draft, criterion)
            _order_alike_frames(self.survey, self._draft)
        return self._draft

    def lower(self, key: tuple[Any, ...]) -> int:
        """What a stage of this model cannot fall below: the best bound of this stage under looser caps."""
        stage, *caps = key
        tight = dict(caps)
        return max(
            (
                bound
                for (name, *looser), bound in self._lower.items()
                if name == stage and all(c in tight and _looser(c, v, tight[c]) for c, v in looser)
            ),
            default=-(10**18),
        )

    def may_keep(self, caps: Mapping[str, int]) -> bool:
        """Whether known bounds leave room under caps."""
        others = {c: sorted((k, v) for k, v in caps.items() if k != c) for c in caps}
        return self.lower((MARGIN, *sorted(caps.items()))) <= 0 and all(
            self.lower((c, *others[c])) <= cap for c, cap in caps.items() if c != MARGIN
        )

    def minimise(
        self,
        key: tuple[Any, ...],
        load: Load,
        caps: Mapping[str, int],
        listed: Sequence[Seating],
        clock: Clock,
    ) -> _Answer:
        """The least value of a load under caps on criteria, apart from listed builds."""
        known = self._known.get(key)
        if known is not None and known.seating is not None:
            seating = known.seating
            if not any(_repeats(self.survey, seating, other) for other in listed):
                return known
        draft = self._clone(caps, listed)
        scale = gcd(*(amount for amount, term in load if not isinstance(term, int))) or 1
        fixed = sum(amount for amount, term in load if isinstance(term, int))
        terms = [(amount // scale, term) for amount, term in load if not isinstance(term, int)]
        model = draft.model
        if terms:
            model.minimize(draft.expression(terms))
        solver = _solver()
        status = clock.solve(solver, model)
        if status == "none":
            self._lower[key] = 10**18
            return _Answer(None, True)
        if status == "open":
            return _Answer(None, False)
        value = round(solver.objective_value) * scale + fixed if terms else fixed
        answer = _Answer(value, status == "proven", self._seating(draft, solver))
        if status == "proven":
            self._lower[key] = value
            self._known[key] = answer
        return answer

    def first(self, caps: Mapping[str, int], tie: tuple[Load, int], listed: Sequence[Seating], clock: Clock) -> _Answer:
        """The first seating in order of frames, layouts, slots and ids that keeps the caps."""
        draft = self._clone(caps, listed)
        draft.model.add(draft.expression(tie[0]) <= tie[1])
        order = [
            term
            for site in self.survey.frames
            for term in (
                [t for _, t in draft.choices(site) if not isinstance(t, int)]
                + [s.term for s in sorted(draft.seats(site), key=lambda s: (s.slot, s.kind.id))]
            )
        ]
        if order:
            draft.model.add_decision_strategy(order, cp_model.CHOOSE_FIRST, cp_model.SELECT_MAX_VALUE)
        solver = _solver()
        solver.parameters.search_branching = cp_model.FIXED_SEARCH
        solver.parameters.cp_model_presolve = False
        solver.parameters.symmetry_level = 0
        status = clock.solve(solver, draft.model)
        if status in ("proven", "found"):
            return _Answer(0, True, self._seating(draft, solver))
        return _Answer(None, status == "none")

    def _clone(self, caps: Mapping[str, int], listed: Sequence[Seating]) -> CpDraft:
        draft = self.draft.copy()
        for criterion, cap in caps.items():
            if criterion == MARGIN:
                draft.keep_margin(cap)
            elif criterion != "cooling":
                draft.model.add(draft.expression(criteria.objective(draft, criterion)) <= cap)
        for seating in listed:
            _exclude(self.survey, draft, seating)
        return draft

    def _seating(self, draft: CpDraft, solver: cp_model.CpSolver) -> Seating:
        options: list[Option] = []
        cards: list[tuple[tuple[int, str], ...]] = []
        for site in self.survey.frames:
            chosen = next(o for o, t in draft.choices(site) if isinstance(t, int) or solver.boolean_value(t))
            options.append(chosen)
            cards.append(tuple(sorted((s.slot, s.kind.id) for s in draft.seats(site) if solver.boolean_value(s.term))))
        ends = draft.ends(solver) if len(self.survey.frames) > 1 else None
        return Seating(tuple(options), tuple(cards), None if ends is None else {str(d): e for d, e in ends.items()})


def _order_alike_frames(survey: Survey, draft: CpDraft) -> None:
    """Frames that nothing tells apart are used in order of their names."""
    for group in survey.groups_of_alike_frames():
        for first, second in pairwise(group):
            used = [[(1, t) for _, t in draft.layouts(survey.frames[i])] for i in (first, second)]
            draft.require_at_most(used[1], used[0])


def _same_numbers(survey: Survey, seating: Seating, frame: int, option: Option) -> bool:
    """Whether a layout gives every card of a listed frame the numbers that it has there."""
    listed = seating.options[frame]
    if listed is None or option is listed:
        return True
    if option is None or option.board != listed.board:
        return False
    for slot, card in seating.cards[frame]:
        kind = survey.kinds[card]
        for direction in DIRECTIONS:
            for part in range(kind.span):
                channels = len(kind.on(direction, part))
                here, there = listed.block(direction, slot + part), option.block(direction, slot + part)
                numbers = [b.first + i for b in (here,) for i in range(min(channels, b.width))]
                if numbers != [b.first + i for b in (there,) for i in range(min(channels, b.width))]:
                    return False
    return True


def _renamings(survey: Survey, seating: Seating) -> Iterator[tuple[int, ...]]:
    """For each frame the listed frame whose content it would repeat, alike frames exchanged in every way."""
    groups = survey.groups_of_alike_frames()
    orders: list[list[tuple[int, ...]]] = []
    for group in groups:
        used = [i for i in group if seating.options[i] is not None]
        seen: dict[tuple[object, ...], tuple[int, ...]] = {}
        for chosen in permutations(group, len(used)):
            source = dict(zip(chosen, used, strict=True))
            spare = [i for i in group if i not in used]
            order = tuple(source[i] if i in source else spare[0] if spare else i for i in group)
            content = tuple((seating.options[i] is None, seating.options[i], seating.cards[i]) for i in order)
            seen.setdefault(content, order)
        orders.append(list(seen.values()))
    for combination in product(*orders):
        pairs = zip(groups, combination, strict=True)
        mapping = {i: j for group, order in pairs for i, j in zip(group, order, strict=True)}
        yield tuple(mapping[i] for i in range(len(survey.frames)))


def _repeats(survey: Survey, found: Seating, listed: Seating) -> bool:
    """Whether a seating only adds cards to a listed one or moves straps that change nothing there."""
    return any(
        all(
            found.counts(i) >= listed.counts(j) and _same_numbers(survey, listed, j, found.options[i])
            for i, j in enumerate(renaming)
        )
        for renaming in _renamings(survey, listed)
    )


def _exclude(survey: Survey, draft: CpDraft, listed: Seating) -> None:
    """Require fewer of some card than a listed build has, or numbers that differ from its."""
    for renaming in _renamings(survey, listed):
        ways = []
        vacuous = False
        for site in survey.frames:
            source = renaming[site.index]
            differing = [t for o, t in draft.choices(site) if not _same_numbers(survey, listed, source, o)]
            if any(isinstance(t, int) for t in differing):
                vacuous = True
                break
            ways += differing
            for card, count in sorted(listed.counts(source).items()):
                fewer = draft.model.new_bool_var("")
                seats = [(1, seat.term) for seat in draft.seats(site, card)]
                draft.model.add(draft.expression(seats) <= count - 1).only_enforce_if(fewer)
                ways.append(fewer)
        if not vacuous:
            draft.model.add_bool_or(ways)


def _useful_kinds(survey: Survey) -> list[Kind]:
    """Kinds that can be had and could serve something, fill a pin or have to be seated.

    A card that serves no need adds cost and unused capacity and takes nothing away, unless holes count alone.
    """
    wanted = {c for site in survey.frames for c in site.spec.pins.values()} | {c for c, _, _ in survey.must_seat}
    asked = {(n.direction, n.signal) for n in survey.needs if n.demand}
    found = []
    for kind in survey.kinds.values():
        if survey.most_of(kind.id) == 0:
            continue
        serves = any(
            (direction, signal) in asked
            for (direction, _), channels in kind.channels.items()
            for channel in channels
            for signal in channel.line_type.signals
        )
        if serves or kind.id in wanted or "holes" in survey.rank:
            found.append(kind)
    return found


def _parts(survey: Survey, kinds: Sequence[Kind]) -> list[_Part]:
    options: list[list[Option]] = []
    for site in survey.frames:
        idle_only = not site.spec.pins
        own: list[Option] = list(site.candidates)
        options.append([*own, None] if idle_only else own)
    if any(not own for own in options):
        return []
    total = 1
    for own in options:
        total *= len(own)
    if total > MOST_MODELS:
        return [_Part(survey, options, kinds)]
    parts = []
    for combination in product(*options):
        room = all(
            sum(block.width for w in combination if w is not None for block in (w.inputs if d == "in" else w.outputs))
            >= survey.demand[d]
            for d in DIRECTIONS
        )
        if room:
            parts.append(_Part(survey, [[option] for option in combination], kinds))
    return parts


@dataclass
class _Search:
    """The stages of one ranking."""

    survey: Survey
    parts: list[_Part]
    clock: Clock
    workers: int
    progress: Callable[[str], None] | None = None
    listed: list[Seating] = field(default_factory=list)

    def least(
        self, stage: str, caps: Mapping[str, int], loads: Callable[[_Part], Load]
    ) -> tuple[int | None, bool, Seating | None]:
        """The least value over all models: value, whether it is proven, where it was found."""
        key = (stage, *sorted(caps.items()))
        live = [p for p in self.parts if not p.dead and p.may_keep(caps)]
        live.sort(key=lambda p: p.lower(key))
        best: _Answer | None = None
        proven = True

        def ask(part: _Part) -> _Answer:
            return part.minimise(key, loads(part), caps, self.listed, self.clock)

        if self.workers > 1:
            with ThreadPoolExecutor(self.workers) as pool:
                answers: Iterator[tuple[_Part, _Answer]] = iter(list(zip(live, pool.map(ask, live), strict=True)))
        else:
            answers = ((part, ask(part)) for part in live if best is None or part.lower(key) < (best.value or 0))
        for part, answer in answers:
            if answer.value is None and answer.proven and not caps:
                part.dead = True
            proven = proven and (answer.proven or (best is not None and part.lower(key) >= (best.value or 0)))
            if answer.value is not None and (best is None or best.value is None or answer.value < best.value):
                best = answer
        if best is None:
            return None, proven, None
        return best.value, proven, best.seating

    def coolest(
        self, caps: dict[str, int], witness: Seating | None, steps: Sequence[int]
    ) -> tuple[int | None, bool, Seating | None]:
        """The greatest of some margins that can be kept, in mK, by asking for the next one above the best found.

        `steps` ascend; the first is one that the witness keeps, or must be kept at least.
        Only the last question has no answer, so that only one proof of absence is needed.
        """
        proven = True
        best, low, high = witness, 0, len(steps) - 1
        if witness is None:
            _, proven, best = self.least(MARGIN, {**caps, MARGIN: steps[0]}, lambda part: [])
            if best is None:
                return None, proven, None
        while low < high:
            assert best is not None
            margin = _margin(self.survey, best)
            low = max([low, *(i for i, step in enumerate(steps) if margin is None or step <= margin)])
            if low >= high:
                break
            following = low + 1
            _, closed, seating = self.least(MARGIN, {**caps, MARGIN: steps[following]}, lambda part: [])
            if seating is not None:
                best, low = seating, following
            else:
                proven = proven and closed
                high = low
        return steps[low], proven, best

    def next_build(self) -> tuple[Seating | None, dict[str, bool], bool]:
        """The next-best seating, which criteria were proven, and whether there is proof that none exists."""
        caps: dict[str, int] = {}
        stages: dict[str, bool] = {}
        witness: Seating | None = None
        survey = self.survey
        levels = [survey.refuse_mk]
        levels += [n * survey.step_mk for n in range(1, survey.top_level + 1) if n * survey.step_mk > survey.refuse_mk]
        passes = [("rank", survey.slack)] + ([("close", {})] if survey.slack else [])
        for _, slack in passes:
            for criterion in survey.rank:
                if criterion == "cooling":
                    within = [m for m in levels if m >= caps.get(MARGIN, 0)]
                    value, proven, seating = self.coolest(caps, witness, within)
                else:
                    value, proven, seating = self.least(criterion, caps, partial(_objective, criterion))
                if seating is None or value is None:
                    if witness is None:
                        return None, stages, proven
                    return witness, {**dict.fromkeys(survey.rank, False), **stages, criterion: False}, False
                witness = seating
                stages[criterion] = stages.get(criterion, True) and proven
                if criterion == "cooling":
                    loosened = value - _slack(survey, slack, criterion, value) * survey.step_mk
                    caps[MARGIN] = max(caps.get(MARGIN, 0), survey.refuse_mk, loosened)
                else:
                    loosened = value + _slack(survey, slack, criterion, value)
                    caps[criterion] = min(caps.get(criterion, 10**18), loosened)
        assert witness is not None
        return self._canonical(caps, witness), stages, False

    def _canonical(self, caps: dict[str, int], witness: Seating) -> Seating:
        """Among seatings of one rank: the coolest, then what breaks ties, then the first in order of ids."""
        if MARGIN in caps:
            steps = [caps[MARGIN], *_finer_margins(self.survey, caps[MARGIN])]
            value, _, coolest = self.coolest(caps, witness, steps)
            caps = {**caps, MARGIN: caps[MARGIN] if value is None else value}
            witness = coolest or witness
        value, _, seating = self.least("ties", caps, lambda part: part.draft.ties())
        if value is None or seating is None:
            return witness
        key = ("ties", *sorted(caps.items()))
        for part in self.parts:
            if not part.dead and part.lower(key) <= value and part.may_keep(caps):
                found = part.first(caps, (part.draft.ties(), value), self.listed, self.clock)
                if found.seating is not None:
                    return found.seating
        return seating


def _objective(criterion: str, part: _Part) -> Load:
    return criteria.objective(part.draft, criterion)


def _slack(survey: Survey, slack: Mapping[str, int | str], criterion: str, value: int) -> int:
    asked = slack.get(criterion, 0)
    if isinstance(asked, str):
        return value * parse_percent(asked, 1000) // 100
    if criterion == "cooling":
        return asked * 1000 // survey.step_mk
    return asked * 10**survey.decimals if criterion == "cost" else asked


def _margin(survey: Survey, seating: Seating) -> int | None:
    """The least cooling margin of a seating in mK."""
    margins = [
        margin
        for site, option, cards in zip(survey.frames, seating.options, seating.cards, strict=True)
        if option is not None
        for _, margin in FrameStanding(
            site,
            BuiltFrame(name=site.name, board=option.board),
            option,
            tuple(Seated(slot, survey.kinds[card]) for slot, card in cards),
            (),
        ).gap_margins()
    ]
    return min(margins, default=None)


def _finer_margins(survey: Survey, reached_mk: int) -> list[int]:
    """The margins between the one reached and the next cooling step that neighbours can have, ascending."""
    top = min(survey.enough_mk, (reached_mk // survey.step_mk + 1) * survey.step_mk - 1)
    if reached_mk // survey.step_mk >= survey.top_level:
        top = survey.enough_mk
    found = {top}
    kinds = _useful_kinds(survey)
    for site in survey.frames:
        for board in {w.board for w in site.candidates}:
            for left in kinds:
                for right in [*kinds, None]:
                    margin = site.margin_mk(left, right, board)
                    if margin is not None:
                        found.add(margin)
    return sorted(m for m in found if reached_mk < m <= top)


def _build(survey: Survey, seating: Seating) -> Standing:
    frames = []
    for site, option, cards in zip(survey.frames, seating.options, seating.cards, strict=True):
        if option is not None:
            frames.append(
                BuiltFrame(
                    name=site.name,
                    room=survey.room,
                    board=option.board,
                    straps=dict(option.straps),
                    cards={str(slot): card for slot, card in cards},
                )
            )
    ends = None if seating.ends is None else {d: seating.ends[d] for d in DIRECTIONS}
    rough = stand(survey, Build(title=survey.title, frame=tuple(frames)), ends)
    return stand(survey, build_of(rough, survey.title))


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
    search = _Search(survey, _parts(survey, _useful_kinds(survey)), clock, workers)
    builds: list[RankedBuild] = []
    complete = False
    while len(builds) < top:
        seating, stages, none = search.next_build()
        if seating is None:
            complete = none
            break
        standing = _build(survey, seating)
        broken = audit.faults(survey, standing)
        if broken:
            raise SearchError(f"the audit refuses a build of the search: {broken} in {standing.frames}")
        found = criteria.figures(survey, standing)
        builds.append(RankedBuild(build_of(standing, survey.title), standing, found, all(stages.values()), stages))
        search.listed.append(seating)
        if clock.over:
            break
    if builds:
        _check_order(survey, builds)
        return Ranking("found", tuple(builds), complete, clock.over)
    return Ranking("impossible" if complete else "unknown", (), complete, clock.over)


def _check_order(survey: Survey, builds: Sequence[RankedBuild]) -> None:
    """Proven builds come in the order of their recomputed figures."""
    if survey.slack or not all(b.proven for b in builds):
        return
    keys = [tuple(criteria.value(survey, b.figures, c) for c in survey.rank) for b in builds]
    if keys != sorted(keys):
        raise SearchError(f"the audit's figures put the builds in another order: {keys}")


__all__ = ["Clock", "Layout", "RankedBuild", "Ranking", "SearchError", "rank"]
