"""The questions that a search asks of all its models: the least of a sum, the greatest margin, the first of equals."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from heapq import heapify, heappop, heappush

from solver.fitted.standing import Standing, build_of
from solver.judge import audit, criteria
from solver.room.build import Build
from solver.room.kind import Kind
from solver.room.survey import Survey
from solver.search.model.options import all_options, options_of, useful_kinds
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Scale, Stage
from solver.search.model.seating import Seating
from solver.search.solve import together
from solver.search.solve.bundle import Bundle, bundles, envelopes
from solver.search.solve.clock import Clock, SearchError
from solver.search.solve.long import Long
from solver.search.solve.part import Answer, Part, Shared, margin_of
from solver.search.solve.relaxation import LONG, MANY_SLOTS, PartRelaxation
from solver.search.solve.standing import as_stands
from solver.search.solve.waiting import Question, Turn, Waiting

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


@dataclass
class Chosen:
    """The next-best seating as the search has it, and what of it is proven."""

    seating: Seating
    reached: dict[str, int] = field(default_factory=dict)
    """What it keeps: criteria at most, the margin (in mK) at least."""
    stages: dict[str, bool] = field(default_factory=dict)
    bounds: dict[str, int] = field(default_factory=dict)


def models_of(survey: Survey, shared: Shared) -> list[Part]:
    """Models that together hold every combination of settings of a room."""
    kinds = useful_kinds(survey)
    room = together.together(survey, kinds, replace(shared, rough=True))
    return [room] if room else [Part(survey, options, kinds, shared) for options in options_of(survey)]


@dataclass
class Search:
    """All models of a room, and what is asked of them together."""

    survey: Survey
    parts: list[Bundle | Part]
    clock: Clock
    workers: int
    scale: Scale
    room: PartRelaxation | None = None
    """All settings of the only frame, counted over runs: where they are many, or slots, it says what can be bought."""
    listed: list[Seating] = field(default_factory=list)
    last_margin: int | None = None
    latest: list[Seating] = field(default_factory=list)
    """The last one found since a build was listed: what there is when the search is left at any moment."""
    settled: dict[str, bool] = field(default_factory=dict)
    """The criteria that are decided of it already, and whether they are proven."""
    known: dict[str, int] = field(default_factory=dict)
    """What no build can be below, of the criteria that are asked first, where they are not proven."""

    @classmethod
    def of(cls, survey: Survey, clock: Clock, workers: int, *, rough: bool = True) -> Search:
        """Over every combination of settings of a room.

        `rough` is explained at `Shared`; where a room is settled over runs, it is so in any case.
        """
        long = len(survey.frames) == 1 and len(survey.frames[0].slots) > LONG and not survey.from_what_stands
        shared = Shared.of(survey, rough or long)
        kinds = useful_kinds(survey)
        parts: list[Bundle | Part]
        if len(survey.frames) > 1 or survey.from_what_stands:
            parts = [*models_of(survey, shared)]
        else:
            parts = bundles(survey, kinds, shared, Long if long else Part)
        many = sum(len(site.candidates) for site in survey.frames) > MANY or len(parts) > MANY
        if survey.particular and many and _of_all(survey, kinds, shared, clock).bound >= NEVER:
            parts = []
        room: PartRelaxation | None = None
        large = len(survey.frames[0].slots) > MANY_SLOTS or len(survey.frames[0].candidates) > MANY
        if parts and shared.rough and large and len(survey.frames) == 1 and not survey.from_what_stands:
            room = PartRelaxation(survey, [envelopes(survey)], kinds, shared)
        return cls(survey, parts, clock, workers, shared.scale, room)

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

    def alive(self, caps: Caps) -> Iterator[Part]:
        """The models that may keep caps by all that is known; bundles that may are parted."""
        waiting = self.parts[::-1]
        while waiting:
            node = waiting.pop()
            if isinstance(node, Bundle) or (node.above is not None and self.rough):
                self._bound(node, caps)
            if node.may_keep(caps):
                if isinstance(node, Part):
                    yield node
                else:
                    waiting += node.within

    def _bound(self, node: Bundle | Part, caps: Caps) -> None:
        """Ask for what cannot be undercut of each sum that is capped under the caps before it, margins apart."""
        sums = {stage: cap for stage, cap in caps.items() if stage not in (MARGIN, TIES)}
        before: dict[Stage, int] = {} if sums else dict(caps)
        for stage, cap in sums.items() or ((("cost",), NEVER),):
            while node.may_keep(caps) and node.unasked(stage, before, self.listed) and not self.clock.over:
                cutoff = None if cap == NEVER else self._with_spare(cap)
                node.relaxed(stage, dict(before), self.listed, self.clock, cutoff)
            before[stage] = cap

    def _with_spare(self, value: int) -> int:
        """A value up to which bounds serve the next builds too."""
        return value + abs(value) // self.parts[0].spare

    def in_order(self, caps: Caps) -> list[Part]:
        """The models that may keep caps, in the order of their layouts."""
        alive = list(self.alive(caps))
        if len(self.survey.frames) > 1:
            return alive
        places = {id(layout): n for n, layout in enumerate(self.survey.frames[0].candidates)}
        return sorted(alive, key=lambda part: places.get(id(part.options[0][0]), len(places)))

    def least(self, stage: Stage, caps: Caps) -> Least:
        """The least value over all models. The most promising is asked first, and none that cannot better the best."""
        sums = stage not in (MARGIN, TIES)
        one_frame = len(self.survey.frames) == 1
        waiting = Waiting(stage, caps, self.listed, self.clock, self.workers, self.rough, one_frame)
        if sums:
            self._learn_what_can_be_bought(stage)
        waiting.add(self.parts if sums else list(self.alive(caps)))
        unproven: list[int] = []
        hope: int | None = None
        with _threads(self.workers) as each:
            while asked := waiting.next_ones():
                best = waiting.best
                if best is not None:
                    hope = best.value
                cutoff = None if hope is None else self._with_spare(hope) if sums else hope - 1
                ask = partial(waiting.ask, cutoff, cutoff if best is not None else None)
                for question, answer in zip(asked, each(ask, asked), strict=True):
                    if waiting.better(answer):
                        self._note(answer.seating)
                    if answer.value is None or answer.bound < answer.value:
                        if answer.bound >= NEVER:
                            continue
                        if self.clock.over:
                            unproven.append(answer.bound)
                            continue
                        own = waiting.nodes[question.index]
                        told = isinstance(own, Part) and not own.unasked(stage, caps, self.listed)
                        if question.turn == Turn.BOUND and told:
                            hope = answer.bound if hope is None else min(hope, answer.bound)
                        waiting.again(question, answer.bound)
        if waiting.best is None:
            return Least(None, None, min(unproven, default=NEVER))
        value = waiting.best.value
        assert value is not None
        if sums:
            self._learn_what_can_be_bought(stage, value)
        return Least(value, waiting.best.seating, min([value, *unproven]))

    def _learn_what_can_be_bought(self, stage: Stage, least: int | None = None) -> None:
        """Find out what can be bought for the cost of a value; at first for what all builds cost at least."""
        if self.room is None or stage[0] != "cost":
            return
        if least is None and not self.room.knows_purchases:
            stage, least = ("cost",), self.room.bound(("cost",), {}, (), self.clock, None)
        if least is not None and 0 <= least < NEVER:
            self.room.learn_purchases(self.scale.split(stage, least)["cost"], self.clock)

    def _note(self, seating: Seating | None) -> None:
        if seating is not None:
            self.latest[:] = [seating]

    def possible(self) -> bool | None:
        """Whether anything can be built at all, asked of the largest models first; None where time ran out."""
        if self.survey.particular and (len(self.parts) > 1 or any(isinstance(node, Bundle) for node in self.parts)):
            first = self.parts[0]
            answer = _of_all(self.survey, first.kinds, first.shared, self.clock)
            if answer.seating is not None or answer.bound >= NEVER:
                return answer.seating is not None
        sure = True
        waiting = [(-node.capacity, n, node) for n, node in enumerate(self.parts)]
        heapify(waiting)
        number = len(waiting)
        while waiting:
            _, _, node = heappop(waiting)
            if node.relaxed(("cost",), {}, (), self.clock, None).bound >= NEVER:
                continue
            if isinstance(node, Bundle):
                for own in node.within:
                    number += 1
                    heappush(waiting, (-own.capacity, number, own))
                continue
            answer = node.minimise(MARGIN, {}, (), self.clock)
            if answer.seating is not None:
                return True
            sure = sure and answer.bound >= NEVER
        return False if sure else None

    def keeps(self, caps: Caps) -> Least:
        """Any seating that keeps the caps."""
        unproven = False
        for part in self.alive(caps):
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
        alive = self.in_order(caps)
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
        for part in self.in_order(caps):
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

        def each(function: Callable[[Question], Answer], entries: Sequence[Question]) -> list[Answer]:
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
    standing = as_stands(survey, chosen.seating, chosen.reached)
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
