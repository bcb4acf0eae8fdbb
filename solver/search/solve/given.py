"""What a solution of a model over runs gives a frame, in the form in which its slots are asked for it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from solver.room.straps import Layout
from solver.room.words import DIRECTIONS, Direction
from solver.search.model.alike import Given
from solver.search.model.services import add, expression
from solver.search.model.statement import Placement, RoomStatement, StatedOption
from solver.search.solve.seat import CardsAsked, FrameAsked


def asked_of(option: StatedOption, value: Callable[[Any], int], margin_mk: int) -> FrameAsked | None:
    """What a solution gives a frame; None where it is not used."""
    if option.layout is None:
        return None
    cards = []
    answered = dict.fromkeys(DIRECTIONS, 0)
    for placed in option.placements:
        count = value(placed.term)
        if not count:
            continue
        used = []
        for part, direction, term, numbers in cards_in_use(option, placed):
            own = value(term)
            answered[direction] += own * numbers
            if own:
                used.append((direction, part, own))
        cards.append(CardsAsked(placed.kind, tuple(placed.starts), count, tuple(used)))
    ends = {d: last_in_use(option, d, value) for d in option.last_slots}
    lacking = {}
    for direction, end in ends.items():
        missing = numbers_up_to(option.layout, direction, end) - answered[direction] - value(option.holes[direction])
        if missing > 0:
            lacking[direction] = missing
    return FrameAsked(option.site, option.layout, tuple(cards), ends, lacking, margin_mk)


def numbers_up_to(layout: Layout, direction: Direction, end: int) -> int:
    """The numbers up to a slot."""
    return sum(layout.block(direction, slot).width for slot in range(1, end + 1))


def cards_in_use(option: StatedOption, placed: Placement) -> list[tuple[int, Direction, Any, int]]:
    """Part, direction, how many of its cards are in use there, and the numbers that each answers."""
    assert option.layout is not None
    found = []
    for part, run in enumerate(placed.runs):
        _, terms = option.in_use.get((id(placed), part), (run, []))
        slot = placed.starts[0] + part
        numbers = {d: min(len(placed.kind.on(d, part)), option.layout.block(d, slot).width) for d in DIRECTIONS}
        sides = [d for d in DIRECTIONS if numbers[d]]
        found += [(part, d, term, numbers[d]) for d, term in zip(sides, terms, strict=True)]
    return found


def last_in_use(option: StatedOption, direction: Direction, value: Callable[[Any], int]) -> int:
    """The last slot in use; 0 for none."""
    last = 0
    for first, up_to in option.last_slots.get(direction, []):
        reached = value(up_to)
        if reached:
            last = first + reached - 1
    return last


def fill_as(room: RoomStatement, frames: Sequence[Given | None]) -> None:
    """Frames end in the runs that a counting model gives them, and hold its cards together."""
    together: dict[int, tuple[Given, list[StatedOption]]] = {}
    for (option,), given in zip(room.frames, frames, strict=False):
        if given is None:
            continue
        together.setdefault(id(given), (given, []))[1].append(option)
        for direction, ends in option.last_slots.items():
            end = given.own.ends[direction]
            first = 0 if end is None else given.own.runs[end][0]
            for slot, up_to in ends:
                if slot == first:
                    room.model.add(up_to >= 1)
                elif slot > first:
                    room.model.add(up_to == 0)
    for given, options in together.values():
        for place, number in given.counts:
            ids = {kind.id for kind in place.kinds}
            own = [p for o in options for p in o.placements if p.runs == place.runs and p.kind.id in ids]
            add(room.model, expression([(1, p.term) for p in own]) == number)
