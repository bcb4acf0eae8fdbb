"""The questions that a search asks of all its models: the least of a sum, the greatest margin, the first of equals."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import partial
from heapq import heapify, heappop, heappush

from solver.fitted.standing import Standing, build_of
from solver.judge import audit, criteria
from solver.room.build import Build
from solver.room.survey import Kind, Survey
from solver.search.model.options import all_options, options_of, useful_kinds
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Scale, Stage
from solver.search.model.seating import Seating
from solver.search.solve import together
from solver.search.solve.clock import Clock, SearchError
from solver.search.solve.long import Long
from solver.search.solve.part import EFFORT, Answer, Part, Shared, margin_of
from solver.search.solve.relaxation import LONG
from solver.search.solve.standing import as_stands

UNCHECKED = 10**6
"""A margin in mK that only builds keep of which none can be checked: more than any air limit leaves."""

MANY = 32
"""Rooms of more models in which needs ask for numbers are first asked as one whether anything can be built."""

AT_ONCE = 0.1
"""Work that this is worth, in the solver's deterministic seconds."""


@dataclass(frozen=True)
class Least:
    """The least value of a stage over all models: None where nothing was found. `bound` holds for all."""

    value: int | None
    seating: Seating | None
    bound: int

    @property
    def proven(self) -> bool:
        """Whether it is the least, or whether there is none."""
        return self.bound >= (NEVER if self.value is None else self.value)


class Turn(IntEnum):
    """What a model is asked: a first bound, then something that meets it, then the least value."""

    BOUND, MEET, LEAST = range(3)


@dataclass(frozen=True, order=True)
class _Question:
    """What is asked of a model next, and the bound that is known before.

    `capacity` is negative, so that of equals the one with the greatest comes first.
    """

    bound: int
    turn: Turn
    capacity: int
    effort: float | None
    index: int

    def again(self, bound: int) -> _Question:
        """The next turn with what has been learnt; after the last one more effort."""
        if self.turn == Turn.LEAST:
            return replace(self, bound=bound, effort=None if self.effort is None else self.effort * 4)
        return replace(self, bound=bound, turn=Turn(self.turn + 1))


@dataclass
class Chosen:
    """The next-best seating as the search has it, and what of it is proven."""

    seating: Seating
    reached: dict[str, int] = field(default_factory=dict)
    """What it keeps: criteria at most, the margin (in mK) at least."""
    stages: dict[str, bool] = field(default_factory=dict)
    bounds: dict[str, int] = field(default_factory=dict)


@dataclass
class Search:
    """All models of a room, and what is asked of them together."""

    survey: Survey
    parts: list[Part]
    clock: Clock
    workers: int
    scale: Scale
    listed: list[Seating] = field(default_factory=list)
    last_margin: int | None = None
    latest: list[Seating] = field(default_factory=list)
    """The last one found since a build was listed: what there is when the search is left at any moment."""
    settled: dict[str, bool] = field(default_factory=dict)
    """The criteria that are decided of it already, and whether they are proven."""

    @classmethod
    def of(cls, survey: Survey, clock: Clock, workers: int, *, rough: bool = True) -> Search:
        """Over every combination of settings of a room.

        `rough` is explained at `Shared`; where a room is settled over runs, it is so in any case.
        """
        long = len(survey.frames) == 1 and len(survey.frames[0].slots) > LONG and not survey.from_what_stands
        shared = Shared.of(survey, rough or long)
        kinds = useful_kinds(survey)
        room = together.together(survey, kinds, Shared.of(survey, rough=True))
        parts: list[Part] = [room] if room else []
        if room is None:
            every = options_of(survey)
            if survey.particular and len(every) > MANY and _of_all(survey, kinds, shared, clock).bound >= NEVER:
                every = []
            part = Long if long and all(len(own) == 1 for options in every for own in options) else Part
            parts = [part(survey, options, kinds, shared) for options in every]
        return cls(survey, parts, clock, workers, shared.scale)

    @property
    def rough(self) -> bool:
        """Whether its models count cards over runs first."""
        return all(part.shared.rough for part in self.parts)

    @property
    def levels(self) -> list[int]:
        """The margins that count as steps, in mK: the one under which a build is refused, then whole steps."""
        survey = self.survey
        steps = (n * survey.step_mk for n in range(1, survey.top_level + 1))
        return [survey.refuse_mk, *(step for step in steps if step > survey.refuse_mk)]

    def least(self, stage: Stage, caps: Caps) -> Least:  # noqa: C901
        """The least value over all models. The most promising is asked first, and none that cannot better the best."""
        best: Answer | None = None
        waiting: list[_Question] = []
        alive = [(n, part) for n, part in enumerate(self.parts) if part.may_keep(caps)]
        sums = stage not in (MARGIN, TIES)
        effort = EFFORT if len(alive) > 1 else None
        for index, part in alive:
            known = part.final(stage, caps, self.listed)
            if known is None:
                unasked = sums and self.rough and part.unasked(stage, caps, self.listed)
                turn, capacity = Turn.BOUND if unasked else Turn.LEAST, -part.capacity if sums else 0
                waiting.append(_Question(part.lower(stage, caps), turn, capacity, effort, index))
            elif known.value is not None and (best is None or known.value < (best.value or 0)):
                best = known
        heapify(waiting)
        unproven: list[int] = []
        hope: int | None = None
        with _threads(self.workers) as each:
            while waiting:
                asked: list[_Question] = []
                while waiting and len(asked) < self.workers:
                    if best is not None and best.value is not None and waiting[0].bound >= best.value:
                        break
                    asked.append(heappop(waiting))
                if not asked:
                    break
                if best is not None:
                    hope = best.value
                cutoff = None if hope is None else hope + abs(hope) // self.parts[0].spare if sums else hope - 1
                ask = partial(self._ask, stage, caps, cutoff, cutoff if best is not None else None)
                for question, answer in zip(asked, each(ask, asked), strict=True):
                    if answer.value is not None and (best is None or answer.value < (best.value or 0)):
                        best = answer
                        self._note(answer.seating)
                    if answer.value is None or answer.bound < answer.value:
                        if answer.bound >= NEVER:
                            continue
                        if self.clock.over:
                            unproven.append(answer.bound)
                            continue
                        if question.turn == Turn.BOUND:
                            hope = answer.bound if hope is None else min(hope, answer.bound)
                        heappush(waiting, question.again(answer.bound))
        if best is None:
            return Least(None, None, min(unproven, default=NEVER))
        assert best.value is not None
        return Least(best.value, best.seating, min([best.value, *unproven]))

    def _note(self, seating: Seating | None) -> None:
        if seating is not None:
            self.latest[:] = [seating]

    def _ask(self, stage: Stage, caps: Caps, hoped: int | None, cutoff: int | None, question: _Question) -> Answer:
        """Ask a model; what is dearer than the cutoff is of no interest, what is dearer than hoped needs no bound."""
        part = self.parts[question.index]
        if question.turn == Turn.BOUND:
            return part.relaxed(stage, caps, self.listed, self.clock, hoped)
        if question.turn == Turn.MEET:
            return part.meet(stage, caps, self.listed, self.clock, question.effort)
        return part.minimise(stage, caps, self.listed, self.clock, cutoff, question.effort)

    def possible(self) -> bool | None:
        """Whether anything can be built at all, asked of the largest models first; None where time ran out."""
        if self.survey.particular and len(self.parts) > 1:
            first = self.parts[0]
            answer = _of_all(self.survey, first.kinds, first.shared, self.clock)
            if answer.seating is not None or answer.bound >= NEVER:
                return answer.seating is not None
        sure = True
        for part in sorted(self.parts, key=lambda part: -part.capacity):
            if part.relaxed(("cost",), {}, (), self.clock, None).bound >= NEVER:
                continue
            answer = part.minimise(MARGIN, {}, (), self.clock)
            if answer.seating is not None:
                return True
            sure = sure and answer.bound >= NEVER
        return False if sure else None

    def keeps(self, caps: Caps) -> Least:
        """Any seating that keeps the caps."""
        unproven = False
        for part in self.parts:
            if not part.may_keep(caps):
                continue
            answer = part.final(MARGIN, caps, self.listed) or part.minimise(MARGIN, caps, self.listed, self.clock)
            if answer.seating is not None:
                self._note(answer.seating)
                return Least(0, answer.seating, 0)
            unproven = unproven or answer.bound < NEVER
        return Least(None, None, 0 if unproven else NEVER)

    def coolest(
        self, caps: Caps, witness: Seating | None, steps: Sequence[int]
    ) -> tuple[int | None, bool, Seating | None]:
        """The greatest of some margins that can be kept, in mK, by asking for the next one above the best found.

        `steps` ascend; the first is one that the witness keeps, or must be kept at least. The margin of the build
        before is a good guess; otherwise only the last question has no answer, and absence is proven once.
        """
        best = witness
        if best is None:
            found = self.keeps({**caps, MARGIN: steps[0]})
            if found.seating is None:
                return None, found.proven, None
            best = found.seating
        low, high, proven = 0, len(steps), True
        while True:
            margin = margin_of(self.survey, best)
            low = max([low, *(i for i, step in enumerate(steps) if margin is None or step <= margin)])
            if low + 1 >= high:
                self.last_margin = steps[low]
                return steps[low], proven, best
            asked = steps.index(self.last_margin) if self.last_margin in steps[low + 1 : high] else low + 1
            found = self.keeps({**caps, MARGIN: steps[asked]})
            if found.seating is not None:
                best, low = found.seating, asked
            else:
                high, proven = asked, found.proven

    @property
    def exact_at_once(self) -> bool:
        """Whether cooling is decided last, so that its step and the exact margin are one question."""
        return self.survey.rank[-1] == "cooling" and not self.survey.slack

    def grouped(self, slack: Mapping[str, int | str]) -> list[Stage]:
        """The criteria in their order; sums that follow each other and have no slack are one stage."""
        stages: list[Stage] = []
        for criterion in self.survey.rank:
            joined = (*stages[-1], criterion) if stages else ()
            apart = not joined or "cooling" in joined or any(c in slack for c in joined)
            if apart or not self.scale.fits(joined):
                stages.append((criterion,))
            else:
                stages[-1] = joined
        return stages

    def settle(self, caps: dict[Stage, int], chosen: Chosen, *, finer: bool) -> None:
        """Among seatings of one rank: the coolest, then what breaks ties, then the first in order of ids.

        `finer` asks for the exact margin between the cooling steps first. Under a time limit another seating of the
        same rank may stand in its place; then it is not proven.
        """
        if not self.rough:
            self._among(caps, chosen.seating)._settle(caps, chosen, finer=finer)
        else:
            self._settle(caps, chosen, finer=finer)

    def _among(self, caps: Caps, seating: Seating) -> Search:
        """The same, asked of one model: of the options and cards alone that builds within caps can have."""
        alive = [part for part in self.parts if part.may_keep(caps)]
        cards = frozenset(card for own in seating.cards for _, card in own)
        for part in alive:
            held = part.held(caps, cards, self.clock)
            if held is None:
                return self
            cards = held
        options = [
            list({id(option): option for part in alive for option in part.options[site.index]}.values())
            for site in self.survey.frames
        ]
        kinds = [kind for kind in alive[0].kinds if kind.id in cards]
        one = Part(self.survey, options, kinds, alive[0].shared)
        return replace(self, parts=[one], workers=1)

    def _settle(self, caps: dict[Stage, int], chosen: Chosen, *, finer: bool) -> None:
        settled = True
        if MARGIN in caps:
            chosen.reached[MARGIN[0]] = caps[MARGIN]
            if finer:
                steps = [caps[MARGIN], *_finer_margins(self.survey, caps[MARGIN])]
                margin, settled, coolest = self.coolest(caps, chosen.seating, steps)
                if margin is not None and coolest is not None:
                    chosen.seating = coolest
                    caps = {**caps, MARGIN: margin}
                    chosen.reached[MARGIN[0]] = margin
        ties = self.least(TIES, caps)
        chosen.stages[TIES[0]] = settled and ties.proven
        if ties.value is None or ties.seating is None:
            return
        chosen.seating = ties.seating
        caps = {**caps, TIES: ties.value}
        for part in self.parts:
            if part.may_keep(caps):
                found = part.first(caps, self.listed, self.clock)
                if found.seating is not None:
                    chosen.seating = found.seating
                    return
                chosen.stages[TIES[0]] = chosen.stages[TIES[0]] and found.bound == NEVER


def _of_all(survey: Survey, kinds: Sequence[Kind], shared: Shared, clock: Clock) -> Answer:
    """Any build, asked of one model of all settings: where needs ask for numbers it mostly sees what none can have."""
    return Part(survey, all_options(survey), kinds, shared).minimise(MARGIN, {}, (), clock, effort=AT_ONCE)


@contextmanager
def _threads(workers: int) -> Iterator[Callable[..., list[Answer]]]:
    """A map over questions, in threads where several are asked at once."""
    with ExitStack() as stack:
        pool: ThreadPoolExecutor | None = None

        def each(function: Callable[[_Question], Answer], entries: Sequence[_Question]) -> list[Answer]:
            nonlocal pool
            if len(entries) == 1:
                return [function(entries[0])]
            pool = pool or stack.enter_context(ThreadPoolExecutor(workers))
            return list(pool.map(function, entries))

        yield each


def _finer_margins(survey: Survey, reached_mk: int) -> list[int]:
    """The margins between the one reached and the next cooling step that neighbours can have, ascending.

    Above the last step those are all that they can have: of equals the coolest is taken, though enough counts no more.
    """
    if reached_mk // survey.step_mk >= survey.top_level:
        return reachable_margins(survey, reached_mk, UNCHECKED)
    return reachable_margins(survey, reached_mk, (reached_mk // survey.step_mk + 1) * survey.step_mk - 1)


def reachable_margins(survey: Survey, above_mk: int, top: int) -> list[int]:
    """The margins above one that neighbours can have, ascending up to `top`, which ends the list."""
    found = {top}
    kinds = useful_kinds(survey)
    for site in survey.frames:
        for board in {w.board for w in site.candidates}:
            for left in kinds:
                for right in [*kinds, None]:
                    margin = site.margin_mk(left, right, board)
                    if margin is not None:
                        found.add(margin)
    return sorted(m for m in found if above_mk < m <= top)


@dataclass(frozen=True)
class RankedBuild:
    """An audited build.

    `proven` says that no build ranks between it and the one before and that its ties are settled. `stages` says so
    for each criterion; `bounds` has what is proven of the first one that is not: no such build has less.
    """

    build: Build
    standing: Standing
    figures: criteria.Figures
    proven: bool
    stages: Mapping[str, bool]
    bounds: Mapping[str, int]


def audited(survey: Survey, chosen: Chosen) -> RankedBuild:
    """The build of a seating, audited, its figures recomputed and held against what the search claims.

    Raises
    ------
    SearchError
        If the audit refuses the build or its figures differ: a defect.
    """
    standing = as_stands(survey, chosen.seating)
    broken = audit.faults(survey, standing)
    if broken:
        raise SearchError(f"the audit refuses a build of the search: {broken} in {standing.frames}")
    found = criteria.figures(survey, standing)
    if (found.short, found.short_needs) > (survey.short.channels, survey.short.needs):
        raise SearchError(f"needs may be short by {survey.short}, the audit finds {found}")
    _check_figures(survey, found, chosen.reached, chosen.stages)
    built = build_of(standing, survey.title)
    return RankedBuild(built, standing, found, all(chosen.stages.values()), chosen.stages, chosen.bounds)


def _check_figures(
    survey: Survey, found: criteria.Figures, reached: Mapping[str, int], stages: Mapping[str, bool]
) -> None:
    """The figures recomputed from a build are those that the search claims; a proven least value is met exactly."""
    for name, claimed in reached.items():
        if name == MARGIN[0]:
            agrees = found.margin_mk is None or found.margin_mk >= claimed
            if stages["cooling"]:
                agrees = agrees and found.level == survey.level(claimed if found.margin_mk is not None else None)
        else:
            recounted = criteria.value(survey, found, name)
            agrees = recounted == claimed if stages[name] else recounted <= claimed
        if not agrees:
            raise SearchError(f"the search claims {name} {claimed}, the audit finds {found}")
