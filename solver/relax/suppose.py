"""A scenario in which one more thing is asked for, or several, to see why the best build does not do it."""

from __future__ import annotations

from collections.abc import MutableMapping
from dataclasses import dataclass
from typing import Any

from solver.fitted.standing import Standing
from solver.relax.board import OtherBoard
from solver.relax.document import document_of, room_in
from solver.room.hardware import Board
from solver.room.scenario import Scenario
from solver.room.straps import possible_settings
from solver.room.survey import FrameSite, Survey
from solver.room.wish import Wish
from solver.rules.budget import MoreMoney
from solver.rules.must_seat import FewerSeated
from solver.rules.must_use import LeftUnused
from solver.rules.pins import Unpinned
from solver.rules.straps import OtherSetting


@dataclass(frozen=True)
class Supposition:
    """What is asked for together. Cost in minor units; `frame` is the one that the others speak of, if they do.

    `slot` goes with `card`: the card then stands there, otherwise anywhere.
    """

    frame: str | None = None
    setting: tuple[str, str] | None = None
    card: str | None = None
    slot: int | None = None
    board: str | None = None
    cost: int | None = None

    def text(self, survey: Survey, money: str = "") -> str:
        """In words, with what of the scenario's own it takes the place of; `money` is the cost as it is written."""
        site = None if self.frame is None else survey.site(self.frame)
        parts = []
        if self.board is not None:
            parts.append(self.board)
        if self.setting is not None:
            group, name = self.setting
            before = site.spec.straps.get(group, name) if site is not None else name
            parts.append(f'"{group}" set to {name}{f" in place of {before}" if before != name else ""}')
        where = f"frame {self.frame} with {' and '.join(parts)}" if parts else ""
        if self.card is not None and self.slot is not None:
            pinned = site.spec.pins.get(str(self.slot), self.card) if site is not None else self.card
            there = f"{self.card} in slot {self.slot}"
            where = f"{where} and {there}" if where else f"a build with {there} of frame {self.frame}"
            where += f" in place of {pinned}, which is pinned there" if pinned != self.card else ""
        elif self.card is not None:
            where = f"a build with {self.card}{f' and {where}' if where else ''}"
        if self.cost is None:
            return where
        spent = f"for at most {money}" if self.cost else "without orders"
        return f"{where or 'a build'} {spent}"


def suppose(survey: Survey, supposed: Supposition) -> Scenario:
    """The scenario with that asked for too."""
    document = document_of(survey.scenario)
    room = room_in(survey, document)
    frame: MutableMapping[str, Any] = next((f for f in room["frame"] if f["name"] == supposed.frame), {})
    if supposed.board is not None and supposed.frame is not None:
        OtherBoard(supposed.frame).exchange(survey, document, room, supposed.board)
    if supposed.setting is not None:
        frame.setdefault("straps", {})[supposed.setting[0]] = supposed.setting[1]
    if supposed.card is not None and supposed.slot is not None:
        frame.setdefault("pins", {})[str(supposed.slot)] = supposed.card
    elif supposed.card is not None:
        room.setdefault("must_seat", []).append({"card": supposed.card, "count": 1})
    if supposed.frame is not None:
        frame["must_use"] = True
    if supposed.cost is not None:
        limit = supposed.cost if survey.budget is None else min(supposed.cost, survey.budget)
        digits = survey.decimals
        document["budget"] = f"{limit // 10**digits}.{limit % 10**digits:0{digits}d}" if digits else str(limit)
    return Scenario.model_validate(document)


def asked_wishes(survey: Survey, supposed: Supposition) -> frozenset[Wish]:
    """The wishes of that scenario which are what was asked for: none of them may give way in an answer."""
    found: set[Wish] = set()
    if supposed.setting is not None and supposed.frame is not None:
        found.add(OtherSetting(supposed.frame, supposed.setting[0]))
    if supposed.board is not None and supposed.frame is not None:
        found.add(OtherBoard(supposed.frame))
    if supposed.frame is not None:
        found.add(LeftUnused(supposed.frame))
    if supposed.slot is not None and supposed.frame is not None:
        found.add(Unpinned(supposed.frame, supposed.slot))
    elif supposed.card is not None:
        found.add(FewerSeated(len(survey.must_seat)))
    if supposed.cost is not None:
        found.add(MoreMoney())
    return frozenset(found)


def has_setting(board: Board, group: str, name: str) -> bool:
    """Whether a board can be set so."""
    return any(own.name == group for own in board.strap_group) and name in possible_settings(board, group)


def fitting_boards(survey: Survey, site: FrameSite, supposed: Supposition) -> list[Board]:
    """The boards that a frame may have when that is asked for: the one asked for, or those that it may take anyway."""
    if supposed.board is not None:
        names = {supposed.board} & set(site.chassis.boards)
    else:
        names = {layout.board for layout in site.layouts}
    boards = [board for board in survey.hardware.board if board.id in names]
    return [b for b in boards if supposed.setting is None or has_setting(b, *supposed.setting)]


def frames_for(survey: Survey, supposed: Supposition) -> list[FrameSite]:
    """The frames that it can be meant of: those with such a board, such a setting, such a slot."""
    span = 1 if supposed.card is None else survey.kinds[supposed.card].span
    return [
        site
        for site in survey.frames
        if fitting_boards(survey, site, supposed) and (supposed.slot is None or supposed.slot + span - 1 in site.slots)
    ]


def least_price(survey: Survey, supposed: Supposition) -> int | None:
    """What the card and the board that are asked for cost at least; None where one is neither in stock nor on offer."""
    total = 0
    site = None if supposed.frame is None else survey.site(supposed.frame)
    there = site is not None and site.spec.owned and site.spec.board == supposed.board
    for item in (supposed.card, None if there else supposed.board):
        if item is None or survey.stock.get(item, 0):
            continue
        offers = [offer.price for offer in survey.offers.get(item, ()) if offer.at_most != 0]
        if not offers:
            return None
        total += min(offers)
    return total


def does(standing: Standing, supposed: Supposition) -> bool:
    """Whether a build does all that is asked for already."""
    frames = [frame for frame in standing.frames if frame.site.name == supposed.frame]
    setting, card, slot = supposed.setting, supposed.card, supposed.slot
    kept = [supposed.cost is None or standing.cost <= supposed.cost]
    if setting is not None:
        kept.append(any(frame.built.straps.get(setting[0]) == setting[1] for frame in frames))
    if card is not None and slot is not None:
        kept.append(any(s.slot == slot and s.kind.id == card for frame in frames for s in frame.seats))
    elif card is not None:
        kept.append(standing.cards[card] > 0)
    if supposed.board is not None:
        kept.append(any(frame.built.board == supposed.board for frame in frames))
    return all(kept)
