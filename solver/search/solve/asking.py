"""How far a question to a room of several frames has come: what was found, which settings wait, what holds for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from heapq import heappush
from typing import TypeAlias

from solver.search.model.alike import AlikeStatement
from solver.search.model.basis import Option
from solver.search.model.scale import MARGIN, NEVER, TIES, Caps, Stage
from solver.search.model.seating import Seating
from solver.search.solve.clock import Clock
from solver.search.solve.part import Answer

CHOOSING, TRYING = 3.0, 1.0
"""Work to choose settings at first, and to try some at first, in the solver's deterministic seconds."""

Key: TypeAlias = tuple[int, ...]
"""The settings of all frames."""


def key_of(options: Sequence[Option]) -> Key:
    """Settings of all frames as a key."""
    return tuple(0 if option is None else id(option) for option in options)


@dataclass(frozen=True, order=True)
class Trial:
    """Settings that wait to be tried, the bound that is known of them, and work to try them next."""

    bound: int
    work: float
    number: int
    options: tuple[Option, ...] = field(compare=False)

    @property
    def key(self) -> Key:
        """The settings alone."""
        return key_of(self.options)


@dataclass
class Asking:
    """How far a question has come: the best answer, the settings that wait, and what holds for all others."""

    stage: Stage
    caps: Caps
    listed: Sequence[Seating]
    clock: Clock
    cutoff: int | None
    others: int
    """A bound for the settings that do not wait."""

    best: Answer = field(default_factory=lambda: Answer(None, None, 0))
    waiting: list[Trial] = field(default_factory=list)
    level: int | None = None
    """The greatest value with the least cost, while it is not known that nothing has it."""

    room: AlikeStatement | None = None
    known: dict[tuple[int, int], int] = field(default_factory=dict)
    effort: float = CHOOSING
    rough: bool = False
    number: int = 0

    def __post_init__(self) -> None:
        self.rough = self.stage not in (MARGIN, TIES)

    @property
    def enough(self) -> int:
        """Where the bound reaches this, all is known."""
        if self.best.value is not None:
            return self.best.value
        return NEVER if self.cutoff is None or self.stage == MARGIN else self.cutoff + 1

    @property
    def most(self) -> int | None:
        """Greater values are of no interest."""
        return self.cutoff if self.best.value is None else self.best.value - 1

    @property
    def bound(self) -> int:
        """Nothing that may still be found is less."""
        return min([self.others, *(trial.bound for trial in self.waiting[:1])])

    @property
    def ready(self) -> bool:
        """Whether settings that wait come first: they promise no less than others, or are soon asked at the outset."""
        if not self.waiting:
            return False
        first = self.waiting[0]
        if self.stage == MARGIN and self.room is None and first.work == TRYING:
            return True
        return -NEVER < self.others >= first.bound

    def none_below(self, bound: int) -> None:
        """What holds for all settings."""
        self.others = max(self.others, bound)
        self.waiting = [replace(trial, bound=max(trial.bound, bound)) for trial in self.waiting]

    def wait(self, options: tuple[Option, ...], bound: int, work: float) -> None:
        """Let settings wait."""
        self.number += 1
        heappush(self.waiting, Trial(bound, work, self.number, options))
