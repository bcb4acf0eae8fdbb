"""One model of the ranking: some options for each frame, what it answers under caps, and what listed builds exclude."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import pairwise
from math import ceil
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeAlias

from solver import rules
from solver.fitted.frame import FrameStanding, Seated
from solver.judge import criteria
from solver.room.build import BuiltFrame
from solver.room.kind import Kind
from solver.room.survey import Survey
from solver.rules.limit import Limit, Rule, Seat, Term
from solver.search.model.basis import Option
from solver.search.model.cpsat import cp_model
from solver.search.model.draft import CpDraft
from solver.search.model.listed import exclude, may_repeat, repeats
from solver.search.model.options import ROUNDS, capacity_of
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Scale, Stage, no_tighter, sums_of
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.bought import Purchases, cost_within
from solver.search.solve.bounds import Bounds
from solver.search.solve.clock import Clock
from solver.search.solve.solving import solve

if TYPE_CHECKING:
    from solver.search.solve.relaxation import Numbers, PartRelaxation

EFFORT = 0.05
"""Work that a model gets at first while others may be better, in the solver's deterministic seconds."""

MOST_KEPT = 8
"""Models with a margin to keep that are kept for the next question."""

MOST_AT_ONCE = 10**8
"""Digits of a seating are asked for together while the numbers that they make stay below this."""


Counts: TypeAlias = Sequence[tuple[int, str, Sequence[int], int, int]]
"""Cards in slots of frames: index of the frame, card, first slots, how many at least and at most."""


@dataclass(frozen=True)
class Answer:
    """What one model said: the best value found, its seating, and a bound that holds for every other seating.

    It is final where the bound reaches the value, or where nothing was found and the bound is `NEVER`.
    """

    value: int | None
    seating: Seating | None
    bound: int


@dataclass(frozen=True)
class Shared:
    """What all models of a room have in common."""

    scale: Scale
    limits: Sequence[tuple[Rule, Limit]]
    """All but those of graded rules, which every question states for the margin that it keeps."""

    rough: bool
    """Whether to count cards over runs of slots first, for bounds and for the cards that builds within caps can hold.

    That is worth while where few questions are asked of a model, and sums are capped at their least values.
    """

    purchases: Purchases
    """What can be bought, as far as it is known."""

    @classmethod
    def of(cls, survey: Survey, rough: bool) -> Shared:
        """From a survey."""
        every = rules.limits(survey)
        return cls(Scale.of(survey), [(r, limit) for r, limit in every if not r.graded], rough, Purchases(survey))


class Part(Bounds):
    """One model: some options for each frame. Its answers and bounds are kept: later builds only add exclusions."""

    spare = 4
    """Models are asked for values up to the best plus this part of it, so that the bounds serve the next builds too."""

    def __init__(
        self, survey: Survey, options: Sequence[Sequence[Option]], kinds: Sequence[Kind], shared: Shared
    ) -> None:
        super().__init__()
        self.survey = survey
        self.options = options
        self.kinds = kinds
        self.shared = shared
        self.scale = shared.scale
        self._drafts: dict[frozenset[str] | None, CpDraft] = {}
        self._cooled: dict[tuple[frozenset[str] | None, int, Stage | None], CpDraft] = {}
        self._making = Lock()
        self._sums: dict[tuple[frozenset[str] | None, Stage], Any] = {}
        self._concerned: dict[Stage, int] = {}
        self._numbers: dict[object, Numbers | None] = {}
        self._final: list[tuple[Stage, dict[Stage, int], Answer]] = []

    @cached_property
    def capacity(self) -> int:
        """How many numbers cards could answer, were their slots all full: with much of it much is possible."""
        return capacity_of(self.options, self.kinds)

    @cached_property
    def _relaxation(self) -> PartRelaxation:
        from solver.search.solve.relaxation import PartRelaxation

        return PartRelaxation(self.survey, self.options, self.kinds, self.shared)

    def draft(self, usable: frozenset[str] | None = None) -> CpDraft:
        """The model of all kinds of card, or of some; built when first asked for."""
        if usable not in self._drafts:
            kinds = [kind for kind in self.kinds if usable is None or kind.id in usable]
            draft = CpDraft(self.survey, self.options, kinds, self.shared.limits)
            for criterion in self.survey.rank:
                if criterion != "cooling":
                    criteria.objective(draft, criterion)
            _order_alike_frames(self.survey, draft)
            self._drafts[usable] = draft
        return self._drafts[usable]

    def _keeping(self, usable: frozenset[str] | None, margin_mk: int, guide: Stage | None) -> CpDraft:
        """The model where a margin has to be kept and a sum is least; the latest few are kept."""
        key = usable, margin_mk, guide
        with self._making:
            if key not in self._cooled:
                if len(self._cooled) >= MOST_KEPT:
                    del self._cooled[next(iter(self._cooled))]
                draft = self.draft(usable).copy()
                draft.keep(margin_mk)
                asked = 0 if guide is None else self._sum(usable, guide)
                if not isinstance(asked, int):
                    draft.model.minimize(asked)
                self._cooled[key] = draft
            return self._cooled[key]

    def _sum(self, usable: frozenset[str] | None, stage: Stage) -> Any:
        """What a stage minimises, as an expression of the model and all copies of it."""
        if (usable, stage) not in self._sums:
            draft = self.draft(usable)
            self._sums[usable, stage] = expression(self.scale.load(stage, partial(criteria.objective, draft)))
        return self._sums[usable, stage]

    def final(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> Answer | None:
        """An answer found before, where no build listed since has taken it away."""
        for entry in list(self._final):
            asked, looser, answer = entry
            if asked != stage or not no_tighter(looser, caps) or not self._meets(entry, caps):
                continue
            if answer.seating and not any(repeats(self.survey, answer.seating, other) for other in listed):
                return answer
            self._final.remove(entry)
        return None

    def _meets(self, entry: tuple[Stage, dict[Stage, int], Answer], caps: Caps) -> bool:
        """Whether an answer that was found under looser caps is seen to keep these too."""
        stage, looser, answer = entry
        if looser == caps:
            return True
        if stage in (MARGIN, TIES) or answer.value is None or answer.seating is None:
            return False
        values = self.scale.split(stage, answer.value)
        for other, cap in caps.items():
            if other == MARGIN or looser.get(other) == cap:
                continue
            if len(other) > 1 or other[0] not in values or values[other[0]] > cap * self.scale.units.get(other[0], 1):
                return False
        if looser.get(MARGIN) == caps.get(MARGIN):
            return True
        margin = margin_of(self.survey, answer.seating)
        return margin is None or margin >= caps[MARGIN]

    def unasked(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> bool:
        """Whether a first bound has yet to be asked for, or again, since builds were listed that it could repeat."""
        return self._concerned.get(stage) != self._concern(listed) or self.lower(stage, caps) == -NEVER

    def _concern(self, listed: Sequence[Seating]) -> int:
        """How many listed builds a build of this model could repeat: once there are more, its bound may have risen."""
        return sum(may_repeat(self.survey, self.options, other) for other in listed)

    def relaxed(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None) -> Answer:
        """A first bound for the least value of a stage under caps; greater values than a cutoff are all one."""
        bound, told = self._relaxation.first(stage, caps, listed, clock, cutoff, self.lower(stage, caps))
        self._know(stage, caps, bound)
        if told:
            self._concerned[stage] = self._concern(listed)
        return Answer(None, None, self.lower(stage, caps))

    def _remember(self, stage: Stage, caps: Caps, answer: Answer) -> Answer:
        """What an answer says of later questions; its bound is no more than its value."""
        if answer.value is not None:
            answer = replace(answer, bound=min(answer.bound, answer.value))
        self._know(stage, caps, answer.bound)
        if answer.value is not None and answer.bound == answer.value:
            self._final.append((stage, dict(caps), answer))
        return answer

    def meet(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, effort: float | None) -> Answer:
        """An answer that meets the known bound of a stage, where there is one."""
        lower = self.lower(stage, caps)
        met = self.minimise(MARGIN, {**caps, stage: lower}, listed, clock, effort=effort)
        if met.seating is None:
            if met.bound >= NEVER:
                self._know(stage, caps, lower + 1)
            return Answer(None, None, self.lower(stage, caps))
        return self._remember(stage, caps, Answer(lower, met.seating, lower))

    def within(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, effort: float) -> Answer:
        """The least value of a stage whose first criterion is as low as its bound says, where there is one."""
        most = self.scale.most_with_first(stage, self.lower(stage, caps))
        found = self.minimise(stage, {**caps, stage: most}, listed, clock, effort=effort)
        bound = min(found.bound, most + 1)
        return self._remember(stage, caps, replace(found, bound=max(bound, self.lower(stage, caps))))

    def minimise(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None = None,
        effort: float | None = None,
    ) -> Answer:
        """The least value of a stage under caps, apart from listed builds.

        Parameters
        ----------
        cutoff
            Greater values are of no interest.
        effort
            Deterministic seconds to spend; None for no limit but the clock's.
        """
        numbers = self._numbers_within(caps, listed, clock) if stage in (MARGIN, TIES) or stage in caps else None
        usable = _usable(numbers)
        draft = self._clone(caps, listed, usable, stage)
        _hold_numbers(draft, numbers)
        objective = 0 if stage == MARGIN else self._asked(draft, usable, stage)
        moves = not isinstance(objective, int)
        if moves and cutoff is not None:
            draft.model.add(objective <= cutoff)
        if moves and stage == TIES:
            draft.model.minimize(objective)
        status, solver = solve(draft.model, clock, effort, any_will_do=not moves)
        if status == "none":
            answer = Answer(None, None, NEVER if cutoff is None or not moves else cutoff + 1)
        elif status in ("open", "late"):
            bound = self.lower(stage, caps)
            if moves and status == "open":
                bound = max(bound, ceil(solver.best_objective_bound - 1e-6))
            answer = Answer(None, None, bound)
        else:
            seating = self._seating(draft, solver)
            value = round(solver.objective_value) if moves else objective
            bound = value if status == "proven" or not moves else ceil(solver.best_objective_bound - 1e-6)
            answer = Answer(value, seating, max(bound, self.lower(stage, caps)))
        return self._remember(stage, caps, answer)

    def with_counts(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        counts: Counts,
        clock: Clock,
    ) -> Answer:
        """The least of a stage with just such cards: nothing is kept of it, since it says nothing of others."""
        draft = self._clone(caps, listed, None, stage)
        _hold_just(draft, counts)
        objective = 0 if stage == MARGIN else self._asked(draft, None, stage)
        moves = not isinstance(objective, int)
        if moves and stage == TIES:
            draft.model.minimize(objective)
        status, solver = solve(draft.model, clock, any_will_do=not moves)
        if status == "none":
            return Answer(None, None, NEVER)
        if status in ("open", "late"):
            return Answer(None, None, -NEVER)
        value = round(solver.objective_value) if moves else objective
        bound = value if status == "proven" or not moves else ceil(solver.best_objective_bound - 1e-6)
        return Answer(value, self._seating(draft, solver), bound)

    def _asked(self, draft: CpDraft, usable: frozenset[str] | None, stage: Stage) -> Any:
        return expression(draft.ties()) if stage == TIES else self._sum(usable, stage)

    def first(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Answer:
        """The first seating that keeps the caps in order of layouts, then slots and ids; what is empty comes last."""
        return self.first_of(caps, listed, None, clock)

    def first_of(self, caps: Caps, listed: Sequence[Seating], just: Counts | None, clock: Clock) -> Answer:
        """The same of seatings with just such cards, where given.

        Read as a number whose digits say what each slot holds, it is the least; several digits are asked for at once.
        """
        if just is None:
            numbers = self._numbers_within(caps, listed, clock)
            draft = self._clone(caps, listed, _usable(numbers), TIES)
            _hold_numbers(draft, numbers)
        else:
            draft = self._clone(caps, listed, frozenset(card for _, card, _, _, most in just if most), TIES)
            _hold_just(draft, [own for own in just if own[-1]])
        digits: list[list[tuple[int, Term]]] = [
            [(n, t) for n, (_, t) in enumerate(draft.choices(site)) if not isinstance(t, int)]
            for site in self.survey.frames
        ]
        for site in self.survey.frames:
            starts: dict[int, list[Seat]] = {slot: [] for slot in site.slots}
            for seat in draft.seats(site):
                starts[seat.slot].append(seat)
            digits += [list(enumerate(s.term for s in sorted(own, key=lambda s: s.kind.id))) for own in starts.values()]
        digits = [digit for digit in digits if digit] or [[]]
        base = 2 + max(map(len, digits))
        together = digits_at_once(base)
        for at in range(0, len(digits), together):
            asked = digits[at : at + together]
            worth = [base**n for n in reversed(range(len(asked)))]
            load = [
                ((rank + 1 - base) * weight, term)
                for weight, digit in zip(worth, asked, strict=True)
                for rank, term in digit
            ]
            if load:
                draft.model.minimize(expression(load))
            status, solver = solve(draft.model, clock)
            if status != "proven":
                return Answer(None, None, NEVER if status == "none" else 0)
            for term in (term for digit in asked for _, term in digit):
                draft.model.add(term == int(solver.boolean_value(term)))
        return Answer(0, self._seating(draft, solver), 0)

    def _clone(self, caps: Caps, listed: Sequence[Seating], usable: frozenset[str] | None, stage: Stage) -> CpDraft:
        """A model of its own that keeps caps and minimises a sum.

        Where anything that keeps the caps will do, that is the sum of most criteria among them: the linear relaxation
        then knows how little room they leave, which makes absence far quicker to prove.
        """
        guide: Stage | None = stage
        if stage in (MARGIN, TIES):
            guide = max((sums for sums, _ in sums_of(caps)), key=len, default=None)
        draft = self._keeping(usable, caps.get(MARGIN, self.survey.refuse_mk), guide).copy()
        for capped, cap in caps.items():
            if capped != MARGIN:
                add(draft.model, self._asked(draft, usable, capped) <= cap)
        self.shared.purchases.hold(draft, cost_within(self.scale, caps))
        for seating in listed:
            exclude(self.survey, draft, seating)
        return draft

    def _numbers_within(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Numbers | None:
        """How many of each card builds within caps can hold; None for any."""
        sums = sums_of(caps)
        if not sums or not self.shared.rough:
            return None
        key = sums, self._concern(listed)
        if key not in self._numbers:
            self._numbers[key] = self._relaxation.numbers(dict(sums), listed, clock)
        return self._numbers[key]

    def held(self, caps: Caps, known: frozenset[str], clock: Clock) -> frozenset[str] | None:
        """The cards that builds within caps can hold and some that are known already: mostly no others.

        None where that takes too long to say.
        """
        for _ in range(ROUNDS):
            draft = self._clone(caps, (), None, MARGIN)
            draft.model.add_bool_or(seat.term for seat in draft.seats() if seat.kind.id not in known)
            status, solver = solve(draft.model, clock, any_will_do=True)
            if status == "none":
                return known
            if status not in ("found", "proven"):
                break
            known |= {seat.kind.id for seat in draft.seats() if solver.boolean_value(seat.term)}
        return None

    def _seating(self, draft: CpDraft, solver: cp_model.CpSolver) -> Seating:
        options: list[Option] = []
        cards: list[tuple[tuple[int, str], ...]] = []
        for site in self.survey.frames:
            chosen = next(o for o, t in draft.choices(site) if isinstance(t, int) or solver.boolean_value(t))
            options.append(chosen)
            cards.append(tuple(sorted((s.slot, s.kind.id) for s in draft.seats(site) if solver.boolean_value(s.term))))
        ends = draft.ends(solver) if len(self.survey.frames) > 1 or self.survey.switched else None
        return Seating(tuple(options), tuple(cards), ends)


def digits_at_once(base: int) -> int:
    """How many digits to a base make numbers below `MOST_AT_ONCE`; one at least."""
    together = 1
    while base ** (together + 1) < MOST_AT_ONCE:
        together += 1
    return together


def margin_of(survey: Survey, seating: Seating) -> int | None:
    """The least cooling margin of a seating in mK."""
    margins = [
        margin
        for site, option, cards in zip(survey.frames, seating.options, seating.cards, strict=True)
        if option is not None
        for _, margin in FrameStanding(
            site,
            BuiltFrame(name=site.name, board=option.board),
            next(board for board in survey.hardware.board if board.id == option.board),
            option,
            tuple(Seated(slot, survey.kinds[card]) for slot, card in cards),
            (),
        ).gap_margins()
    ]
    return min(margins, default=None)


def _order_alike_frames(survey: Survey, draft: CpDraft) -> None:
    """Frames that nothing tells apart are used in order of their names."""
    for group in survey.groups_of_alike_frames():
        for first, second in pairwise(group):
            used = [[(1, t) for _, t in draft.layouts(survey.frames[i])] for i in (first, second)]
            draft.require_at_most(used[1], used[0])


def _usable(numbers: Numbers | None) -> frozenset[str] | None:
    """The cards that there can be; None for any."""
    return None if numbers is None else frozenset(card for card, (_, most) in numbers.items() if most)


def _hold_numbers(draft: CpDraft, numbers: Numbers | None) -> None:
    """Hold as many of each card as there can be, where that is known."""
    if not numbers:
        return
    seats: dict[str, list[tuple[int, Term]]] = {card: [] for card in numbers}
    for seat in draft.seats():
        seats[seat.kind.id].append((1, seat.term))
    for card, (least, most) in numbers.items():
        number = expression(seats[card])
        if least:
            add(draft.model, number >= least)
        if most < len(seats[card]):
            add(draft.model, number <= most)


def _hold_just(draft: CpDraft, counts: Counts) -> None:
    """Hold just so many cards of each kind that begin in some slots of a frame, and no others."""
    asked: list[list[Term]] = [[] for _ in counts]
    places = {(frame, card, slot): n for n, (frame, card, slots, _, _) in enumerate(counts) for slot in slots}
    for seat in draft.seats():
        place = places.get((seat.site.index, seat.kind.id, seat.slot))
        if place is None:
            draft.model.add(seat.term == 0)
        else:
            asked[place].append(seat.term)
    for terms, (_, _, _, least, most) in zip(asked, counts, strict=True):
        number = expression([(1, term) for term in terms])
        add(draft.model, number >= least)
        add(draft.model, number <= most)
