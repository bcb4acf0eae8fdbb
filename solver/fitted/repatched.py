"""What becomes of the channels of a build whose lines fail, or whose cards change."""

from __future__ import annotations

from dataclasses import dataclass

from solver.fitted.moves import Spot
from solver.room.survey import Need


@dataclass(frozen=True, slots=True)
class Repatch:
    """A need's channel that was served: where it was, and where it is then; None where it is lost."""

    need: Need
    channel: int
    before: Spot
    after: Spot | None

    @property
    def spare(self) -> bool:
        """Whether it is one of those to spare."""
        return self.channel > self.need.channels

    @property
    def moved(self) -> bool:
        """Whether it has another number, or none."""
        was, is_ = self.before, self.after
        return is_ is None or (was.frame, was.number) != (is_.frame, is_.number)


@dataclass(frozen=True)
class Repatched:
    """Every channel that was served, need by need.

    `proven`: no way loses less, and none that loses as little moves fewer.
    """

    channels: tuple[Repatch, ...]
    proven: bool

    @property
    def moved(self) -> list[Repatch]:
        """Those that get another number, and those that are lost."""
        return [each for each in self.channels if each.moved]

    @property
    def lost(self) -> list[Repatch]:
        """Those that are lost and not only to spare."""
        return [each for each in self.channels if each.after is None and not each.spare]

    @property
    def lost_by_importance(self) -> tuple[int, int, int]:
        """How many of those are of critical needs, of others that have to be met, and of nice ones."""
        needs = [each.need for each in self.lost]
        critical, nice = sum(need.critical for need in needs), sum(need.nice for need in needs)
        return critical, len(needs) - critical - nice, nice
