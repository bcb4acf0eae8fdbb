"""Why the rooms of a campus cannot all be built, as a document."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal, Protocol

from solver.judge.campus import Campus
from solver.reports.describe_campus import clash_of_campus
from solver.reports.element import Element, FileFault
from solver.reports.report import CauseReport, Clash, Way
from solver.reports.share import in_whole_file
from solver.reports.why import By, way_report
from solver.reports.wording import money
from solver.room.wish import WORKS, Wish
from solver.room.wish import Change as WishChange


class RoomClash(Element):
    """A room that nothing can be built of even with everything to itself, and why. Its ways out are of that room."""

    room: str
    clash: Clash


class Contested(Element):
    """A limit that rooms share and that is in their way: an item or the budget.

    `least` says what each room takes of an item at the very least, `together` what all of them do, whatever else there
    is any number of; both leave out what is not known.
    """

    path: list[str | int]
    item: str | None
    to_be_had: str
    least: dict[str, int]
    together: str | None
    text: str


class CampusWhy(Element):
    """The answer to `why` about several rooms.

    `alone` has the rooms that are impossible even alone; it names them all where `all_alone_known`. `others` says
    whether the rest of the rooms can be built together. Where they cannot, `rooms` are some of them that clash and
    `over` is what they clash over; `minimal` says that none of both can be left out. `ways` are more of one item
    in stock or on offer, with more money where it takes that, more money alone, or less of one need; `complete` says
    that no other one of these helps.
    """

    format: Literal[1] = 1
    scenario: str
    currency: str
    outcome: Literal["found", "impossible", "unknown"]
    alone: list[RoomClash] = []
    all_alone_known: bool = False
    others: Literal["possible", "impossible", "unknown"] = "unknown"
    rooms: list[str] = []
    over: list[Contested] = []
    minimal: bool = False
    ways: list[Way] = []
    complete: bool = False
    causes: list[CauseReport] = []
    short: list[str] = []
    assumed: list[str] = []
    warnings: list[FileFault] = []


class FoundWay(Protocol):
    """A way out that a search found."""

    @property
    def changes(self) -> tuple[WishChange, ...]:
        """What is changed, each by the least amount."""

    @property
    def room(self) -> int | None:
        """Which room the change is in; None where it is none's own."""

    @property
    def cost(self) -> int | None:
        """What all rooms cost then, in minor units; None where that is not proven."""


class FoundClash(Protocol):
    """What a search found out about a campus that is impossible."""

    @property
    def alone(self) -> tuple[int, ...]:
        """Rooms that are impossible even with everything to themselves."""

    @property
    def sure(self) -> bool:
        """Whether every room was settled so."""

    @property
    def rest(self) -> bool | None:
        """Whether the others can be built together; None if not known."""

    @property
    def rooms(self) -> tuple[int, ...]:
        """Some rooms that cannot all be built."""

    @property
    def over(self) -> tuple[Wish, ...]:
        """The part of what they share that is in their way."""

    @property
    def least(self) -> Mapping[tuple[int, Wish], int]:
        """How many of an item a room takes at the very least."""

    @property
    def cost(self) -> int | None:
        """What those rooms cost together at the very least, in minor units; None where money is not over."""

    @property
    def minimal(self) -> bool:
        """Whether none of `rooms` can be left out."""

    @property
    def ways(self) -> Sequence[FoundWay]:
        """Single changes that help."""

    @property
    def complete(self) -> bool:
        """Whether no other single change does."""


def campus_why(
    campus: Campus,
    outcome: Literal["found", "impossible", "unknown"],
    found: FoundClash | None = None,
    alone: Sequence[Clash] = (),
    ways: Sequence[FoundWay] = (),
) -> CampusWhy:
    """What was found as a document; `alone` has the clash of each room that is impossible alone, `ways` their order."""
    purse = campus.purse
    said = CampusWhy(scenario=purse.title, currency=purse.currency, outcome=outcome)
    if found is None:
        return said
    names = [survey.room or "" for survey in campus.rooms]
    in_file = [room.name for room in purse.scenario.room]
    rest: dict[bool | None, Literal["possible", "impossible", "unknown"]] = {True: "possible", False: "impossible"}
    return said.model_copy(
        update={
            "alone": [
                RoomClash(room=names[room], clash=in_whole_file(clash, in_file.index(names[room])))
                for room, clash in zip(found.alone, alone, strict=True)
            ],
            "all_alone_known": found.sure,
            "others": rest.get(found.rest, "unknown"),
            "rooms": [names[room] for room in found.rooms],
            "over": [_contested(campus, found, wish) for wish in found.over],
            "minimal": found.minimal and bool(found.over),
            "ways": [_way(campus, way) for way in ways],
            "complete": found.complete,
            "causes": clash_of_campus(campus).causes,
        }
    )


def in_order(ways: Sequence[FoundWay], by: By) -> list[FoundWay]:
    """Ways out by the hardest work in them, or by what the rooms then cost; fewer changes come first."""

    def key(way: FoundWay) -> tuple[int, ...]:
        work = max(WORKS.index(change.work) for change in way.changes)
        cost = 10**18 if way.cost is None else way.cost
        return (work, len(way.changes), cost) if by == "work" else (cost, work, len(way.changes))

    return sorted(ways, key=key)


def _contested(campus: Campus, found: FoundClash, wish: Wish) -> Contested:
    purse = campus.purse
    if wish.item is None:
        budget = money(purse, purse.budget or 0)
        cost = None if found.cost is None else money(purse, found.cost)
        text = f"budget {budget} {purse.currency}" + (f"; together at the very least {cost}" if cost else "")
        return Contested(path=wish.path(purse), item=None, to_be_had=budget, least={}, together=cost, text=text)
    item, most = wish.item, purse.most_of(wish.item) or 0
    least = {(campus.rooms[room].room or ""): found.least.get((room, wish)) for room in found.rooms}
    takes = {name: count for name, count in least.items() if count}
    total = sum(takes.values()) if None not in least.values() else None
    text = f"{item}: {most} to be had"
    if takes:
        text += f"; at the very least {', '.join(f'{name} {count}' for name, count in takes.items())}"
    if len(takes) > 1 and total is not None:
        text += f", together {total}"
    return Contested(
        path=wish.path(purse),
        item=item,
        to_be_had=str(most),
        least=takes,
        together=None if total is None else str(total),
        text=text,
    )


def _way(campus: Campus, way: FoundWay) -> Way:
    survey = campus.rooms[way.room or 0]
    where = "" if way.room is None else f"room {survey.room}: "
    return way_report(survey, way.changes, way.cost, where=where)
