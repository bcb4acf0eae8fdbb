"""What could not be seated, kept out of a model over runs for every frame and layout in which it cannot be either."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from solver import rules
from solver.room.straps import Layout
from solver.room.words import DIRECTIONS, Direction
from solver.search.model.services import expression
from solver.search.model.statement import Placement, RoomStatement, StatedOption
from solver.search.solve.given import cards_in_use, numbers_up_to
from solver.search.solve.seat import CardsAsked, FrameAsked, is_as_hard, may_lack


@dataclass(frozen=True)
class Cut:
    """What cannot stand in a frame, whatever else does; `alike` says in which frames it cannot either."""

    asked: FrameAsked
    alike: str


@dataclass
class Known:
    """What frames are known to hold: where it stands, None where it cannot, and the least of it that cannot."""

    seats: dict[object, tuple[tuple[int, str], ...] | None] = field(default_factory=dict)
    cuts: list[Cut] = field(default_factory=list)


class Cuts:
    """Rows of one model that keep out what cannot be seated."""

    def __init__(self, room: RoomStatement, alike: Sequence[str]) -> None:
        self._room = room
        self._alike = alike
        self._literals: dict[object, Any] = {}

    def keep_out(self, cut: Cut) -> None:
        """For every alike frame and every layout with the same places."""
        asked = cut.asked
        for own in self._room.frames:
            for option in own:
                if (
                    option.layout is None
                    or self._alike[option.site.index] != cut.alike
                    or option.layout.board != asked.layout.board
                    or (asked.lacking and not _numbers_alike(option.layout, asked.layout))
                ):
                    continue
                self._keep_out(asked, option)

    def _keep_out(self, asked: FrameAsked, option: StatedOption) -> None:
        ways: list[Any] = []
        directions: set[Direction] = set()
        there = self._as_hard(asked, option)
        counted = {id(placed) for _, inside in there for placed in inside}
        for placed in option.placements:
            if id(placed) not in counted and may_lack(asked, placed.kind, placed.starts):
                ways.append(self._at_most([(-1, placed.term)], -1))
        for own, inside in there:
            if not inside:
                return
            if may_lack(asked, own.kind, own.starts):
                ways.append(self._at_most([(-1, p.term) for p in inside], -own.count - 1))
            ways.append(self._at_most([(1, p.term) for p in inside], own.count - 1))
            for direction, part, number in own.used:
                if not number:
                    continue
                directions.add(direction)
                in_use = [each for p in inside for each in cards_in_use(option, p)]
                terms = [(1, t) for q, d, t, _ in in_use if (q, d) == (part, direction)]
                ways.append(self._at_most(terms, number - 1))
        directions |= set(asked.lacking)
        for direction in sorted(directions):
            ways += self._reaches(option, direction, asked.ends[direction] + 1)
            if direction in asked.lacking:
                ways += self._falls_short(option, direction, asked.ends[direction])
                ways.append(self._lacks_less(asked, option, direction))
        self._room.model.add_bool_or([way for way in ways if way is not None] or [False])

    def _as_hard(self, asked: FrameAsked, option: StatedOption) -> list[tuple[CardsAsked, list[Placement]]]:
        """For each of the cards what stands there and has no more room: those, and kinds that more is kept apart from.

        Each card counts for one of them. Where numbers are lacking it is just those, for other kinds lack others.
        """
        found: list[tuple[CardsAsked, list[Placement]]] = [(own, []) for own in asked.cards if own.count]
        every = [*self._room.survey.kinds.values()]  # a cut may name cards that this model does not have
        apart = rules.apart(self._room.survey, option.site, asked.layout.board, every, asked.margin_mk)
        for placed in option.placements:
            there = [entry for entry in found if set(placed.starts) <= set(entry[0].starts)]
            for own, inside in there:
                if placed.kind.id in own.ids:
                    inside.append(placed)
                    break
            else:
                harder = [] if asked.lacking else [e for e in there if is_as_hard(placed.kind, e[0].kind, apart)]
                for _, inside in harder[:1]:
                    inside.append(placed)
        return found

    def _at_most(self, load: Sequence[tuple[int, Any]], most: int) -> Any:
        """A literal that keeps a load within a value."""
        key = tuple(sorted((amount, term.index) for amount, term in load)), most
        if key not in self._literals:
            literal: Any = self._room.model.new_bool_var("")
            constraint = expression(list(load)) <= most
            if isinstance(constraint, bool):
                literal = constraint
            else:
                self._room.model.add(constraint).only_enforce_if(literal)
            self._literals[key] = literal
        return self._literals[key]

    def _reaches(self, option: StatedOption, direction: Direction, slot: int) -> list[Any]:
        """Literals of which one says that a slot or a later one is in use."""
        lengths = {run.slots[0]: len(run.slots) for run in option.runs}
        for first, up_to in option.last_slots.get(direction, []):
            if first + lengths[first] - 1 >= slot:
                return [self._at_most([(-1, up_to)], -max(1, slot - first + 1))]
        return []

    def _falls_short(self, option: StatedOption, direction: Direction, slot: int) -> list[Any]:
        """Literals of which one says that no slot from this one on is in use."""
        lengths = {run.slots[0]: len(run.slots) for run in option.runs}
        for first, up_to in option.last_slots.get(direction, []):
            if first + lengths[first] - 1 >= slot:
                return [self._at_most([(1, up_to)], max(1, slot - first + 1) - 1)]
        return [True]

    def _lacks_less(self, asked: FrameAsked, option: StatedOption, direction: Direction) -> Any:
        """A literal that says that holes and numbers answered make up for more of those reached."""
        assert option.layout is not None
        load = [(-1, option.holes[direction])]
        for placed in option.placements:
            load += [(-n, t) for _, d, t, n in cards_in_use(option, placed) if d == direction]
        reached = numbers_up_to(option.layout, direction, asked.ends[direction])
        return self._at_most(load, asked.lacking[direction] - 1 - reached)

    def no_such_cards(self, options: Sequence[StatedOption], value: Callable[[Any], int]) -> None:
        """Other numbers of some card in some frame than in a solution, whatever runs it is over; settings are given."""
        ways: list[Any] = []
        for option in options:
            loads: dict[str, list[tuple[int, Any]]] = {}
            for placed in option.placements:
                loads.setdefault(placed.kind.id, []).append((1, placed.term))
            for load in loads.values():
                count = sum(value(term) for _, term in load)
                if count:
                    ways.append(self._at_most(load, count - 1))
                ways.append(self._at_most([(-1, term) for _, term in load], -count - 1))
        self._room.model.add_bool_or(ways or [False])

    def no_such_counts(self, options: Sequence[StatedOption], value: Callable[[Any], int]) -> None:
        """Other settings, or other numbers of some card over some run, than in a solution."""
        ways: list[Any] = []
        for option in options:
            if not isinstance(option.chosen, int):
                ways.append(~option.chosen)
            for placed in option.placements:
                count = value(placed.term)
                if count:
                    ways.append(self._at_most([(1, placed.term)], count - 1))
                if count < len(placed.starts):
                    ways.append(self._at_most([(-1, placed.term)], -count - 1))
        self._room.model.add_bool_or(ways or [False])


def _numbers_alike(one: Layout, other: Layout) -> bool:
    """Whether two layouts give every slot the same numbers."""
    return all(one.blocks(d) == other.blocks(d) for d in DIRECTIONS)
