"""Changes that loosen no limit, each of which is tried alone."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Collection, Iterator
from typing import ClassVar

from solver.room.survey import Survey
from solver.room.wish import Change, Wish


class OtherWish(Wish):
    """A wish behind no limit."""

    words: ClassVar[str]
    """What was tried, in words."""

    @classmethod
    @abstractmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        """Every change of it that may make a room possible; wishes of `fixed` do not give way."""
