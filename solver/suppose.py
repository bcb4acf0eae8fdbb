"""A scenario in which one more thing is asked for, to see why the best build does not do it."""

from __future__ import annotations

from collections.abc import MutableMapping
from dataclasses import dataclass
from typing import Any

from solver.scenario import Scenario
from solver.standing import Standing
from solver.survey import FrameSite, Survey
from solver.wishes import document_of, exchange_board


@dataclass(frozen=True)
class Supposition:
    """What is asked for, of one frame where it concerns one. Cost in minor units; exactly one thing is given.

    `slot` goes with `card`: the card then stands there, otherwise anywhere.
    """

    frame: str
    setting: tuple[str, str] | None = None
    card: str | None = None
    slot: int | None = None
    board: str | None = None
    cost: int | None = None

    def text(self, money: str = "") -> str:
        """In words; `money` is the cost as it is written."""
        if self.setting is not None:
            return f'frame {self.frame} with "{self.setting[0]}" set to {self.setting[1]}'
        if self.card is not None:
            where = f" in slot {self.slot} of frame {self.frame}" if self.slot else ""
            return f"a build with {self.card}{where}"
        if self.board is not None:
            return f"frame {self.frame} with {self.board}"
        return f"a build for at most {money}" if self.cost else "a build without orders"


def suppose(survey: Survey, wish: Supposition) -> Scenario:
    """The scenario with that asked for too."""
    document = document_of(survey.scenario)
    room: MutableMapping[str, Any] = document["room"][0] if survey.scenario.room else document
    frame = next(frame for frame in room["frame"] if frame["name"] == wish.frame)
    if wish.setting is not None:
        frame.setdefault("straps", {})[wish.setting[0]] = wish.setting[1]
    elif wish.card is not None and wish.slot is not None:
        frame.setdefault("pins", {})[str(wish.slot)] = wish.card
    elif wish.card is not None:
        room.setdefault("must_seat", []).append({"card": wish.card, "count": 1})
    elif wish.board is not None:
        exchange_board(survey, document, room, wish.frame, wish.board)
    else:
        limit = wish.cost or 0
        limit = limit if survey.budget is None else min(limit, survey.budget)
        digits = survey.decimals
        document["budget"] = f"{limit // 10**digits}.{limit % 10**digits:0{digits}d}" if digits else str(limit)
    return Scenario.model_validate(document)


def frame_for(survey: Survey, name: str | None) -> FrameSite | None:
    """The frame of a name, or the only one; None where that leaves a choice or finds nothing."""
    if name is not None:
        return survey.site(name)
    return survey.frames[0] if len(survey.frames) == 1 else None


def does(standing: Standing, wish: Supposition) -> bool:
    """Whether a build does what is asked for already."""
    frames = [frame for frame in standing.frames if frame.site.name == wish.frame]
    if wish.setting is not None:
        return any(frame.built.straps.get(wish.setting[0]) == wish.setting[1] for frame in frames)
    if wish.card is not None and wish.slot is not None:
        return any(s.slot == wish.slot and s.kind.id == wish.card for frame in frames for s in frame.seats)
    if wish.card is not None:
        return standing.cards[wish.card] > 0
    if wish.board is not None:
        return any(frame.built.board == wish.board for frame in frames)
    return standing.cost <= (wish.cost or 0)
