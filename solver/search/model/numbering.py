"""Which numbers carry the channels of needs that ask for certain ones, as terms of a model, slot by slot.

A line of such a need is one of a card that stands, with its numbers in use, under the layout that holds; a channel is
on a number of a line that the need has. What lines those are is told to the services, which leave the others the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from solver.room.straps import Layout
from solver.room.survey import FrameSite, Kind, LineType, Need
from solver.room.words import Direction
from solver.rules.limit import Number, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import Services, add, expression
from solver.search.model.setting import SetAlike


@dataclass(frozen=True, slots=True)
class Answering:
    """The part of a card on a slot, the channels of it that have numbers, and the layouts that give it as many.

    `ways` has its channels as they are set, with the terms that say whether they serve anything so; `stands` says
    whether the card is there.
    """

    slot: int
    kind: Kind
    part: int
    numbered: int
    ways: Sequence[SetAlike]
    stands: Term
    layouts: Sequence[tuple[Layout, Term]]

    def first(self, layout: Layout, direction: Direction) -> int:
        """The number of its first channel."""
        return layout.block(direction, self.slot).first


Under = dict[int, list[Term]]
"""By the place of a layout among those of its frame, the terms of which one has to hold."""


class Numbering:
    """The terms of one model; it is finished when all rules have spoken."""

    def __init__(
        self,
        model: cp_model.CpModel,
        frames: Sequence[FrameSite],
        services: Services,
        layouts: Callable[[FrameSite], Sequence[tuple[Layout, Term]]],
        answering: Callable[[FrameSite, Direction], Iterable[Answering]],
    ) -> None:
        self._model = model
        self._frames = frames
        self._services = services
        self._layouts = layouts
        self._answering = answering
        self._numbers: dict[Need, list[Number]] = {}
        self._given: dict[tuple[int, Direction, int, LineType], list[Term]] = {}
        self._shared: dict[tuple[int, Direction], dict[int, Under]] = {}
        self._joined: dict[tuple[int, Direction, int], Term] = {}

    def of(self, need: Need, barred: Callable[[FrameSite, int], bool]) -> Sequence[Number]:
        """Every number that may carry a need, by frame and number, with the term that says that it does."""
        if need not in self._numbers:
            self._services.given[need] = []
            self._numbers[need] = [number for site in self._frames for number in self._on(site, need, barred)]
        return self._numbers[need]

    def _on(self, site: FrameSite, need: Need, barred: Callable[[FrameSite, int], bool]) -> list[Number]:
        covering: dict[int, list[tuple[LineType, Term]]] = {}
        for (first, line_type), under in sorted(self._lines(site, need).items(), key=lambda e: (e[0][0], e[0][1].key)):
            numbers = [number for number in range(first, first + line_type.grain) if not barred(site, number)]
            if not numbers:
                continue
            given = self._model.new_bool_var("")
            self._only_if(site, given, under)
            self._services.given[need].append((line_type, given))
            self._given.setdefault((site.index, need.direction, first, line_type), []).append(given)
            for number in numbers:
                covering.setdefault(number, []).append((line_type, given))
        found = []
        for number, own in sorted(covering.items()):
            term = own[0][1]
            if len(own) > 1 or own[0][0].grain > 1:
                term = self._model.new_bool_var("")
                self._model.add(term <= expression([(1, given) for _, given in own]))
            found.append(Number(site, need.direction, number, term))
        return found

    def _lines(self, site: FrameSite, need: Need) -> dict[tuple[int, LineType], Under]:
        """By first number and type the lines that may serve a need."""
        found: dict[tuple[int, LineType], Under] = {}
        types = set(self._services.may.get(need, ()))
        places = {id(layout): place for place, (layout, _) in enumerate(self._layouts(site))}
        for part in self._answering(site, need.direction):
            lines = [
                (channel, way.term)
                for way in part.ways
                for channel in way.channels
                if channel.line_type in types and channel.index == channel.line[0] and channel.line[-1] <= part.numbered
            ]
            for layout, _ in part.layouts:
                for line, live in lines:
                    key = part.first(layout, need.direction) + line.index - 1, line.line_type
                    found.setdefault(key, {}).setdefault(places[id(layout)], []).append(live)
        return found

    def _only_if(self, site: FrameSite, term: Term, under: Under) -> None:
        """A term holds only if one of those holds that go with the layout that the frame has."""
        layouts = self._layouts(site)
        every = {id(each): each for own in under.values() for each in own}
        self._model.add(term <= expression([(1, each) for each in every.values()]))
        alike: dict[tuple[int, ...], list[int]] = {}
        for place in range(len(layouts)):
            alike.setdefault(tuple(sorted(id(each) for each in under.get(place, ()))), []).append(place)
        if len(alike) > 1:
            for places in alike.values():
                chosen = expression([(1, layouts[place][1]) for place in places])
                add(self._model, term + chosen - 1 <= expression([(1, each) for each in under.get(places[0], ())]))

    def on_one_card(self, number: Number) -> Term:
        """Whether one card answers a number and the next one."""
        key = number.site.index, number.direction, number.number
        if key not in self._joined:
            side = key[:2]
            if side not in self._shared:
                self._shared[side] = self._neighbours(number.site, number.direction)
            under = self._shared[side].get(number.number)
            self._joined[key] = 0
            if under is not None:
                self._joined[key] = self._model.new_bool_var("")
                self._only_if(number.site, self._joined[key], under)
        return self._joined[key]

    def _neighbours(self, site: FrameSite, direction: Direction) -> dict[int, Under]:
        """By number the cards that answer it and the next one."""
        found: dict[int, Under] = {}
        places = {id(layout): place for place, (layout, _) in enumerate(self._layouts(site))}
        ends: dict[tuple[int, int, int], Term] = {}
        parts = list(self._answering(site, direction))
        for part in parts:
            for layout, _ in part.layouts:
                first, place = part.first(layout, direction), places[id(layout)]
                for number in range(first, first + part.numbered - 1):
                    found.setdefault(number, {}).setdefault(place, []).append(part.stands)
                ends[id(part.stands), place, first + part.numbered] = part.stands
        for part in parts:
            for layout, _ in part.layouts:
                first, place = part.first(layout, direction), places[id(layout)]
                if (id(part.stands), place, first) in ends:
                    found.setdefault(first - 1, {}).setdefault(place, []).append(part.stands)
        return found

    def finish(self) -> None:
        """A line is given once, and each need has as many channels as it asks for."""
        for given in self._given.values():
            if len(given) > 1:
                self._model.add_at_most_one(given)
        for need, numbers in self._numbers.items():
            load: Any = expression([(1, number.term) for number in numbers])
            add(self._model, load == self._services.asked[need])
