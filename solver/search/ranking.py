"""Ranked builds: criteria in the user's order, each stage proven or said not to be, then the next-best builds.

One model for each combination of strap settings, so that blocks are constants, while there are few; one model for
all of them otherwise. Every stage takes the least value over the models, skipping those whose known bound
cannot beat it. A build is canonical: ties end with the first seating in order of ids.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from itertools import product
from typing import Literal

from solver import audit, criteria
from solver.build import Build, BuiltFrame
from solver.rules.limit import Load
from solver.search.clock import Clock, SearchError
from solver.search.draft import Option
from solver.search.part import MARGIN, Answer, Part, Seating
from solver.standing import FrameStanding, Seated, Standing, build_of, stand
from solver.survey import Kind, Survey
from solver.words import DIRECTIONS, parse_percent

TIES = "ties"
"""Key of the stage that breaks ties, beside the criteria's own names."""

MOST_MODELS = 64
"""Up to so many combinations of settings each get a model of their own."""


@dataclass(frozen=True)
class RankedBuild:
    """An audited build.

    `proven` says that no build ranks between it and the one before and that its ties are settled.
    """

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


def _parts(survey: Survey, kinds: Sequence[Kind]) -> list[Part]:
    options: list[list[Option]] = []
    for site in survey.frames:
        may_stay_unused = not site.spec.pins
        options.append([*site.candidates, None] if may_stay_unused else list(site.candidates))
    if any(not own for own in options):
        return []
    total = 1
    for own in options:
        total *= len(own)
    if total > MOST_MODELS:
        return [Part(survey, options, kinds)]
    parts = []
    for combination in product(*options):
        room = all(
            sum(block.width for w in combination if w is not None for block in (w.inputs if d == "in" else w.outputs))
            >= survey.demand[d]
            for d in DIRECTIONS
        )
        if room:
            parts.append(Part(survey, [[option] for option in combination], kinds))
    return parts


@dataclass
class _Search:
    """The stages of one ranking."""

    survey: Survey
    parts: list[Part]
    clock: Clock
    workers: int
    listed: list[Seating] = field(default_factory=list)
    reached: dict[str, int] = field(default_factory=dict)
    """What the last settled build keeps, as the search has it: criteria at most, `MARGIN` at least."""

    def least(
        self, stage: str, caps: Mapping[str, int], loads: Callable[[Part], Load]
    ) -> tuple[int | None, bool, Seating | None]:
        """The least value over all models: value, whether it is proven, where it was found."""
        key = (stage, *sorted(caps.items()))
        live = [p for p in self.parts if not p.dead and p.may_keep(caps)]
        live.sort(key=lambda p: p.lower(key))
        best: Answer | None = None
        proven = True

        def ask(part: Part) -> Answer:
            return part.minimise(key, loads(part), caps, self.listed, self.clock)

        if self.workers > 1:
            with ThreadPoolExecutor(self.workers) as pool:
                answers: Iterator[tuple[Part, Answer]] = iter(list(zip(live, pool.map(ask, live), strict=True)))
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
        self.reached = {}
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
        seating, stages[TIES] = self._canonical(caps, witness)
        return seating, stages, False

    def _canonical(self, caps: dict[str, int], witness: Seating) -> tuple[Seating, bool]:
        """Among seatings of one rank: the coolest, then what breaks ties, then the first in order of ids.

        Also whether that is settled: under a time limit another seating of the same rank may stand in its place.
        """
        settled = True
        self.reached = caps
        if MARGIN in caps:
            steps = [caps[MARGIN], *_finer_margins(self.survey, caps[MARGIN])]
            value, settled, coolest = self.coolest(caps, witness, steps)
            caps = {**caps, MARGIN: caps[MARGIN] if value is None else value}
            self.reached = caps
            witness = coolest or witness
        value, proven, seating = self.least(TIES, caps, lambda part: part.draft.ties())
        if value is None or seating is None:
            return witness, False
        key = (TIES, *sorted(caps.items()))
        for part in self.parts:
            if not part.dead and part.lower(key) <= value and part.may_keep(caps):
                found = part.first(caps, (part.draft.ties(), value), self.listed, self.clock)
                if found.seating is not None:
                    return found.seating, settled and proven
        return seating, False


def _objective(criterion: str, part: Part) -> Load:
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
        _check_figures(survey, found, search.reached, stages)
        builds.append(RankedBuild(build_of(standing, survey.title), standing, found, all(stages.values()), stages))
        search.listed.append(seating)
        if clock.over:
            break
    if builds:
        _check_order(survey, builds)
        return Ranking("found", tuple(builds), complete, clock.over)
    return Ranking("impossible" if complete else "unknown", (), complete, clock.over)


def _check_figures(
    survey: Survey, found: criteria.Figures, reached: Mapping[str, int], stages: Mapping[str, bool]
) -> None:
    """The figures recomputed from a build are those that the search claims; a proven least value is met exactly."""
    for name, claimed in reached.items():
        if name == MARGIN:
            agrees = found.margin_mk is None or found.margin_mk >= claimed
            if stages["cooling"]:
                agrees = agrees and found.level == survey.level(claimed if found.margin_mk is not None else None)
        else:
            recounted = criteria.value(survey, found, name)
            agrees = recounted == claimed if stages[name] else recounted <= claimed
        if not agrees:
            raise SearchError(f"the search claims {name} {claimed}, the audit finds {found}")


def _check_order(survey: Survey, builds: Sequence[RankedBuild]) -> None:
    """Proven builds come in the order of their recomputed figures."""
    if survey.slack or not all(b.proven for b in builds):
        return
    keys = [tuple(criteria.value(survey, b.figures, c) for c in survey.rank) for b in builds]
    if keys != sorted(keys):
        raise SearchError(f"the audit's figures put the builds in another order: {keys}")


__all__ = ["Clock", "RankedBuild", "Ranking", "SearchError", "rank"]
