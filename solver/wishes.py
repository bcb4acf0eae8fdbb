"""What somebody could change about a scenario: each wish behind negotiable limits, and the scenario with it changed.

A wish has a key: ``("budget",)``, ``("need", place)``, ``("item", id)``, ``("must_seat", place)``, ``("pin", frame,
slot)``, ``("empty", frame, slot)``, ``("strap", frame, group)``, ``("margin",)``, ``("reserve",)``; three more are
changes that loosen no limit: ``("rate",)``, ``("board", frame)`` and ``("frame", name)``. Places count entries of the
file from 0.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, get_args

from solver import rules
from solver.causes import WORD, kilohertz, money
from solver.rules import budget, cooling, kept_empty, must_seat, needs, pins, rails, stock, straps
from solver.rules.limit import Limit
from solver.scenario import Scenario
from solver.survey import Need, Survey, survey_room
from solver.words import Work, in_thousandths, parse_percent, write_ranges

Key = tuple[str | int, ...]
WORKS: tuple[Work, ...] = get_args(Work)
"""Kinds of work, the least first."""

LID_ON: frozenset[Work] = frozenset(WORKS[:3])
"""Work for which no frame is opened; a card that is bought has to be seated."""

_WORK: dict[str, Work] = {
    "need": "give up channels",
    "must_seat": "relax a limit",
    "margin": "relax a limit",
    "reserve": "relax a limit",
    "rate": "change the sample rate",
    "pin": "lid off: move cards or straps",
    "empty": "lid off: move cards or straps",
    "strap": "lid off: move cards or straps",
    "board": "lid off: move cards or straps",
    "budget": "buy",
    "item": "buy",
    "frame": "buy",
}

ORDER = tuple(_WORK)
"""In this order wishes give way: what costs least to change first, money last but for what must be bought."""


def key_of(limit: Limit) -> Key | None:
    """The wish behind a limit; None where nobody can change it."""
    if limit.source is None or not limit.give:
        return None
    place = limit.place
    match limit.rule:
        case budget.Budget.code:
            return ("budget",)
        case needs.Needs.code:
            return ("need", limit.source[1])
        case stock.Stock.code:
            return ("item", place.subject or "")
        case must_seat.MustSeat.code:
            return ("must_seat", limit.source[1])
        case pins.Pins.code:
            return ("pin", place.frame or "", place.slot or 0)
        case kept_empty.KeptEmpty.code:
            return ("empty", place.frame or "", place.slot or 0)
        case straps.Straps.code:
            return ("strap", place.frame or "", place.subject or "")
        case cooling.Cooling.code:
            return ("margin",)
        case rails.Rails.code:
            return ("reserve",)
    return None


def rank_of(key: Key) -> tuple[object, ...]:
    """For sorting wishes."""
    return ORDER.index(str(key[0])), *((0, part) if isinstance(part, int) else (1, part) for part in key[1:])


def wishes(survey: Survey) -> list[Key]:
    """Every wish of a scenario that has a negotiable limit."""
    found = {key for _, limit in rules.limits(survey) if (key := key_of(limit)) is not None}
    return sorted(found, key=rank_of)


@dataclass(frozen=True)
class Change:
    """One wish and how far it gives way.

    `amount` counts channels, cards, minor units, kelvin or per cent; for a pin or a kept-empty slot it is 1,
    for a board 1 where that has to be bought.
    `choice` is the setting of a strap group, None for any, the sample rate in hertz, or a board.
    """

    key: Key
    amount: int = 1
    choice: str | int | None = None

    @property
    def work(self) -> Work:
        """The kind of work that it means."""
        if self.key[0] == "board" and self.amount:
            return "buy"
        return work_of(self.key)


def work_of(key: Key) -> Work:
    """The kind of work that it means when a wish gives way."""
    return _WORK[str(key[0])]


def need_at(survey: Survey, place: int) -> Need:
    """The need with a place in the file."""
    return next(need for need in survey.needs if need.place == place)


def reserve_percent(survey: Survey) -> int:
    """What is kept of every rail, in whole per cent."""
    return parse_percent(survey.scenario.limits.rail_reserve, 90)


def path_of(survey: Survey, key: Key) -> list[str | int]:
    """Where the scenario file says it."""
    rooms = [room.name for room in survey.scenario.room]
    room: list[str | int] = ["room", rooms.index(survey.room)] if survey.room in rooms else []
    match key[0]:
        case "need":
            return [*room, "need", key[1], "channels"]
        case "must_seat":
            return [*room, "must_seat", key[1], "count"]
        case "pin":
            return [*room, "frame", key[1], "pins", str(key[2])]
        case "empty":
            return [*room, "frame", key[1], "keep_empty", key[2]]
        case "strap":
            return [*room, "frame", key[1], "straps", key[2]]
        case "board":
            return [*room, "frame", key[1], "board"]
        case "item":
            capped = [offer.place for offer in survey.offers.get(str(key[1]), ())]
            return ["offer", capped[-1], "at_most"] if capped else ["offer"]
        case "margin":
            return ["limits", "refuse_below_k"]
        case "reserve":
            return ["limits", "rail_reserve"]
        case "rate":
            return ["sample_rate"]
        case "frame":
            return [*room, "frame"]
    return ["budget"]


def apply(
    survey: Survey,
    document: MutableMapping[str, Any],
    changes: Sequence[Change],
    number: Callable[[Decimal], Any] = lambda value: value,
) -> None:
    """Make changes in a scenario's document, parsed TOML or the like, in place.

    Parameters
    ----------
    number
        How the document writes a decimal number.
    """
    room = next(r for r in document["room"] if r["name"] == survey.room) if survey.scenario.room else document
    for change in sorted(changes, key=lambda c: rank_of(c.key), reverse=True):
        key, amount = change.key, change.amount
        match key[0]:
            case "budget":
                document["budget"] = money(survey, (survey.budget or 0) + amount)
            case "need":
                entry = room["need"][key[1]]
                spare = min(amount, int(entry.get("spare", 0)))
                if spare:
                    entry["spare"] = int(entry["spare"]) - spare
                entry["channels"] = int(entry["channels"]) - (amount - spare)
                if not entry["channels"] and not entry.get("spare", 0):
                    del room["need"][key[1]]  # a file may not ask for nothing
            case "item":
                _allow(survey, document, str(key[1]), amount)
            case "must_seat":
                left = int(room["must_seat"][key[1]].get("count", 1)) - amount
                if left:
                    room["must_seat"][key[1]]["count"] = left
                else:
                    del room["must_seat"][key[1]]
            case "pin":
                del _frame(room, key)["pins"][str(key[2])]
            case "empty":
                kept = [slot for slot in _frame(room, key)["keep_empty"] if slot != key[2]]
                _frame(room, key)["keep_empty"] = kept
            case "strap" if change.choice is None:
                del _frame(room, key)["straps"][str(key[2])]
            case "strap":
                _frame(room, key)["straps"][str(key[2])] = change.choice
            case "margin":
                limits = document.setdefault("limits", {})
                limits["refuse_below_k"] = number(survey.scenario.limits.refuse_below_k - amount)
            case "reserve":
                document.setdefault("limits", {})["rail_reserve"] = f"{reserve_percent(survey) - amount} %"
            case "rate":
                (room if room.get("sample_rate") is not None else document)["sample_rate"] = change.choice
            case "board":
                if survey.most_of(str(change.choice)) == 0:
                    _allow(survey, document, str(change.choice), 1)
                exchange_board(survey, document, room, str(key[1]), str(change.choice))
            case "frame":
                _add_frame(survey, document, room, str(key[1]))


def _frame(room: Mapping[str, Any], key: Key) -> Any:
    return next(frame for frame in room["frame"] if frame["name"] == key[1])


def _sort(survey: Survey, item: str) -> str:
    hardware = survey.hardware
    if any(card.id == item for card in hardware.card):
        return "card"
    return "chassis" if any(chassis.id == item for chassis in hardware.chassis) else "board"


def _allow(survey: Survey, document: MutableMapping[str, Any], item: str, amount: int) -> None:
    offers = survey.offers.get(item, ())
    if offers:
        entry = document["offer"][offers[-1].place]
        entry["at_most"] = int(entry["at_most"]) + amount
    elif "offer" in document:
        document["offer"].append({_sort(survey, item): item, "at_most": amount})
    else:
        document["offer"] = [{_sort(survey, item): item, "at_most": amount}]


def new_name(survey: Survey) -> str:
    """A name for one more frame: the first free letter."""
    names = {site.name for site in survey.frames}
    letters = (chr(code) for code in range(ord("A"), ord("Z") + 1))
    return next((letter for letter in letters if letter not in names), "further frame")


def _add_frame(survey: Survey, document: MutableMapping[str, Any], room: MutableMapping[str, Any], like: str) -> None:
    """One more frame, to be bought, of the chassis and board of another."""
    site = next(site for site in survey.frames if site.name == like)
    frame: dict[str, Any] = {"name": new_name(survey), "chassis": site.chassis.id, "owned": False}
    if site.spec.board:
        frame["board"] = site.spec.board
    for item in parts_of(survey, like):
        if survey.most_of(item) is not None:
            _allow(survey, document, item, 1)
    room["frame"].append(frame)


def exchange_board(
    survey: Survey, document: MutableMapping[str, Any], room: MutableMapping[str, Any], name: str, board: str
) -> None:
    """Give a frame a board that has to be had like any other, and put the one that is in it into stock.

    A board that an owned frame names is owned with it; so chassis and board are counted in stock from then on.
    """
    site = next(site for site in survey.frames if site.name == name)
    frame = _frame(room, ("board", name))
    if site.spec.owned and board != site.spec.board:
        frame["owned"] = False
        stock = document.setdefault("stock", {})
        for item in filter(None, (site.chassis.id, site.spec.board)):
            stock[item] = int(stock.get(item, 0)) + 1
    frame["board"] = board


def parts_of(survey: Survey, like: str) -> list[str]:
    """What has to be bought for one more frame like another: its chassis, and its board where it names one."""
    site = next(site for site in survey.frames if site.name == like)
    return [site.chassis.id, *([site.spec.board] if site.spec.board else [])]


def price_of(survey: Survey, item: str) -> int:
    """What one more of an item costs in minor units: its dearest offer, or its list price; 0 where none is known."""
    offers = survey.offers.get(item, ())
    if offers:
        return offers[-1].price
    hardware = survey.hardware
    prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
    return int((prices.get(item) or Decimal(0)).scaleb(survey.decimals))


def most_money(survey: Survey) -> int:
    """More than any build can cost, in minor units, were everything bought."""
    dearest = max((price_of(survey, item) for item in [*survey.kinds, *survey.offers]), default=0)
    return sum(2 * len(site.slots) + 2 for site in survey.frames) * dearest


def changed(survey: Survey, changes: Sequence[Change]) -> Scenario:
    """The scenario with changes made."""
    document = document_of(survey.scenario)
    apply(survey, document, changes)
    return Scenario.model_validate(document)


def all_needed(survey: Survey) -> Survey:
    """The room with every need to be met, those that are nice to have too."""
    document = document_of(survey.scenario)
    room = next(r for r in document["room"] if r["name"] == survey.room) if survey.scenario.room else document
    for need in room["need"]:
        need["importance"] = "must"
    return survey_room(Scenario.model_validate(document), survey.hardware)


def document_of(scenario: Scenario) -> dict[str, Any]:
    """A scenario as nested dicts and lists, which can be changed and validated again."""
    document: dict[str, Any] = _plain(scenario.model_dump(exclude_unset=True))
    return document


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(entry) for entry in value]
    return value


def drop_text(need: Need, amount: int) -> str:
    """Channels of a need that give way, the spare ones first, and what is left of it."""
    side = WORD[need.direction] if amount > 1 else WORD[need.direction][:-1]
    if amount == need.demand:
        every = "all " if amount > 1 else ""
        return f'drop {every}{amount} {need.signal} {side} on "{need.name}"'
    spare = max(0, need.spare - amount)
    after = need.demand - amount - spare
    left = f"{after} and {spare} spare" if spare else str(after)
    side = WORD[need.direction]
    return f'drop {amount} of {need.demand} {need.signal} {side} on "{need.name}"; {left} left'


def change_text(survey: Survey, change: Change, instead: Sequence[int] = ()) -> str:
    """A change in words, with its amount; `instead` names slots of which any would do as well."""
    key, amount = change.key, change.amount
    match key[0]:
        case "budget":
            before = survey.budget or 0
            return f"spend {money(survey, amount)} more ({money(survey, before)} -> {money(survey, before + amount)})"
        case "need":
            return drop_text(need_at(survey, int(key[1])), amount)
        case "item":
            item = str(key[1])
            most = survey.most_of(item) or 0
            price = f", {money(survey, price_of(survey, item))} each" if price_of(survey, item) else ""
            if survey.offers.get(item):
                return f"allow {amount} more {item} ({most} -> {most + amount} to be had{price})"
            return f"order {amount} x {item}, which is not on offer now{price}"
        case "must_seat":
            count = next(n for _, n, place in survey.must_seat if place == key[1])
            card = next(c for c, _, place in survey.must_seat if place == key[1])
            return f"seat {amount} fewer {card} than must be seated ({count} -> {count - amount})"
        case "pin":
            site = next(site for site in survey.frames if site.name == key[1])
            return f"frame {key[1]}: let {site.spec.pins[str(key[2])]} stand elsewhere than in slot {key[2]}"
        case "empty" if instead:
            slots = write_ranges(sorted([int(key[2]), *instead]))
            return f"frame {key[1]}: let one of slots {slots} be used"
        case "empty":
            return f"frame {key[1]}: let slot {key[2]} be used"
        case "strap":
            site = next(site for site in survey.frames if site.name == key[1])
            return f'frame {key[1]}: set "{key[2]}" to {change.choice} instead of {site.spec.straps[str(key[2])]}'
        case "margin":
            before_k = survey.scenario.limits.refuse_below_k.normalize()
            return f"accept {amount} K less cooling margin ({before_k:f} -> {(before_k - amount).normalize():f} K)"
        case "reserve":
            before = reserve_percent(survey)
            return f"keep {before - amount} % of each rail in reserve instead of {before} %"
        case "board":
            site = next(site for site in survey.frames if site.name == key[1])
            board = str(change.choice)
            dear = f", {money(survey, price_of(survey, board))}" if amount and price_of(survey, board) else ""
            there = "" if survey.most_of(board) != 0 else ", which is not on offer now"
            return f"frame {key[1]}: take {board} instead of {site.spec.board}{there}{dear}"
        case "rate":
            return f"run at {kilohertz(int(change.choice or 0))} instead of {kilohertz(survey.sample_rate)}"
    parts = " with ".join(parts_of(survey, str(key[1])))
    total = sum(price_of(survey, item) for item in parts_of(survey, str(key[1])))
    return f"buy one more frame, {parts}{f', {money(survey, total)}' if total else ''}"


def member_texts(survey: Survey, keys: Sequence[Key]) -> list[tuple[list[Key], str]]:
    """Wishes in words; those that say the same of several slots or items are said together."""
    found: list[tuple[list[Key], str]] = []
    slots: dict[str, list[Key]] = {}
    items: list[Key] = []
    for key in keys:
        match key[0]:
            case "empty":
                slots.setdefault(str(key[1]), []).append(key)
            case "item":
                items.append(key)
            case _:
                found.append(([key], _member_text(survey, key)))
    for frame, own in slots.items():
        numbers = [int(key[2]) for key in own]
        plural = "slots" if len(numbers) > 1 else "slot"
        verb = "are" if len(numbers) > 1 else "is"
        found.append((own, f"frame {frame}: {plural} {write_ranges(numbers)} {verb} kept empty"))
    if items:
        counted = [f"{survey.most_of(str(key[1])) or 'no'} {key[1]}" for key in items]
        listed = counted[0] if len(counted) == 1 else f"{', '.join(counted[:-1])} and {counted[-1]}"
        found.append((items, f"no more than {listed} can be had".replace("no more than no ", "no ")))
    return sorted(found, key=lambda entry: rank_of(entry[0][0]))


def _member_text(survey: Survey, key: Key) -> str:
    match key[0]:
        case "budget":
            return f"the budget is {money(survey, survey.budget or 0)}"
        case "need":
            need = need_at(survey, int(key[1]))
            spare = f", {need.spare} of them spare" if need.spare else ""
            side = WORD[need.direction] if need.demand > 1 else WORD[need.direction][:-1]
            return f'"{need.name}" asks for {need.demand} {need.signal} {side}{spare}'
        case "must_seat":
            card, count = next((c, n) for c, n, place in survey.must_seat if place == key[1])
            return f"{count} x {card} must be seated"
        case "pin":
            site = next(site for site in survey.frames if site.name == key[1])
            return f"frame {key[1]}: {site.spec.pins[str(key[2])]} is pinned to slot {key[2]}"
        case "strap":
            site = next(site for site in survey.frames if site.name == key[1])
            return f'frame {key[1]}: "{key[2]}" is to be {site.spec.straps[str(key[2])]}'
        case "margin":
            return f"builds under {survey.scenario.limits.refuse_below_k.normalize():f} K of cooling margin are refused"
    return f"{reserve_percent(survey)} % of each rail is kept in reserve"


def most_given(survey: Survey, key: Key) -> int:
    """How far a wish may give way."""
    match key[0]:
        case "margin":
            return kelvins(survey)
        case "reserve":
            return reserve_percent(survey)
        case "budget":
            return most_money(survey)
    return max(limit.give[-1] for _, limit in rules.limits(survey) if key_of(limit) == key)


def kelvins(survey: Survey) -> int:
    """How many whole kelvin the refused margin can give way."""
    return in_thousandths(survey.scenario.limits.refuse_below_k) // 1000
