"""What a rule of racks is: limits as data, a reading of a placement, and the same said to the search."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, ClassVar, Protocol

from solver.racks.pieces import Piece, RackStand

Term = Any
"""A quantity of the search: a decision variable that only the draft can read."""
Load = Sequence[tuple[int, Term]]
"""A weighted sum of terms."""


@dataclass(frozen=True, slots=True)
class RackLimit:
    """One instance of one rule, about some things in a rack.

    It is kept when what is used is at most `bound`, or at least, if `at_least`. `give` is how far it may be loosened
    in a way out, 0 where it never is. Units are U, um, g, mW, or "g U/2" for a weight times half units.
    """

    rule: str
    about: tuple[str, ...]
    bound: int
    unit: str
    at_least: bool = False
    give: int = 0

    def kept_by(self, used: int) -> bool:
        """Whether an amount keeps the limit."""
        return used >= self.bound if self.at_least else used <= self.bound


@dataclass(frozen=True)
class Placement:
    """The lowest unit of each thing that has a place in a rack, which may have `more` units than the file says."""

    stand: RackStand
    at: Mapping[str, int]
    more: int = 0

    def units(self, name: str) -> range:
        """The units that a thing takes; none where it has no place."""
        if name not in self.at:
            return range(0)
        return range(self.at[name], self.at[name] + self.stand.by_name[name].height_u)

    @cached_property
    def taken(self) -> Mapping[int, list[str]]:
        """What is in each unit that is not free."""
        found: dict[int, list[str]] = {}
        for name in sorted(self.at):
            for unit in self.units(name):
                found.setdefault(unit, []).append(name)
        return found

    def free(self, unit: int) -> bool:
        """Whether a unit is one of the rack's, with nothing in it."""
        return 1 <= unit <= self.stand.rack.units + self.more and unit not in self.taken

    def middle(self, name: str) -> int:
        """How high the middle of a thing is above the foot of unit 1, in half units."""
        units = self.units(name)
        return units[0] + units[-1] - 1

    @property
    def placed(self) -> list[Piece]:
        """What has a place, by name."""
        return [piece for piece in self.stand.pieces if piece.name in self.at]


class RackDraft(Protocol):
    """What rules and criteria say to the search. A thing that is taken out has no place, and all its terms are 0."""

    stand: RackStand

    def places(self, piece: Piece) -> Sequence[tuple[int, Term]]:
        """The lowest units that a thing may have, and the terms that say which it has."""

    def covering(self, piece: Piece, unit: int) -> Sequence[Term]:
        """The terms of the places in which a thing takes a unit."""

    def free(self, unit: int) -> Term:
        """Whether nothing is in a unit."""

    def below(self, one: Piece, other: Piece) -> Term:
        """Whether one thing stands below another one; may be 1 where it does not."""

    def hold(self, limit: RackLimit, load: Load, bound: int | None = None) -> None:
        """A weighted sum of terms is at most the limit's bound and what it gives, or at most another bound."""

    def within(self, load: Load) -> None:
        """A weighted sum of terms is at most the units of the rack."""

    def apart(self, run: tuple[Piece, Piece], limit: RackLimit, most: int) -> None:
        """The middles of two things are at most so many micrometres apart, and what the limit gives."""

    def gives(self, limit: RackLimit, amount: int) -> Term:
        """1 only where the limit gives so much or more; 0 where it gives nothing."""


class RackRule(ABC):
    """One rule of racks. Both halves share the limit and nothing else."""

    code: ClassVar[str]
    work: ClassVar[int] = 0
    """How much work a way out by this rule is beside the others: the least first."""

    @abstractmethod
    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        """Every limit of the rule in a rack."""

    @abstractmethod
    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        """What a placement uses of a limit; None where what it is about has no place."""

    @abstractmethod
    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        """The same for the search."""

    @abstractmethod
    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        """How a broken limit is told."""

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        """How a limit is told that is part of a clash; rules that never give way have no words for it."""
        raise NotImplementedError

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        """How it is told that a limit gives way by an amount; rules that never do have no words for it."""
        raise NotImplementedError
