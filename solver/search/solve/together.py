"""A room of several frames as one question: settings are chosen for all frames at once, then each choice is tried.

A model that counts alike frames together (`model/alike.py`) gives bounds and the settings that reach them; what these
settings can really do is asked of a model of their own over runs (`several.py`), which seats each frame. Settings that
have been asked are kept out from then on, and what is known of them is remembered: they are asked again where nothing
else can be better.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from heapq import heappop
from itertools import combinations_with_replacement, product
from math import ceil, comb, prod
from typing import Any

from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.search.model.alike import AlikeStatement, Given
from solver.search.model.basis import Option
from solver.search.model.cpsat import cp_model
from solver.search.model.options import all_options, numbers_enough
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage, no_tighter, sums_of
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.solve.asking import CHOOSING, TRYING, Asking, Key, key_of
from solver.search.solve.bought import Purchase, cost_within
from solver.search.solve.clock import Clock
from solver.search.solve.cuts import Known
from solver.search.solve.part import Answer, Part, Shared, digits_at_once
from solver.search.solve.priced import Priced
from solver.search.solve.several import Several, over_runs
from solver.search.solve.solving import hint, solve, solve_relaxed

FEW_MODELS = 64
"""Up to so many combinations of settings are asked slot by slot, each in a model of its own."""

MOST_CLASSES = 4000
"""Up to so many classes are counted, of all frames that nothing but their names tells apart."""

FEW_ASKED, MOST_ASKED = 200, 1000
"""Up to so many combinations of settings are asked one by one, once it is known what can be bought: few at once, more
where the counting model does not soon know the least."""

FEW_PRICED, MOST_PRICED = 40, 5000
"""Of more than so few combinations prices tell first which cannot keep sums; of more than so many nothing does."""


def together(survey: Survey, kinds: Sequence[Kind], shared: Shared) -> Together | None:
    """The model of a room of several frames; None where it is better asked slot by slot."""
    every = all_options(survey)
    if not over_runs(survey) or prod(map(len, every)) <= FEW_MODELS:
        return None
    classes = sum(
        prod(2 + len({block.width for block in layout.blocks(d)}) for d in ("in", "out"))
        for group in survey.groups_of_alike_frames()
        for layout in survey.frames[group[0]].candidates
    )
    return Together(survey, every, kinds, shared) if classes <= MOST_CLASSES else None


@dataclass(frozen=True)
class _Choice:
    """What the counting model says: a bound for all settings not kept out, and what it would choose."""

    bound: int
    value: int | None = None
    frames: tuple[Given | None, ...] = ()

    @property
    def options(self) -> tuple[Option, ...]:
        """The layout of each frame."""
        return tuple(None if own is None else own.layout for own in self.frames)


class Together(Part):
    """All settings of all frames."""

    spare = 500

    def __init__(
        self, survey: Survey, options: Sequence[Sequence[Layout | None]], kinds: Sequence[Kind], shared: Shared
    ) -> None:
        super().__init__(survey, options, kinds, shared)
        self._statements: dict[int, AlikeStatement] = {}
        self._tied: dict[int, tuple[AlikeStatement, Any]] = {}
        self._tried: dict[Key, tuple[tuple[Option, ...], Several]] = {}
        self.purchases = shared.purchases
        self._known = Known()
        self._hopeless: dict[tuple[tuple[Stage, int], ...], set[Key]] = {}

    def unasked(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> bool:
        """The counting model itself gives the first bound."""
        return False

    def minimise(
        self,
        stage: Stage,
        caps: Caps,
        listed: Sequence[Seating],
        clock: Clock,
        cutoff: int | None = None,
        effort: float | None = None,
    ) -> Answer:
        """As any model does."""
        if clock.over:
            return Answer(None, None, self.lower(stage, caps))
        return self._remember(stage, caps, self._search(stage, caps, listed, clock, cutoff))

    def at_once(self, stage: Stage, clock: Clock, choosing: float, trying: float) -> Iterator[Seating]:
        """What the settings can do that the counting model chooses for the first criterion of a stage.

        Parameters
        ----------
        choosing, trying
            Work to choose the settings and for each try to seat something, in the solver's deterministic seconds.
        """
        room = self._statement(self.survey.refuse_mk)
        choice = self._choose(room, stage, {}, clock, choosing, None, {}, rough=True, lists=False)
        if choice.value is not None:
            yield from self._of(choice.options).soon(stage, choice.bound, clock, trying)

    # Choosing settings

    def _statement(self, margin_mk: int) -> AlikeStatement:
        if margin_mk not in self._statements:
            room = AlikeStatement(
                self.survey,
                self.options,
                self.kinds,
                self.shared.limits,
                margin_mk=margin_mk,
                neighbours=margin_mk > self.survey.refuse_mk,
            )
            room.cost()
            self._statements[margin_mk] = room
        return self._statements[margin_mk]

    def _with_ties(self, margin_mk: int) -> tuple[AlikeStatement, Any]:
        if margin_mk not in self._tied:
            room = self._statement(margin_mk).copy()
            self._tied[margin_mk] = room, expression(room.ties())
        return self._tied[margin_mk]

    def _kept(self, caps: Caps, clock: Clock, *, tied: bool) -> AlikeStatement:
        margin_mk = caps.get(MARGIN, self.survey.refuse_mk)
        room = (self._with_ties(margin_mk)[0] if tied else self._statement(margin_mk)).copy()
        for stage, cap in caps.items():
            if stage != MARGIN:
                add(room.model, sum(self._goals(room, stage, caps)) <= cap)
        self._hold_to_purchases(room, cost_within(self.scale, caps), clock)
        return room

    def purchases_within(
        self, cost: int, clock: Clock, found: cp_model.CpSolver | None = None
    ) -> Sequence[Purchase] | None:
        """Every list of what can be bought within a cost; None where they are many or not known.

        `found` has a solution at that cost of a copy of the counting model, without a margin to keep.
        """
        return self.purchases.find(self._statement(self.survey.refuse_mk), cost, clock, found)

    def _hold_to_purchases(self, room: AlikeStatement, cost: int | None, clock: Clock) -> None:
        if cost is not None:
            self.purchases_within(cost, clock)
            self.purchases.hold(room, cost)

    def _goals(self, room: AlikeStatement, stage: Stage, caps: Caps) -> list[Any]:
        """What a stage minimises: its criteria one after the other."""
        if stage == TIES:
            return [self._with_ties(caps.get(MARGIN, self.survey.refuse_mk))[1]]
        units = self.scale.units
        return [
            expression([(weight * amount // units.get(name, 1), term) for amount, term in room.criterion(name)])
            for name, weight in self.scale.weights(stage)
        ]

    def _choose(
        self,
        room: AlikeStatement,
        stage: Stage,
        caps: Caps,
        clock: Clock,
        effort: float,
        most: int | None,
        known: dict[tuple[int, int], int],
        *,
        rough: bool = False,
        lists: bool = True,
    ) -> _Choice:
        """The least that the counting model knows of a stage.

        Parameters
        ----------
        most
            Greater values are of no interest.
        known
            What each criterion cannot fall below, by its place and the sum of those before it.
        rough
            Whether the first criterion alone is minimised, so that something is found soon.
        lists
            Whether to find out what can be bought for the least cost, once that is known.
        """
        room = room.copy()
        model = room.model
        goals = [] if stage == MARGIN else self._goals(room, stage, caps)
        moving = [goal for goal in goals if not isinstance(goal, int)]
        settled = sum(goal for goal in goals if isinstance(goal, int))
        bound = max(settled, self.lower(stage, caps))
        if not moving:
            status, solver = solve_relaxed(model, clock, effort, any_will_do=True)
            if status == "none" or (most is not None and settled > most):
                return _Choice(NEVER)
            found = status in ("found", "proven")
            return _Choice(settled, settled, room.given(solver)) if found else _Choice(settled)
        choice = _Choice(bound)
        for place, goal in enumerate(moving):
            last = goal is moving[-1]
            least = bound - settled if last else self._first_of(stage, bound) if not place else 0
            model.add(goal >= max(known.get((place, settled), 0), least))
            if most is not None:
                model.add(goal <= most - settled)
            model.minimize(goal)
            status, solver = solve_relaxed(model, clock, effort)
            if status == "none":
                return _Choice(NEVER if most is None else most + 1)
            if status in ("found", "proven"):
                value = sum(g if isinstance(g, int) else solver.value(g) for g in goals)
                choice = _Choice(bound, value, room.given(solver))
                hint(model, solver)
            if status != "late":
                # What follows is never below nothing.
                known[place, settled] = max(0, ceil(solver.best_objective_bound - 1e-6))
                bound = max(bound, settled + known[place, settled])
            if status != "proven":
                break
            settled += solver.value(goal)
            model.add(goal <= solver.value(goal))
            if lists and goal is goals[0] and stage[0] == "cost" and len(goals) > 1:
                cost = self.scale.split(stage, settled)["cost"]
                self.purchases_within(cost, clock, solver if MARGIN not in caps else None)
                self._hold_to_purchases(room, cost, clock)
            if rough:
                break
        return replace(choice, bound=bound)

    def _first_of(self, stage: Stage, bound: int) -> int:
        """What the first criterion of a stage adds to a bound at least."""
        _, weight = self.scale.weights(stage)[0]
        return bound - bound % weight

    # Trying settings

    def _of(self, options: Sequence[Option]) -> Several:
        key = key_of(options)
        if key not in self._tried:
            room = Several(self.survey, [[option] for option in options], self.kinds, self.shared, self._known)
            self._tried[key] = tuple(options), room
        return self._tried[key][1]

    def _search(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None) -> Answer:
        """The least of a stage: of all settings those first that may reach the bound."""
        asking = Asking(stage, caps, listed, clock, cutoff, self.lower(stage, caps))
        for options, own in self._tried.values():
            if own.may_keep(caps):
                asking.wait(options, own.lower(stage, caps), TRYING)
        while True:
            bound = max(self.lower(stage, caps), asking.bound)
            if bound >= asking.enough:
                return replace(asking.best, bound=asking.enough)
            if clock.over:
                return replace(asking.best, bound=bound)
            answer = self._try_next(asking, bound) if asking.ready else self._ask_others(asking)
            if answer.value is not None and (asking.best.value is None or answer.value < asking.best.value):
                asking.best = answer
                if stage == MARGIN:
                    return answer

    def _try_next(self, asking: Asking, bound: int) -> Answer:
        """Ask the most promising of the settings that wait; what remains open of them waits on."""
        trial = heappop(asking.waiting)
        least, most = max(bound, trial.bound), asking.most
        if asking.best.value is not None and asking.stage != TIES:
            # Settings that do no better than equal the best are told from those that are worse.
            most = asking.best.value
        if asking.level is not None and trial.bound <= asking.level:
            most = asking.level if most is None else min(most, asking.level)
        answer = self._ask(self._of(trial.options), asking, least, most, trial.work)
        if answer.bound < (NEVER if answer.value is None else answer.value):
            work = TRYING if answer.bound > trial.bound else 4 * trial.work
            asking.wait(trial.options, max(trial.bound, answer.bound), work)
        return answer

    def _ask(self, own: Several, asking: Asking, least: int, most: int | None, work: float) -> Answer:
        """What some settings can do; what cannot even keep the sums is left out of all that follows."""
        stage, caps, listed, clock = asking.stage, asking.caps, asking.listed, asking.clock
        sums = dict(sums_of(caps))
        kept_before = [own.final(MARGIN, sums, ()), *(own.final(s, {}, ()) for s in sums if len(sums) == 1)]
        if sums and len(sums) < len(caps) and not any(kept_before):
            kept = own.minimise(MARGIN, sums, (), clock, None, work)
            if kept.bound >= NEVER:
                return kept
        if asking.best.value is None:
            return own.tried(stage, caps, listed, clock, least, most, work)
        return own.minimise(stage, caps, listed, clock, most, work)

    def _ask_others(self, asking: Asking) -> Answer:
        """Let all settings wait where they are few and purchases are known; else choose some that promise."""
        stage, caps, clock = asking.stage, asking.caps, asking.clock
        known = stage in (MARGIN, TIES) or asking.effort > CHOOSING
        few = self._number <= (MOST_PRICED if cost_within(self.scale, caps) is not None else MOST_ASKED)
        few = few if known else self._number <= FEW_ASKED
        if few and (self._list(asking) or self._next_level(asking)):
            return Answer(None, None, 0)
        if asking.room is None:
            asking.room = self._kept(caps, clock, tied=stage == TIES or TIES in caps)
            for options, _ in self._tried.values():
                asking.room.keep_out(options)
        rough = asking.rough
        choice = self._choose(asking.room, stage, caps, clock, asking.effort, asking.most, asking.known, rough=rough)
        asking.others = max(asking.others, choice.bound)
        if not rough and (choice.value is None or choice.bound < choice.value):
            asking.effort *= 2
        asking.rough = False
        if choice.value is None:
            return Answer(None, None, 0)
        answer = self._of(choice.options).as_given(
            stage, caps, asking.listed, clock, choice.frames, choice.value, TRYING
        )
        if answer.value is None and not rough:
            asking.room.keep_out(choice.options)
            asking.wait(choice.options, choice.bound, TRYING)
        return answer

    @cached_property
    def _number(self) -> int:
        """How many combinations of settings there are."""
        return prod(comb(len(self.options[group[0]]) + len(group) - 1, len(group)) for group in self._groups)

    @cached_property
    def _groups(self) -> list[list[int]]:
        return [list(group) for group in self.survey.groups_of_alike_frames()]

    def _list(self, asking: Asking) -> bool:
        """Let all settings wait that may reach the cost which is known to be the least; whether that cost is known."""
        cost, level = cost_within(self.scale, asking.caps), None
        if cost is None:
            if asking.stage[0] != "cost" or asking.others <= 0:
                return False
            cost = self.scale.split(asking.stage, asking.others)["cost"]
            level = self.scale.most_with_first(asking.stage, asking.others)
        if not self.purchases.are_known(cost) or (level is not None and asking.others > level):
            return False
        left = self._left(asking.caps, asking.clock)
        if left is None:
            return False
        waiting = {trial.key for trial in asking.waiting}
        for options in left:
            if key_of(options) not in waiting:
                asking.wait(options, max(asking.others, self._of(options).lower(asking.stage, asking.caps)), TRYING)
        asking.others, asking.level = NEVER if level is None else level + 1, level
        return True

    def _left(self, caps: Caps, clock: Clock) -> Sequence[tuple[Option, ...]] | None:
        """The settings that may keep caps by all that is known; None where they are too many to be asked one by one."""
        if self._number > MOST_PRICED:
            return None
        choices = [
            (key_of(options), options)
            for options in self._every_choice()
            if (key := key_of(options)) not in self._tried or self._tried[key][1].may_keep(caps)
        ]
        sums = sums_of(caps)
        if sums and len(choices) > FEW_PRICED and sums not in self._hopeless:
            priced = Priced(self._kept(dict(sums), clock, tied=False), clock)
            self._hopeless[sums] = priced.hopeless(options for _, options in choices)
        never = {key for own, keys in self._hopeless.items() if no_tighter(dict(own), caps) for key in keys}
        left = [options for key, options in choices if key not in never]
        return left if len(left) <= MOST_ASKED else None

    def _next_level(self, asking: Asking) -> bool:
        """Where all settings wait and none reaches the least cost: the next one; whether all wait."""
        if asking.level is None:
            return False
        stage, caps, clock = asking.stage, asking.caps, asking.clock
        known = {(0, 0): self._first_of(stage, asking.others)}
        room = self._kept(caps, clock, tied=False)
        choice = self._choose(room, stage, caps, clock, CHOOSING, asking.most, known, rough=True)
        asking.none_below(choice.bound)
        if not self._list(asking):
            asking.others, asking.level = NEVER, None
        return True

    def _every_choice(self) -> Iterator[tuple[Option, ...]]:
        """All settings, alike frames with theirs in order."""
        own = [combinations_with_replacement(self.options[group[0]], len(group)) for group in self._groups]
        for chosen in product(*own):
            frames = {
                i: option
                for group, options in zip(self._groups, chosen, strict=True)
                for i, option in zip(group, options, strict=True)
            }
            if numbers_enough(self.survey, [*frames.values()]):
                yield tuple(frames[site.index] for site in self.survey.frames)

    # Ties

    def first(self, caps: Caps, listed: Sequence[Seating], clock: Clock) -> Answer:
        """The first layouts in order, as counted and tried, then slot by slot with those layouts."""
        cost = cost_within(self.scale, caps)
        left = self._left(caps, clock) if cost is not None and self.purchases.are_known(cost) else None
        if left is not None:
            return self._first_of_few(left, caps, listed, clock)
        room = self._kept(caps, clock, tied=True)
        for options, own in self._tried.values():
            if not own.may_keep(caps):
                room.keep_out(options)
        frames = room.layouts_by_frame
        base = max(map(len, frames)) + 1
        together = digits_at_once(base)
        chosen: tuple[Option, ...] = ()
        for at in range(0, len(frames), together):
            asked = frames[at : at + together]
            room.model.minimize(
                expression(
                    [
                        (rank * base ** (len(asked) - 1 - n), term)
                        for n, own in enumerate(asked)
                        for rank, (_, term) in enumerate(own)
                    ]
                )
            )
            while True:
                status, solver = solve(room.model, clock)
                if status != "proven":
                    return Answer(None, None, NEVER if status == "none" else 0)
                chosen = tuple(None if own is None else own.layout for own in room.given(solver))
                answer = self._of(chosen).minimise(MARGIN, caps, listed, clock)
                if answer.seating is not None:
                    break
                if answer.bound < NEVER:
                    return Answer(None, None, 0)
                room.keep_out(chosen)
            for _, term in (entry for own in asked for entry in own):
                room.model.add(term == solver.value(term))
        return self._of(chosen).first(caps, listed, clock)

    def _first_of_few(
        self, choices: Sequence[tuple[Option, ...]], caps: Caps, listed: Sequence[Seating], clock: Clock
    ) -> Answer:
        """The same, of all settings that are left, in order."""
        ranks = [{id(option): n for n, option in enumerate(own)} for own in self.options]

        def order(options: tuple[Option, ...]) -> list[int]:
            return [own[id(option)] for own, option in zip(ranks, options, strict=True)]

        for options in sorted(choices, key=order):
            own = self._of(options)
            if own.may_keep(caps):
                answer = own.minimise(MARGIN, caps, listed, clock)
                if answer.seating is not None:
                    return own.first(caps, listed, clock)
                if answer.bound < NEVER:
                    return Answer(None, None, 0)
        return Answer(None, None, NEVER)
