"""The sheet of a work order as it grows, and what its steps take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from solver.fitted.card_moves import FrameKey
from solver.fitted.moves import StrapMove
from solver.reports.work_order import Action, OrderSection, OrderStep

MINUTES: Mapping[Action, tuple[int, int]] = {
    "amplifiers off": (1, 2),
    "as found": (3, 5),
    "phantom off": (1, 2),
    "clock stand-in": (1, 2),
    "mains off": (4, 6),
    "looms off": (1, 2),
    "open": (1, 2),
    "card out": (1, 2),
    "board out": (10, 20),
    "board in": (10, 20),
    "strap": (1, 2),
    "ask": (1, 2),
    "card settings": (1, 3),
    "card in": (2, 4),
    "not seated": (0, 0),
    "blanks": (0, 1),
    "compare": (2, 3),
    "close": (1, 2),
    "bell out": (2, 4),
    "power up": (3, 4),
    "clock lock": (0, 1),
    "clock line": (1, 2),
    "patch": (1, 3),
    "retype": (2, 5),
    "phantom back": (1, 3),
    "test": (0, 0),
    "as left": (3, 5),
    "amplifiers on": (1, 2),
}
"""The least and the most minutes of each sort of step: common practice, no source. The test sheet counts its own."""


class CardOfStep(NamedTuple):
    """The card that a step is about: its first slot, its id and its serial number where that is known."""

    slot: int
    card: str
    serial: str | None = None


@dataclass
class Sheet:
    """Sections as they grow; steps are numbered through."""

    sections: list[OrderSection] = field(default_factory=list)
    number: int = 0

    def begin(self, title: str, key: FrameKey | None = None) -> None:
        """A new section, of one frame where that is named."""
        room, frame = key or (None, None)
        self.sections.append(OrderSection(title=title, room=room, frame=frame, steps=[]))

    def add(
        self,
        action: Action,
        text: str,
        key: FrameKey | None = None,
        times: int = 1,
        *,
        of: CardOfStep | None = None,
        board: str | None = None,
        strap: StrapMove | None = None,
        least: int | None = None,
        looms: tuple[str | None, str | None] = (None, None),
    ) -> None:
        """A step of the last section that takes its minutes so many `times`, or no less than `least`.

        `looms` are the tag that a loom has and the one that it gets.
        """
        self.number += 1
        room, frame = key or (None, None)
        usual, most = MINUTES[action]
        self.sections[-1].steps.append(
            OrderStep(
                number=self.number,
                action=action,
                room=room,
                frame=frame,
                slot=None if of is None else of.slot,
                card=None if of is None else of.card,
                serial=None if of is None else of.serial,
                board=board,
                group=None if strap is None else strap.group,
                strap=None if strap is None else strap.strap,
                to=None if strap is None else strap.after,
                loom=looms[1],
                loom_before=looms[0],
                text=text,
                minutes_least=(usual if least is None else least) * times,
                minutes_most=most * times,
            )
        )
