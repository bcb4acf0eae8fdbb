"""What rules have in common that keep lines alike which serve a need, or a need and what it comes back on."""

from __future__ import annotations

from abc import abstractmethod
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import ClassVar

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.room.kind import LineType
from solver.room.message import Message, Said, joined, tell
from solver.room.survey import Need, Survey
from solver.room.traits import OneOf, Trait
from solver.rules.limit import Draft, KeyPath, Limit, Place, Reading, Rule


class Alike(Rule):
    """A rule with one limit for the needs that are alike in something: no channel of a line that is otherwise."""

    speaks_of = "lines"
    of: ClassVar[str]
    """Names the traits."""

    @abstractmethod
    def source(self, need: Need) -> KeyPath:
        """Where the file says so, for the need that asks it."""

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need that asks it: no channel that is otherwise than as many as can be alike."""
        for need in survey.needs:
            if need.demand and any(one.of == (self.of, need.name) for one in need.one_of):
                place = Place(subject=need.name, direction=need.direction)
                yield Limit(self.code, place, 0, "channels", source=self.source(need), give=range(1, 2))

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that are otherwise than most of them."""
        _, one = self._asked(survey, limit)
        channels = _channels(standing, one)
        return min(sum(not _goes(way, use) for _, use in channels) for way in one.ways)

    def _asked(self, survey: Survey, limit: Limit) -> tuple[list[Need], OneOf]:
        """The needs that a limit speaks of, the one that asks first, and what they ask."""
        asks = next(need for need in survey.needs if need.name == limit.place.subject)
        one = next(one for one in asks.one_of if one.of == (self.of, asks.name))
        return [asks, *(need for need in survey.needs if need is not asks and one in need.one_of)], one

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """All lines of one way."""
        needs, one = self._asked(draft.survey, limit)
        draft.keep_alike(limit, needs, [partial(_has, way) for way in one.ways])

    def lifted(self, survey: Survey) -> Survey | None:
        """The room as if no need asked it."""
        if not any(one.of[0] == self.of for need in survey.needs for one in need.one_of):
            return None
        left = [replace(n, one_of=tuple(one for one in n.one_of if one.of[0] != self.of)) for n in survey.needs]
        return replace(survey, needs=tuple(left))

    # How it is told

    @abstractmethod
    def told(self, need: Need) -> Said:
        """What the need asks for, after its name."""

    @abstractmethod
    def through(self, frame: FrameStanding, use: Use) -> str:
        """The card of a channel, and what it has of it."""

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        needs, one = self._asked(survey, reading.limit)
        name, asks = needs[0].name, self.told(needs[0])
        if standing is None:
            return tell('need "{name}" {asks}: {used} channels are not so', name=name, asks=asks, used=reading.used)
        ways = Counter(self.through(frame, use) for frame, use in _channels(standing, one))
        told = joined([tell("{count} on {way}", count=count, way=way) for way, count in ways.items()])
        return tell('need "{name}" {asks}: {told}', name=name, asks=asks, told=told)

    def over(self, survey: Survey, reading: Reading) -> Message:
        needs, _ = self._asked(survey, reading.limit)
        return tell('"{name}" {asks}', name=needs[0].name, asks=self.told(needs[0]))


def _channels(standing: Standing, one: OneOf) -> list[tuple[FrameStanding, Use]]:
    """The channels that are to serve needs which ask to be alike in something."""
    return [(f, use) for f in standing.frames for use in f.named if one in use.need.one_of and use.channel is not None]


def _has(way: Trait, line_type: LineType) -> bool:
    return way in line_type.traits


def _goes(way: Trait, use: Use) -> bool:
    return use.channel is not None and _has(way, use.channel.line_type)
