"""What is asked of a campus: the least of a criterion under caps, with every allotment seated.

What a room of a group can be built of is never listed whole: at prices for every item each group is asked for its
cheapest allotment, the purse takes fractions of the allotments known and sets new prices, until no group has a cheaper
one. Every pricing gives a bound in exact integers (Lagrange). Then allotments are taken whole; where a gap to the bound
remains, all allotments within the gap are added, which closes it. Every allotment that is taken is seated slot by slot;
one that cannot be is struck out, and its group is modelled slot by slot from then on.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import repeat
from math import ceil

from solver.judge.campus import (
    Campus,
)
from solver.search.campus.group import NOTHING, Group, nature
from solver.search.campus.purse import SCALE, UNBUILT, Prices, Purse, Question, Relaxation, State, Whole, whole
from solver.search.model.allotment import Allotment, Found, Weights
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock

EFFORT = 60.0
"""How long the whole allotments may be searched, in the solver's own deterministic seconds."""

FIRST_WITHIN_GAP = 20
"""So many allotments of a group are listed at first: the better value that they may give narrows the gap."""

MOST_WITHIN_GAP = 60
"""Up to so many allotments of one group are listed to close a gap; of more the room itself is stated."""

FRACTION = 1e-6
"""Values of the relaxation are equal if they differ by less than this."""

Progress = Callable[[str, int | None, int | None], None]
"""Told the stage, the best value and the bound, in the criterion's unit; None for what is not known."""


@dataclass(frozen=True)
class Taken:
    """Which allotment each group's rooms take: pairs of how many rooms and the allotment, with its seats."""

    groups: tuple[tuple[tuple[int, Allotment, Seating], ...], ...]


@dataclass(frozen=True)
class Outcome:
    """The answer to a question: the least value found, what it cannot fall below, and who takes what."""

    value: int | None
    bound: int | None
    taken: Taken | None

    @property
    def proven(self) -> bool:
        """Whether the value is the least; or, without one, whether there is none."""
        return self.bound is None if self.value is None else self.value == self.bound


OPEN = Outcome(None, -(10**18), None)
"""Nothing found, nothing proven."""

NONE = Outcome(None, None, None)
"""Proven that there is none."""


@dataclass(frozen=True)
class _Priced:
    """What prices came to: a bound with the prices that gave it, after so many; or what ends the question at once."""

    bound: int
    best: tuple[Prices, list[int]] | None
    asked: int
    outcome: Outcome | None = None


def _least(group: Group, weights: Weights, margin_mk: int, dear: int, clock: Clock) -> Found:
    return group.least(weights, margin_mk, dear, clock)


class Questions:
    """What the groups of like rooms and the purse are asked together."""

    def __init__(
        self, campus: Campus, purse: Purse, clock: Clock, threads: ThreadPoolExecutor, progress: Progress
    ) -> None:
        self.purse = purse
        self.clock = clock
        self.threads = threads
        self.progress = progress
        by_nature: dict[str, list[int]] = {}
        for index, survey in enumerate(campus.rooms):
            by_nature.setdefault(nature(survey), []).append(index)
        self.groups = [Group(campus.rooms, rooms) for _, rooms in sorted(by_nature.items())]
        self.counts = [len(group.rooms) for group in self.groups]

    def ask(self, question: Question, rounds: int | None = None) -> Outcome:
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

    def _take(self, question: Question, bound: int, best: tuple[Prices, list[int]] | None) -> Outcome:
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
            return Outcome(None, self._shown(question, bound), None)
        self._tell(question, found.value, bound)
        value, reached = (self._shown(question, each) for each in (found.value, bound))
        return Outcome(value, reached, self._seat(question, found.taken))

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

    def _seat(self, question: Question, taken: Sequence[Sequence[tuple[int, Allotment]]]) -> Taken | None:
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
        return Taken(tuple(tuple((n, a, s) for n, a, s, _ in own if s is not None) for own in seated))
