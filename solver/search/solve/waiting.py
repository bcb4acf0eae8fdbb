"""Who waits to be asked for the least of a stage: the most promising first, bundles parted where they may hold it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from heapq import heappop, heappush

from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage
from solver.search.model.seating import Seating
from solver.search.solve.bundle import Bundle
from solver.search.solve.clock import Clock
from solver.search.solve.part import EFFORT, Answer, Part

WITHIN = 0.1
"""Work that it is worth to look for what is as good as a bound but for the last criteria, in deterministic seconds."""


class Turn(IntEnum):
    """What a model is asked in turn, until that settles it; bundles are parted.

    A first bound, something that meets it, what is as good in the first criterion, the least value.
    """

    BOUND, MEET, PART, WITHIN, LEAST = range(5)


AFTER = {Turn.BOUND: Turn.MEET, Turn.MEET: Turn.WITHIN, Turn.WITHIN: Turn.LEAST}
"""What is asked next where that does not settle it."""


@dataclass(frozen=True, order=True)
class Question:
    """What is asked of a model next, and the bound that is known before.

    Of equals the least `size` comes first: the model with the greatest capacity, the bundle that is soon parted.
    """

    bound: int
    turn: Turn
    size: int
    effort: float | None
    index: int

    def again(self, bound: int, *, one_frame: bool) -> Question:
        """The next turn with what has been learnt; after the last one more effort."""
        if self.turn == Turn.LEAST:
            return replace(self, bound=bound, effort=None if self.effort is None else self.effort * 4)
        return replace(self, bound=bound, turn=AFTER[self.turn] if one_frame or self.turn == Turn.BOUND else Turn.LEAST)


@dataclass
class Waiting:
    """Models and bundles that wait to be asked for the least of a stage, and the best answer so far."""

    stage: Stage
    caps: Caps
    listed: Sequence[Seating]
    clock: Clock
    workers: int
    rough: bool
    one_frame: bool
    nodes: list[Bundle | Part] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    best: Answer | None = None

    def add(self, more: Sequence[Bundle | Part]) -> None:
        """Have some wait; what is known of them already is an answer."""
        alive = [node for node in more if node.may_keep(self.caps)]
        alone = not self.nodes and len(alive) == 1 and isinstance(alive[0], Part)
        sums = self.stage not in (MARGIN, TIES)
        for node in alive:
            known = node.final(self.stage, self.caps, self.listed)
            if known is not None:
                self.better(known)
                continue
            bound, index = node.lower(self.stage, self.caps), len(self.nodes)
            unasked = sums and (isinstance(node, Bundle) or self.rough)
            unasked = unasked and node.unasked(self.stage, self.caps, self.listed)
            if isinstance(node, Bundle):
                question = Question(bound, Turn.BOUND if unasked else Turn.PART, len(node.layouts), None, index)
            else:
                met = sums and self.rough and self.one_frame and bound > -NEVER
                turn = Turn.BOUND if unasked else Turn.MEET if met else Turn.LEAST
                effort = None if alone else EFFORT
                question = Question(bound, turn, -node.capacity if sums else 0, effort, index)
            self.nodes.append(node)
            heappush(self.questions, question)

    def better(self, answer: Answer) -> bool:
        """Whether an answer is the best so far; it is kept then."""
        better = answer.value is not None and (self.best is None or answer.value < (self.best.value or 0))
        if better:
            self.best = answer
        return better

    def next_ones(self) -> list[Question]:
        """What is asked next: of each worker something, while it may better the best. Bundles are parted here."""
        asked: list[Question] = []
        while self.questions and len(asked) < self.workers:
            if self.best is not None and self.questions[0].bound >= (self.best.value or 0):
                break
            question = heappop(self.questions)
            node = self.nodes[question.index]
            if question.turn == Turn.PART and isinstance(node, Bundle) and not self.clock.over:
                self.add(node.within)
            else:
                asked.append(question)
        return asked

    def again(self, question: Question, bound: int) -> None:
        """Have one wait again with what has been learnt."""
        node = self.nodes[question.index]
        more = bound > question.bound and node.unasked(self.stage, self.caps, self.listed)
        if question.turn == Turn.BOUND and more:
            heappush(self.questions, replace(question, bound=bound))
        elif isinstance(node, Bundle):
            heappush(self.questions, replace(question, bound=bound, turn=Turn.PART))
        else:
            heappush(self.questions, question.again(bound, one_frame=self.one_frame))

    def ask(self, hoped: int | None, cutoff: int | None, question: Question) -> Answer:
        """Ask a model; what is dearer than the cutoff is of no interest, what is dearer than hoped needs no bound."""
        node, stage, caps, listed = self.nodes[question.index], self.stage, self.caps, self.listed
        if question.turn == Turn.BOUND:
            return node.relaxed(stage, caps, listed, self.clock, hoped)
        if isinstance(node, Bundle):
            return Answer(None, None, question.bound)
        if question.turn == Turn.MEET:
            return node.meet(stage, caps, listed, self.clock, question.effort)
        if question.turn == Turn.WITHIN:
            return node.within(stage, caps, listed, self.clock, WITHIN)
        return node.minimise(stage, caps, listed, self.clock, cutoff, question.effort)
