"""What one room of several may draw on: all that the rooms share, or what a build of all of them leaves for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from solver.judge.campus import Campus, CampusStanding
from solver.reports.element import Element, FileFault
from solver.reports.explanation import Explanation, WhyNot
from solver.reports.reach import ReachReport
from solver.reports.report import Clash, Report
from solver.reports.wording import money
from solver.room.scenario import Room, Scenario
from solver.room.survey import Survey

Document = Report | ReachReport | Explanation | WhyNot

Given = Literal["left", "all"]
"""What a room may draw on: what is left for it, or all that there is."""


class OfferLeft(Element):
    """What a room may still buy of an offer; `at_most` is null for any number."""

    item: str
    at_most: int | None


class RoomAnswer(Element):
    """The answer about a room when it may draw on so much; `answer` is the document of the command that was asked."""

    given: Given
    stock: dict[str, int] = {}
    offers: list[OfferLeft] = []
    budget: str | None = None
    answer: Document


class RoomAnswers(Element):
    """The answers about one room of several: with what the best plan of all leaves for it, and alone with everything.

    `campus` says what planning all rooms together came to, `proven` whether that is proven: with `impossible` and
    `unknown` nothing is left for anybody. `drawn` is for a build file in the place of that plan.
    """

    format: Literal[1] = 1
    scenario: str
    room: str
    campus: Literal["found", "impossible", "unknown", "drawn"]
    proven: bool
    answers: list[RoomAnswer]
    warnings: list[FileFault] = []


def room_answers(
    scenario: Scenario,
    name: str,
    campus: Literal["found", "impossible", "unknown", "drawn"],
    proven: bool,
    answers: Sequence[tuple[Given, Survey, Document]],
) -> RoomAnswers:
    """The answers about a room as one document; where they name keys of the file, those of the file of all rooms."""
    index = [room.name for room in scenario.room].index(name)
    return RoomAnswers(
        scenario=scenario.title,
        room=name,
        campus=campus,
        proven=proven,
        answers=[
            RoomAnswer(
                given=given,
                stock={item: count for item, count in sorted(survey.stock.items()) if count},
                offers=[
                    OfferLeft(item=offer.item, at_most=offer.at_most)
                    for offer in survey.scenario.offer
                    if offer.at_most != 0
                ],
                budget=None if survey.budget is None else money(survey, survey.budget),
                answer=_in_whole_file(answer, index),
            )
            for given, survey, answer in answers
        ],
    )


def _in_whole_file(answer: Document, index: int) -> Document:
    clash = None if isinstance(answer, ReachReport) else answer.clash
    return answer if clash is None else answer.model_copy(update={"clash": in_whole_file(clash, index)})


def in_whole_file(clash: Clash, index: int) -> Clash:
    """A clash of a scenario of one room with the paths of a file in which that room has another index."""

    def moved(path: list[str | int]) -> list[str | int]:
        return ["room", index, *path[2:]] if path[:2] == ["room", 0] else path

    ways = [
        way.model_copy(update={"changes": [c.model_copy(update={"path": moved(c.path)}) for c in way.changes]})
        for way in clash.ways
    ]
    because = [member.model_copy(update={"path": moved(member.path)}) for member in clash.because]
    return clash.model_copy(update={"ways": ways, "because": because})


def alone(scenario: Scenario, name: str) -> Scenario:
    """A scenario of one room, with everything that the rooms share."""
    room = next(room for room in scenario.rooms() if room.name == name)
    return scenario.model_copy(update={"title": f"{scenario.title}, room {name}", "room": (room,)})


def as_only_room(scenario: Scenario) -> Scenario:
    """A scenario with one ``[[room]]`` as one without: what is the room's stands at the top."""
    (room,) = scenario.room
    own = {key: getattr(room, key) for key in Room.model_fields if key not in ("name", "sample_rate", "air")}
    rate = room.sample_rate or scenario.sample_rate
    return scenario.model_copy(update={**own, "room": (), "sample_rate": rate, "air": scenario.air_in(room)})


def left_for(campus: Campus, standing: CampusStanding, index: int) -> Scenario:
    """The scenario of one room with its share of a build of all rooms, and whatever no room uses.

    Stock goes to rooms in their order, and so do the cheapest offers; entries of the file keep their index.
    """
    purse = campus.purse
    scenario = alone(purse.scenario, campus.rooms[index].room or "")
    others = [supply for room, supply in enumerate(standing.supplies()) if room != index]
    stock = {
        item: count - sum(supply.from_stock.get(item, 0) for supply in others) for item, count in scenario.stock.items()
    }
    drawn: Counter[int] = Counter()
    spent = 0
    for count, offer in (taken for supply in others for taken in supply.drawn):
        drawn[offer.index] += count
        spent += count * offer.price
    offers = tuple(
        offer if offer.at_most is None else offer.model_copy(update={"at_most": max(0, offer.at_most - drawn[at])})
        for at, offer in enumerate(scenario.offer)
    )
    budget = scenario.budget
    if budget is not None:
        budget = max(Decimal(0), budget - Decimal(spent).scaleb(-purse.decimals))
    return scenario.model_copy(update={"stock": stock, "offer": offers, "budget": budget})
