"""Several rooms that share stock, offers and budget: made ready, stood up, judged and counted together."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from solver import rules
from solver.fitted.standing import Standing, stand
from solver.fitted.unknown import Unknown
from solver.judge import audit, criteria
from solver.judge.criteria import Figures
from solver.room.build import Build
from solver.room.buying import bought, from_stock
from solver.room.hardware import Hardware
from solver.room.ready import Parts, survey_room
from solver.room.scenario import Scenario
from solver.room.survey import Offer, Shortage, Survey
from solver.rules.limit import Reading


@dataclass(frozen=True)
class Campus:
    """The rooms of a scenario in order of their names. Stock, offers and budget of each survey are everybody's."""

    rooms: tuple[Survey, ...]

    @cached_property
    def purse(self) -> Survey:
        """What the rooms share, as a survey without frames and needs."""
        return dataclasses.replace(self.rooms[0], room=None, frames=(), needs=(), must_seat=())


@dataclass(frozen=True)
class Supply:
    """What one of several rooms has out of stock and on order, and how many it draws of which offer."""

    from_stock: dict[str, int]
    ordered: dict[str, int]
    drawn: list[tuple[int, Offer]]


@dataclass(frozen=True)
class CampusStanding:
    """A build of a campus: one standing a room, in the campus's order."""

    campus: Campus
    rooms: tuple[Standing, ...]

    @cached_property
    def joint(self) -> Standing:
        """All frames against what the rooms share: its items, orders and cost are those of the whole campus."""
        return Standing(self.campus.purse, tuple(frame for room in self.rooms for frame in room.frames))

    def supplies(self) -> list[Supply]:
        """What each room has from where: what is owned goes to rooms in their order, and so do the cheapest offers."""
        purse = self.campus.purse
        given: Counter[str] = Counter()
        found = []
        for room in self.rooms:
            supply = Supply({}, {}, [])
            for item, count in sorted(room.items.items()):
                before, after = given[item], given[item] + count
                held = from_stock(purse, item, after) - from_stock(purse, item, before)
                supply.from_stock.update({item: held} if held else {})
                supply.ordered.update({item: count - held} if count > held else {})
                drawn = {offer.index: taken for taken, offer in bought(purse, item, before)}
                later = bought(purse, item, after)
                supply.drawn.extend((n - drawn.get(offer.index, 0), offer) for n, offer in later)
            given.update(room.items)
            found.append(supply)
        return found

    def unknowns(self) -> Counter[Unknown]:
        """What the files do not say, over all rooms; of what these share, as they buy together."""
        found = audit.unknowns(self.campus.purse, self.joint, shared=True)
        for room in self.rooms:
            found.update(audit.unknowns(room.survey, room, shared=False))
        return found


@dataclass(frozen=True, slots=True)
class CampusFigures:
    """A campus's own figures: one account of money, sums of channels, the least margin, and each room's own."""

    rooms: tuple[Figures, ...]
    cost: int
    top_level: int

    @property
    def stranded(self) -> int:
        """Channels without a number, over all rooms."""
        return sum(room.stranded for room in self.rooms)

    @property
    def holes(self) -> int:
        """Holes over all rooms."""
        return sum(room.holes for room in self.rooms)

    @property
    def idle(self) -> int:
        """Idle channels over all rooms."""
        return sum(room.idle for room in self.rooms)

    @property
    def unused(self) -> int:
        """Stranded, holes and idle together."""
        return self.stranded + self.holes + self.idle

    @property
    def level(self) -> int:
        """The cooling level of the warmest room."""
        return min(room.level for room in self.rooms)

    @property
    def margin_mk(self) -> int | None:
        """The least margin of all rooms; None where nothing could be checked."""
        return min((room.margin_mk for room in self.rooms if room.margin_mk is not None), default=None)

    @property
    def warmest(self) -> int | None:
        """The index of the room with the least margin; None where nothing could be checked."""
        known = [(room.margin_mk, index) for index, room in enumerate(self.rooms) if room.margin_mk is not None]
        return min(known)[1] if known else None

    @property
    def short(self) -> int:
        """Channels that needs which are nice to have are short of, over all rooms."""
        return sum(room.short for room in self.rooms)

    @property
    def short_needs(self) -> int:
        """Needs that are short, over all rooms."""
        return sum(room.short_needs for room in self.rooms)

    def value(self, criterion: str) -> int:
        """A criterion's value, lower is better: cooling counts the levels missing from enough."""
        return self.top_level - self.level if criterion == "cooling" else int(getattr(self, criterion))


@dataclass(frozen=True, slots=True)
class RoomReading:
    """What a build uses of a limit, and in which room; None for a limit that the rooms share."""

    room: int | None
    reading: Reading


def survey_campus(scenario: Scenario, hardware: Hardware) -> Campus:
    """Make every room ready. The files must have passed the loader's checks."""
    rooms = sorted(scenario.rooms(), key=lambda room: room.name)
    parts = Parts(scenario, hardware)
    return Campus(tuple(survey_room(scenario, hardware, room, parts) for room in rooms))


def gives_way(campus: Campus) -> bool:
    """Whether a need of any room is no more than nice to have."""
    return any(need.nice and need.demand for survey in campus.rooms for need in survey.needs)


def firm(campus: Campus) -> Campus:
    """The same with every need to be met in full."""
    return Campus(
        tuple(
            dataclasses.replace(survey, needs=tuple(dataclasses.replace(need, nice=False) for need in survey.needs))
            for survey in campus.rooms
        )
    )


def all_may_lack(campus: Campus) -> Campus:
    """The same with all that is nice to have allowed to give way."""
    loosened = []
    for survey in campus.rooms:
        nice = [need.demand for need in survey.needs if need.nice and need.demand]
        loosened.append(dataclasses.replace(survey, short=Shortage(sum(nice), len(nice))))
    return Campus(tuple(loosened))


def stand_campus(campus: Campus, build: Build) -> CampusStanding:
    """Resolve a build room by room."""
    rooms = []
    for survey in campus.rooms:
        own = tuple(frame for frame in build.frame if frame.room == survey.room)
        rooms.append(stand(survey, Build(title=build.title, frame=own)))
    return CampusStanding(campus, tuple(rooms))


def build_of_campus(standing: CampusStanding, title: str | None = None) -> Build:
    """The build again, with what serves what filled in."""
    return Build(title=title, frame=tuple(frame.built for room in standing.rooms for frame in room.frames))


def readings(campus: Campus, standing: CampusStanding) -> Iterable[RoomReading]:
    """Every room's limits, room by room, then those that the rooms share, counted over all of them."""
    for index, (survey, room) in enumerate(zip(campus.rooms, standing.rooms, strict=True)):
        for reading in audit.readings(survey, room):
            if reading.limit.rule not in rules.SHARED:
                yield RoomReading(index, reading)
    for reading in audit.readings(campus.purse, standing.joint):
        if reading.limit.rule in rules.SHARED:
            yield RoomReading(None, reading)


def faults(campus: Campus, standing: CampusStanding) -> list[RoomReading]:
    """The limits that a build breaks; empty for a good one."""
    return [found for found in readings(campus, standing) if not found.reading.kept]


def figures(campus: Campus, standing: CampusStanding) -> CampusFigures:
    """Recount everything from cards, numbers and services alone."""
    rooms = tuple(criteria.figures(s, r) for s, r in zip(campus.rooms, standing.rooms, strict=True))
    return CampusFigures(rooms, standing.joint.cost, campus.rooms[0].top_level)
