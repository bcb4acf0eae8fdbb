"""Needs that the lines of all cards but one have to serve, as rows of a model: the same rows for each loss."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from solver.room.kind import Kind, LineType, whole_lines
from solver.room.straps import Layout
from solver.room.survey import Need
from solver.room.words import DIRECTIONS, Direction
from solver.rules.limit import Load, Seat, Term
from solver.search.model.cpsat import cp_model
from solver.search.model.services import Services

Brought = Mapping[tuple[Direction, LineType], int]
"""Lines by direction and type."""


@dataclass(frozen=True, slots=True)
class Bringing:
    """Cards that bring the same lines, and how many there are; the seat where that is the one that they may have."""

    lines: Brought
    term: Term
    seat: Seat | None = None


@dataclass(frozen=True, slots=True)
class Left:
    """What a loss leaves: how many cards of each sort, and how many less."""

    cards: Sequence[Bringing]
    less: tuple[Brought, Term] | None = None

    def supply(self) -> dict[tuple[Direction, LineType], list[tuple[int, Term]]]:
        """Lines by direction and type."""
        found: dict[tuple[Direction, LineType], list[tuple[int, Term]]] = {}
        for own in self.cards:
            for key, count in own.lines.items():
                found.setdefault(key, []).append((count, own.term))
        if self.less is not None:
            lost, term = self.less
            for key, count in lost.items():
                found[key].append((-count, term))
        return found


def brought(seat: Seat, layout: Layout, silent: Callable[[Direction, int], Collection[int]]) -> Brought:
    """What a card brings in its place, as it can be set, without lines of which a channel serves nothing."""
    return lines_of(seat.kind, lambda direction, part: layout.block(direction, seat.slot + part).width, silent)


def _none(*_: object) -> Collection[int]:
    return ()


def lines_of(
    kind: Kind, width: Callable[[Direction, int], int], silent: Callable[[Direction, int], Collection[int]] = _none
) -> Brought:
    """What a card brings where its slots have so many numbers: by direction, and slot of the card from 0."""
    found = Counter[tuple[Direction, LineType]]()
    for direction in DIRECTIONS:
        for part in range(kind.span):
            own, most = set(silent(direction, part)), width(direction, part)
            left = (channel for channel in kind.on(direction, part) if not own & set(channel.line))
            for line_type, count in (whole_lines(left, most) if own else kind.lines(direction, part, most)).items():
                found[direction, line_type] += count
    return found


def by_slot(cards: Sequence[Bringing]) -> Iterable[Left]:
    """For each slot that a card may take all cards but those there, of which one stands at most."""
    slots = {(own.seat.site.index, slot) for own in cards if own.seat for slot in own.seat.covers}
    for site, slot in sorted(slots):
        yield Left([own for own in cards if own.seat and not (own.seat.site.index == site and slot in own.seat.covers)])


def by_sort(cards: Sequence[Bringing], any_of: Callable[[Load], Term]) -> Iterable[Left]:
    """For each sort of card one less of it, where there is any."""
    sorts: dict[frozenset[tuple[tuple[Direction, LineType], int]], list[Bringing]] = {}
    for own in cards:
        sorts.setdefault(frozenset(own.lines.items()), []).append(own)
    for alike in sorts.values():
        yield Left(cards, (alike[0].lines, any_of([(1, own.term) for own in alike])))


def state(model: cp_model.CpModel, services: Services, asked: Mapping[Need, Any], losses: Iterable[Left]) -> None:
    """Say that whatever is lost, what is left brings enough for these needs together."""
    for left in losses:
        own = Services(supply=left.supply(), once=services.once, whole_cards=services.whole_cards)
        for need, channels in asked.items():
            own.asked[need] = channels
            own.may[need] = [t for direction, t in own.supply if direction == need.direction and need.ask in t.asks]
        own.state(model)
