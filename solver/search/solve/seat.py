"""Whether what a room over runs gives one frame can stand in its slots, and what of it cannot where it does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from solver import rules
from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Survey
from solver.room.words import Direction
from solver.rules.limit import Apart
from solver.search.model.cpsat import Model, cp_model, steady_solver
from solver.search.solve.clock import Clock


@dataclass(frozen=True)
class CardsAsked:
    """So many cards of a kind, and the slots in which they may begin."""

    kind: Kind
    starts: tuple[int, ...]
    count: int
    used: tuple[tuple[Direction, int, int], ...] = ()
    """Direction, part of the card, of how many of them that part stands no further than the last slot in use."""

    instead_of: tuple[str, ...] = ()
    """The ids of the cards in whose place these are asked."""

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids of the cards that are meant."""
        return self.instead_of or (self.kind.id,)


@dataclass(frozen=True)
class FrameAsked:
    """What is asked of a frame: cards, the last slot in use by direction, how many of its numbers its card lacks."""

    site: FrameSite
    layout: Layout
    cards: tuple[CardsAsked, ...]
    ends: Mapping[Direction, int]
    """Only where holes count."""
    lacking: Mapping[Direction, int]
    margin_mk: int


@dataclass(frozen=True)
class FrameSeats:
    """Where the cards stand: first slot and card id; None where they cannot. `sure` says that it is proven."""

    cards: tuple[tuple[int, str], ...] | None
    sure: bool = True


@dataclass(frozen=True)
class _Seat:
    own: CardsAsked
    start: int
    term: Any

    @property
    def last(self) -> int:
        return self.start + self.own.kind.span - 1


def seat(survey: Survey, asked: FrameAsked, clock: Clock) -> FrameSeats:
    """Cards in slots of one frame: so many of each, far enough to the front, and no neighbours that a rule forbids."""
    kinds = list({own.kind.id: own.kind for own in asked.cards if own.count}.values())
    apart = rules.apart(survey, asked.site, asked.layout.board, kinds, asked.margin_mk)
    if any(kind.id in one.alone for one in apart for kind in kinds):
        return FrameSeats(None)
    model = Model()
    seats = [_Seat(own, start, model.new_bool_var("")) for own in asked.cards if own.count for start in own.starts]
    for own in asked.cards:
        taken = [each for each in seats if each.own is own]
        if own.count:
            model.add(cp_model.LinearExpr.sum([each.term for each in taken]) == own.count)
        for direction, part, number in own.used:
            if number and direction in asked.ends:
                within = [each.term for each in taken if each.start + part <= asked.ends[direction]]
                model.add(cp_model.LinearExpr.sum(within) >= number)
    for slot in asked.site.slots:
        here = [each.term for each in seats if each.start <= slot <= each.last]
        if len(here) > 1:
            model.add_at_most_one(here)
        for clash in (clash for one in apart for clash in one.clashes):
            lefts = [each.term for each in seats if each.last == slot and each.own.kind.id in clash.lefts]
            rights = [each.term for each in seats if each.start == slot + 1 and each.own.kind.id in clash.rights]
            if lefts and rights:
                model.add_at_most_one([*lefts, *rights])
    for direction, least in asked.lacking.items():
        if least > 0:
            model.add_bool_or(_lacking_at(asked, seats, direction))
    solver = steady_solver()
    solver.parameters.cp_model_presolve = False
    solver.parameters.symmetry_level = 0
    status = clock.solve(solver, model)
    if status not in ("proven", "found"):
        return FrameSeats(None, sure=status == "none")
    return FrameSeats(tuple(sorted((s.start, s.own.kind.id) for s in seats if solver.boolean_value(s.term))))


def _lacking_at(asked: FrameAsked, seats: Sequence[_Seat], direction: Direction) -> list[Any]:
    """The cards whose part in the last slot in use lacks enough of its numbers."""
    return [each.term for each in seats if _lacks_at(asked, each.own.kind, each.start, direction)]


def _lacks_at(asked: FrameAsked, kind: Kind, start: int, direction: Direction) -> bool:
    end = asked.ends.get(direction, 0)
    if not end or not 0 <= end - start < kind.span:
        return False
    width = asked.layout.block(direction, end).width
    answered = min(width, len(kind.on(direction, end - start)))
    return answered > 0 and width - answered >= asked.lacking[direction]


def may_lack(asked: FrameAsked, kind: Kind, starts: Sequence[int]) -> bool:
    """Whether a card may be the one in the last slot in use that has to lack numbers, so that more of it may help."""
    return any(_lacks_at(asked, kind, start, direction) for direction in asked.lacking for start in starts)


def core(survey: Survey, asked: FrameAsked, clock: Clock) -> FrameAsked:
    """As little of what cannot stand as still cannot: fewer cards, fewer of them in use, no particular last card.

    Cards are those that are kept apart from the fewest, ones that nothing tells apart are counted together, and what is
    in use ends as late as may be. So that what is found says as much as can be of other cards. Where numbers have to be
    lacking in the last slot in use, cards that may lack them there stay as they are: one more of them could stand.
    """

    def fails(less: FrameAsked) -> bool:
        found = seat(survey, less, clock)
        return found.cards is None and found.sure

    bare = replace(asked, cards=tuple(replace(a, used=()) for a in asked.cards), lacking={})
    for less in (replace(asked, lacking={}), bare):
        if less != asked and fails(less):
            asked = less
    if not asked.lacking:
        apart = rules.apart(survey, asked.site, asked.layout.board, [*survey.kinds.values()], asked.margin_mk)
        for index, own in enumerate(asked.cards):
            others = _easier(survey, own.kind, apart) if own.count else []
            lighter = [_with(asked, index, replace(own, kind=kind, instead_of=own.ids)) for kind in others]
            asked = next((less for less in lighter if fails(less)), asked)
        for own in asked.cards:
            for other in asked.cards:
                both = _as_one(asked, other, own, apart)
                if both is not None and fails(both):
                    asked = both
                    break
    for index in range(len(asked.cards)):
        own = asked.cards[index]
        counts = range(0) if may_lack(asked, own.kind, own.starts) else range(own.count)
        fewer = (_with(asked, index, _fewer(own, count)) for count in counts)
        asked = next((less for less in fewer if fails(less)), asked)
        for at in range(len(asked.cards[index].used)):
            own = asked.cards[index]
            less = _with(asked, index, replace(own, used=_without(own.used, at)))
            asked = less if fails(less) else asked
    asked = replace(asked, cards=tuple(own for own in asked.cards if own.count))
    for direction in sorted({d for own in asked.cards for d, _, number in own.used if number}):
        for end in range(asked.ends[direction] + 1, max(asked.site.slots) + 1):
            less = replace(asked, ends={**asked.ends, direction: end})
            if asked.lacking or not fails(less):
                break
            asked = less
    return asked


def is_as_hard(kind: Kind, than: Kind, apart: Sequence[Apart]) -> bool:
    """Whether wherever a card can stand, so can another of its size."""
    return kind.span == than.span and all(
        (than.id not in one.alone or kind.id in one.alone)
        and all(
            (than.id not in clash.lefts or kind.id in clash.lefts)
            and (than.id not in clash.rights or kind.id in clash.rights)
            for clash in one.clashes
        )
        for one in apart
    )


def _are_alike(one: Kind, other: Kind, apart: Sequence[Apart]) -> bool:
    return is_as_hard(one, other, apart) and is_as_hard(other, one, apart)


def _easier(survey: Survey, kind: Kind, apart: Sequence[Apart]) -> list[Kind]:
    """One of each sort of card that can stand wherever a card can, those first that are kept apart from the fewest."""

    def kept_apart(own: Kind) -> int:
        clashes = [clash for one in apart for clash in one.clashes]
        return sum(len(c.rights) * (own.id in c.lefts) + len(c.lefts) * (own.id in c.rights) for c in clashes)

    easier = [own for own in survey.kinds.values() if is_as_hard(kind, own, apart)]
    sorts: list[Kind] = []
    for own in sorted(easier, key=lambda own: (kept_apart(own), own.id)):
        if not any(_are_alike(own, other, apart) for other in [kind, *sorts]):
            sorts.append(own)
    return sorts


def _as_one(asked: FrameAsked, one: CardsAsked, other: CardsAsked, apart: Sequence[Apart]) -> FrameAsked | None:
    """Cards that may begin in the same slots and that nothing tells apart, counted as one; None where they are not."""
    if one == other or other not in asked.cards or not one.count or not other.count:
        return None
    if one.starts != other.starts or not _are_alike(one.kind, other.kind, apart):
        return None
    used = {(d, part): number for d, part, number in one.used}
    for d, part, number in other.used:
        used[d, part] = used.get((d, part), 0) + number
    in_use = tuple((d, part, number) for (d, part), number in used.items())
    both = replace(one, count=one.count + other.count, used=in_use, instead_of=(*one.ids, *other.ids))
    return replace(asked, cards=(both, *(own for own in asked.cards if own not in (one, other))))


def _without(used: Sequence[tuple[Direction, int, int]], at: int) -> tuple[tuple[Direction, int, int], ...]:
    return tuple((d, part, 0 if n == at else number) for n, (d, part, number) in enumerate(used))


def _with(asked: FrameAsked, index: int, own: CardsAsked) -> FrameAsked:
    return replace(asked, cards=(*asked.cards[:index], own, *asked.cards[index + 1 :]))


def _fewer(own: CardsAsked, count: int) -> CardsAsked:
    return replace(own, count=count, used=tuple((d, p, min(u, count)) for d, p, u in own.used))
