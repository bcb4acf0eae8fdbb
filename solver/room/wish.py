"""What somebody could change about a scenario: a wish, and how far it gives way.

Each kind of wish is a class of its own, beside the rule whose limits it stands behind, or in `solver/relax/` where it
loosens no limit. It says what kind of work it is, how it is told and how the scenario's document is changed.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Hashable, Iterator, Mapping, MutableMapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, ClassVar, Self, get_args

from solver.room.build import Build
from solver.room.message import Message, Said, Unit
from solver.room.survey import Survey
from solver.room.words import Work

WORKS: tuple[Work, ...] = get_args(Work)
"""Kinds of work, the least first."""

LID_ON: frozenset[Work] = frozenset(WORKS[:3])
"""Work for which no frame is opened; a card that is bought has to be seated."""

Document = MutableMapping[str, Any]
"""A scenario or a room of it: parsed TOML or the like."""


@dataclass(frozen=True)
class Wish(ABC):
    """One thing of a scenario that somebody could change. Its fields say which one."""

    sort: ClassVar[str]
    """Our own word for its kind; documents name it so."""
    order: ClassVar[int]
    """Its place among kinds of wishes: what costs least to change gives way first."""
    work: ClassVar[Work]
    """The kind of work that it means when it gives way."""
    unit: ClassVar[Unit | None] = None
    """What its amount counts; None where it only can be kept or not, or counts whole kelvin or per cent."""
    guessed: ClassVar[bool] = False
    """Whether models in which it may give way know by how much."""
    at_once: ClassVar[bool] = False
    """Whether all its limits give way by one amount, where it has several."""
    unmeasured: ClassVar[bool] = False
    """Whether it gives way in those as far as it may."""

    @property
    def rank(self) -> tuple[object, ...]:
        """For sorting wishes."""
        parts = (getattr(self, own.name) for own in fields(self))
        return self.order, *((0, part) if isinstance(part, int) else (1, part) for part in parts)

    @property
    def item(self) -> str | None:
        """The card, chassis or board of which more is wanted."""
        return None

    @property
    def any_slot(self) -> tuple[Self, int] | None:
        """The same of no slot in particular, and its slot, where another slot would often do as well."""
        return None

    def most(self, survey: Survey) -> int:
        """How far it may give way."""
        return 1

    @abstractmethod
    def path(self, survey: Survey) -> list[str | int]:
        """Where the scenario file says it."""

    @abstractmethod
    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        """Make a change of it in a scenario's document; `room` is its part about the room, `number` writes decimals."""

    @abstractmethod
    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        """A change of it with its amount; `instead` names slots of which any would do as well."""

    @abstractmethod
    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        """What the scenario says before and after a change of it."""

    def work_of(self, change: Change) -> Work:
        """The kind of work that a change of it means."""
        return self.work

    def settled(self, change: Change, build: Build) -> Change:
        """A change of it with what a build of the changed scenario chose where anything would do."""
        return change

    def instead(self, survey: Survey, after: Survey) -> Iterator[Change]:
        """Changes of it that say what takes its place, the nearest first, where that is worth saying.

        `after` is the room when a way out is gone, anything in its place.
        """
        return iter(())

    def is_taken(self, change: Change, build: Build) -> bool:
        """Whether a build of the changed scenario makes use of it."""
        return True

    def stands_for(self, change: Change) -> Hashable | None:
        """Of several ways out that stand for the same only the first is told; None for any that stands for itself."""
        return None


class LimitWish(Wish):
    """A wish behind a limit: what it asks for may be one of several things that cannot all be kept."""

    @abstractmethod
    def kept(self, survey: Survey) -> Message:
        """What it asks for."""

    @classmethod
    def kept_together(cls, survey: Survey, wishes: Sequence[Self]) -> list[tuple[list[Self], Message]]:
        """What several of them ask for; those that say the same of several slots or items may be told as one."""
        return [([wish], wish.kept(survey)) for wish in wishes]


class SharedWish(LimitWish):
    """A wish behind a limit that several rooms keep together."""

    @abstractmethod
    def lifted(self, survey: Survey) -> Survey:
        """The room as if there were no such limit."""


@dataclass(frozen=True)
class Change:
    """One wish and how far it gives way.

    `amount` counts what the wish counts; what can only be kept or not gives way by 1. `choice` is what is taken in its
    place: a setting, None for any; a sample rate in hertz; a board; by how much numbers move. `dearer_nearer` says that
    a choice nearer to what was asked for would do, and cost more.
    """

    wish: Wish
    amount: int = 1
    choice: str | int | None = None
    dearer_nearer: bool = False

    @property
    def work(self) -> Work:
        """The kind of work that it means."""
        return self.wish.work_of(self)


def room_path(survey: Survey) -> list[str | int]:
    """Where a scenario file says what it says of a room."""
    rooms = [room.name for room in survey.scenario.room]
    return ["room", rooms.index(survey.room)] if survey.room in rooms else []


def frame_in(room: Mapping[str, Any], name: str) -> Any:
    """A frame in a room's document."""
    return next(frame for frame in room["frame"] if frame["name"] == name)
