"""One model of the ranking: some options for each frame, what it answers under caps, and what listed builds exclude."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, permutations, product
from math import gcd
from typing import Any

from ortools.sat.python import cp_model

from solver import criteria
from solver.rules.limit import Load
from solver.search.clock import Clock
from solver.search.draft import CpDraft, Option
from solver.survey import Kind, Survey
from solver.words import DIRECTIONS

MARGIN = "margin"
"""Key of the least cooling margin, in mK, among what a stage has to keep."""


@dataclass(frozen=True)
class Seating:
    """What a solve found: for each frame its option and the seats taken."""

    options: tuple[Option, ...]
    cards: tuple[tuple[tuple[int, str], ...], ...]
    ends: dict[str, dict[int, int]] | None = None

    def counts(self, frame: int) -> Counter[str]:
        """Cards of each kind in a frame."""
        return Counter(card for _, card in self.cards[frame])


@dataclass
class Answer:
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


class Part:
    """One model: some options for each frame. Its answers are kept, since later builds only add exclusions."""

    def __init__(self, survey: Survey, options: Sequence[Sequence[Option]], kinds: Sequence[Kind]) -> None:
        self.survey = survey
        self.options = options
        self.kinds = kinds
        self.dead = False
        self._draft: CpDraft | None = None
        self._lower: dict[tuple[Any, ...], int] = {}
        self._known: dict[tuple[object, ...], Answer] = {}

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
    ) -> Answer:
        """The least value of a load under caps on criteria, apart from listed builds."""
        known = self._known.get(key)
        if known is not None and known.seating is not None:
            seating = known.seating
            if not any(repeats(self.survey, seating, other) for other in listed):
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
            return Answer(None, True)
        if status == "open":
            return Answer(None, False)
        value = round(solver.objective_value) * scale + fixed if terms else fixed
        answer = Answer(value, status == "proven", self._seating(draft, solver))
        if status == "proven":
            self._lower[key] = value
            self._known[key] = answer
        return answer

    def first(self, caps: Mapping[str, int], tie: tuple[Load, int], listed: Sequence[Seating], clock: Clock) -> Answer:
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
            return Answer(0, True, self._seating(draft, solver))
        return Answer(None, status == "none")

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


def repeats(survey: Survey, found: Seating, listed: Seating) -> bool:
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
