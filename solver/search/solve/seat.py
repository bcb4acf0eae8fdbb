"""Whether what a room over runs gives one frame can stand in its slots, and what of it cannot where it does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from solver import rules
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Kind, Survey
from solver.room.words import Direction
from solver.search.model.cpsat import Model, cp_model
from solver.search.solve.clock import Clock


@dataclass(frozen=True)
class Asked:
    """So many cards of a kind that begin in some slots, and how many of them each part needs within the end in use."""

    kind: Kind
    starts: tuple[int, ...]
    count: int
    used: tuple[tuple[Direction, int, int], ...] = ()
    """Direction, part and number of those that have to stand within the last slot in use."""


@dataclass(frozen=True)
class FrameAsked:
    """What is asked of a frame: cards, the last slots in use, and how many numbers the card there has to lack."""

    site: FrameSite
    layout: Layout
    cards: tuple[Asked, ...]
    ends: Mapping[Direction, int]
    """Only where holes count."""
    lacking: Mapping[Direction, int]
    margin_mk: int


@dataclass(frozen=True)
class Seated:
    """Where the cards stand: first slot and card id; None where they cannot. `sure` says that it is proven."""

    cards: tuple[tuple[int, str], ...] | None
    sure: bool = True


@dataclass(frozen=True)
class _Place:
    own: Asked
    start: int
    term: Any

    @property
    def last(self) -> int:
        return self.start + self.own.kind.span - 1


def seat(survey: Survey, asked: FrameAsked, clock: Clock) -> Seated:
    """Cards in slots of one frame: so many of each, far enough to the front, and no neighbours that a rule forbids."""
    kinds = list({own.kind.id: own.kind for own in asked.cards if own.count}.values())
    apart = rules.apart(survey, asked.site, asked.layout.board, kinds, asked.margin_mk)
    if any(kind.id in one.alone for one in apart for kind in kinds):
        return Seated(None)
    model = Model()
    places = [_Place(own, start, model.new_bool_var("")) for own in asked.cards if own.count for start in own.starts]
    for own in asked.cards:
        taken = [place for place in places if place.own is own]
        if own.count:
            model.add(cp_model.LinearExpr.sum([place.term for place in taken]) == own.count)
        for direction, part, number in own.used:
            if number and direction in asked.ends:
                within = [place.term for place in taken if place.start + part <= asked.ends[direction]]
                model.add(cp_model.LinearExpr.sum(within) >= number)
    for slot in asked.site.slots:
        here = [place.term for place in places if place.start <= slot <= place.last]
        if len(here) > 1:
            model.add_at_most_one(here)
        for clash in (clash for one in apart for clash in one.clashes):
            lefts = [p.term for p in places if p.last == slot and p.own.kind.id in clash.lefts]
            rights = [p.term for p in places if p.start == slot + 1 and p.own.kind.id in clash.rights]
            if lefts and rights:
                model.add_at_most_one([*lefts, *rights])
    for direction, least in asked.lacking.items():
        if least > 0:
            model.add_bool_or(_lacking_at(asked, places, direction, least))
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.random_seed = 1
    parameters.cp_model_presolve = False
    parameters.symmetry_level = 0
    parameters.catch_sigint_signal = False
    status = clock.solve(solver, model)
    if status not in ("proven", "found"):
        return Seated(None, sure=status == "none")
    return Seated(tuple(sorted((p.start, p.own.kind.id) for p in places if solver.boolean_value(p.term))))


def _lacking_at(asked: FrameAsked, places: Sequence[_Place], direction: Direction, least: int) -> list[Any]:
    """The cards whose part in the last slot in use lacks enough of its numbers."""
    end = asked.ends.get(direction, 0)
    width = asked.layout.block(direction, end).width if end else 0
    found = []
    for place in places:
        part = end - place.start
        if 0 <= part < place.own.kind.span:
            answered = min(width, len(place.own.kind.on(direction, part)))
            if answered and width - answered >= least:
                found.append(place.term)
    return found


def core(survey: Survey, asked: FrameAsked, clock: Clock) -> FrameAsked:
    """As little of what cannot stand as still cannot: fewer cards, fewer of them in use, no particular last card."""

    def fails(less: FrameAsked) -> bool:
        found = seat(survey, less, clock)
        return found.cards is None and found.sure

    bare = replace(asked, cards=tuple(replace(a, used=()) for a in asked.cards), lacking={})
    for less in (replace(asked, lacking={}), bare):
        if less != asked and fails(less):
            asked = less
    for index in range(len(asked.cards)):
        own = asked.cards[index]
        fewer = (_with(asked, index, _fewer(own, count)) for count in range(own.count))
        asked = next((less for less in fewer if fails(less)), asked)
        for place in range(len(asked.cards[index].used)):
            own = asked.cards[index]
            less = _with(asked, index, replace(own, used=_without(own.used, place)))
            asked = less if fails(less) else asked
    return asked


def _without(used: Sequence[tuple[Direction, int, int]], place: int) -> tuple[tuple[Direction, int, int], ...]:
    return tuple((d, part, 0 if n == place else number) for n, (d, part, number) in enumerate(used))


def _with(asked: FrameAsked, index: int, own: Asked) -> FrameAsked:
    return replace(asked, cards=(*asked.cards[:index], own, *asked.cards[index + 1 :]))


def _fewer(own: Asked, count: int) -> Asked:
    return replace(own, count=count, used=tuple((d, p, min(u, count)) for d, p, u in own.used))
