"""What may answer the numbers of one direction of a frame: lines of cards that stand, by the layouts that give them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from solver.room.kind import Kind, LineType
from solver.room.straps import Layout
from solver.room.survey import FrameSite
from solver.room.words import Direction
from solver.rules.limit import Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import add, expression
from solver.search.model.setting import SetAlike

Lives: TypeAlias = tuple[int, list[Term]]
"""The place of a layout among those of its frame, and terms of which one at most holds under it."""

Types: TypeAlias = int
"""Some types of line, a bit for each."""


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


@dataclass(frozen=True, slots=True)
class LineThere:
    """A line from a number on that is there where one of some lives holds; `lives` is the place of those."""

    first: int
    grain: int
    types: Types
    lives: int


class Side:
    """The numbers of one direction of a frame.

    Parameters
    ----------
    layouts
        Those of the frame, with the terms that say which holds.
    bits
        The types of line that count.
    """

    def __init__(
        self,
        site: FrameSite,
        direction: Direction,
        layouts: Sequence[tuple[Layout, Term]],
        parts: Sequence[Answering],
        bits: dict[LineType, Types],
    ) -> None:
        self.site = site
        self.direction = direction
        self._layouts = layouts
        self._parts = parts
        self._places = {id(layout): place for place, (layout, _) in enumerate(layouts)}
        self.lives: list[Lives] = []
        self.at: dict[int, list[LineThere]] = {}
        """By number the lines that it may be part of."""
        self.begins: dict[tuple[int, int], list[LineThere]] = {}
        """By first number and channels the lines that there may be."""
        self._answers: dict[object, Term] = {}
        self._state(bits)

    def _state(self, bits: dict[LineType, Types]) -> None:
        """Cards whose lines are alike count as one."""
        lines: dict[tuple[object, ...], tuple[tuple[int, int, Types], ...]] = {}
        alike: dict[tuple[int, int, tuple[tuple[int, int, Types], ...]], list[Term]] = {}
        for part, at, way in ((own, at, way) for own in self._parts for at, way in enumerate(own.ways)):
            left = [channel.index for channel in way.channels] if self.site.dead else ()
            key = part.kind.id, part.part, part.numbered, at, *left
            if key not in lines:
                lines[key] = tuple(
                    (channel.index, channel.line_type.grain, bits[channel.line_type])
                    for channel in way.channels
                    if channel.index == channel.line[0]
                    and channel.line[-1] <= part.numbered
                    and channel.line_type in bits
                )
            own = lines[key]
            for layout, _ in part.layouts if own else ():
                place = self._places[id(layout)], part.first(layout, self.direction), own
                alike.setdefault(place, []).append(way.term)
        for (layout_at, first, entries), terms in alike.items():
            for index, grain, types in entries:
                line = LineThere(first + index - 1, grain, types, len(self.lives))
                self.begins.setdefault((line.first, grain), []).append(line)
                for number in range(line.first, line.first + grain):
                    self.at.setdefault(number, []).append(line)
            self.lives.append((layout_at, terms))

    def able(self, types: Types) -> set[int]:
        """The numbers that lines of some types may answer."""
        return {number for number, lines in self.at.items() if any(line.types & types for line in lines)}

    @cached_property
    def joined(self) -> dict[int, list[Lives]]:
        """By number the cards that answer it and the next one."""
        alike: dict[tuple[int, int, int], list[Term]] = {}
        ends: set[tuple[int, int, int]] = set()
        wide = [part for part in self._parts if part.kind.span > 1]
        for part in self._parts:
            for layout, _ in part.layouts:
                place, first = self._places[id(layout)], part.first(layout, self.direction)
                alike.setdefault((place, first, part.numbered), []).append(part.stands)
                if part in wide:
                    ends.add((id(part.stands), place, first + part.numbered))
        found: dict[int, list[Lives]] = {}
        for (place, first, numbered), terms in alike.items():
            for number in range(first, first + numbered - 1):
                found.setdefault(number, []).append((place, terms))
        for part in wide:
            for layout, _ in part.layouts:
                place, first = self._places[id(layout)], part.first(layout, self.direction)
                if (id(part.stands), place, first) in ends:
                    found.setdefault(first - 1, []).append((place, [part.stands]))
        return found

    @cached_property
    def cards(self) -> dict[int, dict[int, list[Lives]]]:
        """By number and first slot the cards that answer it."""
        alike: dict[tuple[int, int, int, int], list[Term]] = {}
        for part in self._parts:
            for layout, _ in part.layouts:
                place, first = self._places[id(layout)], part.first(layout, self.direction)
                alike.setdefault((part.slot - part.part, place, first, part.numbered), []).append(part.stands)
        found: dict[int, dict[int, list[Lives]]] = {}
        for (slot, place, first, numbered), terms in alike.items():
            for number in range(first, first + numbered):
                found.setdefault(number, {}).setdefault(slot, []).append((place, terms))
        return found

    def answered(self, model: cp_model.CpModel, lives: Sequence[Lives]) -> Term:
        """A term that holds only if one of those does that go with the layout that the frame has."""
        if len(self._layouts) == 1 or not lives:
            return _sum(lives)
        key = frozenset((place, id(term)) for place, terms in lives for term in terms)
        if key not in self._answers:
            term = self._answers[key] = model.new_bool_var("")
            every = {id(each): each for _, own in lives for each in own}
            model.add(term <= expression([(1, each) for each in every.values()]))
            alike = self._alike(lives)
            for chosen, own in alike if len(alike) > 1 else ():
                add(model, term + chosen - 1 <= own)
        return self._answers[key]

    def there(self, model: cp_model.CpModel, lives: Sequence[Lives]) -> Term:
        """A term that holds where one of those does that go with the layout that the frame has."""
        if len(self._layouts) == 1 or not lives:
            return _sum(lives)
        term = model.new_bool_var("")
        for chosen, own in self._alike(lives):
            add(model, term >= chosen - 1 + own)
        return term

    def _alike(self, lives: Iterable[Lives]) -> list[tuple[Term, Term]]:
        """Layouts under which the same holds, together: whether one of them does, and how many of those terms."""
        under: dict[int, list[Term]] = {}
        for place, terms in lives:
            under.setdefault(place, []).extend(terms)
        alike: dict[tuple[int, ...], list[int]] = {}
        for place in range(len(self._layouts)):
            alike.setdefault(tuple(sorted(map(id, under.get(place, ())))), []).append(place)
        return [
            (
                expression([(1, self._layouts[place][1]) for place in places]),
                expression([(1, term) for term in under.get(places[0], ())]),
            )
            for places in alike.values()
        ]


def _sum(lives: Sequence[Lives]) -> Term:
    return expression([(1, term) for _, terms in lives for term in terms])
