"""Which numbers carry the channels of needs that ask for certain ones, as terms of a model, slot by slot.

Where nothing that is asked of its numbers gives way, a need is stated by where its stretches begin: channels on numbers
that follow each other. Alike stretches of alike needs are counted together. Of other needs a term for each number says
whether it carries a channel. A number that carries one is answered by a line that can serve it; which, nothing has to
choose. The services are told what lines that takes from other needs.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from solver.room.kind import LineType
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Need
from solver.room.words import Direction
from solver.rules.limit import Number, Shape, Term, Tie
from solver.search.model.answered import Answering, LineThere, Side, Types
from solver.search.model.cpsat import cp_model
from solver.search.model.services import Services, add, expression


@dataclass(frozen=True, slots=True, eq=False)
class _Cover:
    """A channel of the need that owns it, if the term holds; of those with the same `one_of` one term at most does."""

    term: Term
    types: Types
    owner: object
    one_of: object = None


class _Carrying(Side):
    """The numbers of a direction of a frame, with what they may carry."""

    def __init__(
        self,
        site: FrameSite,
        direction: Direction,
        layouts: Sequence[tuple[Layout, Term]],
        parts: Sequence[Answering],
        bits: dict[LineType, Types],
    ) -> None:
        super().__init__(site, direction, layouts, parts, bits)
        self.carried: dict[int, list[_Cover]] = {}
        self.sure: set[int] = set()
        """Those that carry a channel whatever is built."""
        self.on_a_card: dict[int, list[Term]] = {}
        """By number what wants one card to answer it and the next one."""


@dataclass(frozen=True)
class _Stretch:
    """Channels on numbers that follow each other: by channel whether it is on the card of the one before.

    `begins` are the frames and numbers on which the first one may be.
    """

    cards: tuple[bool, ...]
    begins: tuple[tuple[int, int], ...]


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
        self._sides: dict[tuple[int, Direction], _Carrying] = {}
        self._bits: dict[Direction, dict[LineType, Types]] = {}
        self._may: dict[Need, Types] = {}
        self._begun: dict[object, tuple[tuple[int, int], ...]] = {}
        self._able: dict[tuple[int, Direction, Types], set[int]] = {}
        self._placed: dict[Need, Sequence[Shape]] = {}
        self._listed: set[Need] = set()
        self._numbers: dict[Need, list[Number]] = {}
        self._kept: dict[Need, list[Number]] = {}

    # What rules ask for

    def place(self, need: Need, shapes: Sequence[Shape], *, listed: bool) -> None:
        """Let a need have the shapes that rules ask of its channels, in order of numbers unless these are listed."""
        self._placed[need] = shapes
        if listed:
            self._listed.add(need)
        self._services.numbered.add(need)

    def has_placed(self, need: Need) -> bool:
        """Whether a need has shapes already."""
        return need in self._placed

    def of(self, need: Need, shapes: Sequence[Shape]) -> Sequence[Number]:
        """Every number that may carry a need, by frame and number, with the term that says that it does.

        One that no channel may be on is left out.
        """
        if need not in self._numbers:
            self._services.numbered.add(need)
            self._numbers[need] = self._terms_of_places(need) if need in self._placed else self._terms(need, shapes)
        return self._numbers[need]

    def keep(self, need: Need, numbers: Collection[tuple[int, int]]) -> dict[tuple[int, int], Term]:
        """By frame index and number terms that say that the need keeps it, of a need that asks for none.

        Beside them those of what else is on a line with one of these.
        """
        found: dict[tuple[int, int], Term] = {}
        types = self._types(need)
        for side in self._sides_of(need):
            frame = side.site.index
            own = {number for at, number in numbers if at == frame}
            lines = [line for number in own for line in side.at.get(number, ()) if line.types & types]
            for number in sorted({n for line in lines for n in range(line.first, line.first + line.grain)}):
                term = found[frame, number] = self._model.new_bool_var("")
                side.carried.setdefault(number, []).append(_Cover(term, types, need))
                self._kept.setdefault(need, []).append(Number(side.site, need.direction, number, term))
        return found

    def _terms(self, need: Need, shapes: Sequence[Shape]) -> list[Number]:
        """A variable for each number."""
        found = []
        types = self._types(need)
        only = [{shape.on(channel) for channel in range(need.demand)} for shape in shapes]
        for side in self._sides_of(need):
            frame = side.site.index
            for number in sorted(self._numbers_of(side, types)):
                if all(None in numbers or (frame, number) in numbers for numbers in only):
                    term = self._model.new_bool_var("")
                    found.append(Number(side.site, need.direction, number, term))
                    side.carried.setdefault(number, []).append(_Cover(term, types, need))
        return found

    def _terms_of_places(self, need: Need) -> list[Number]:
        """Sums of the places that cover a number, of this need alone."""
        self._state_places([need], self._stretches(need))
        found = []
        for side in self._sides_of(need):
            for number, covers in sorted(side.carried.items()):
                own = [(1, cover.term) for cover in covers if cover.owner is need]
                if own:
                    found.append(Number(side.site, need.direction, number, expression(own)))
        return found

    def on_one_card(self, number: Number) -> Term:
        """Whether one card answers a number and the next one."""
        side = self._side(number.site, number.direction)
        return side.answered(self._model, side.joined.get(number.number, ()))

    def on_cards(self, need: Need, shapes: Sequence[Shape]) -> dict[tuple[int, int], list[Term]]:
        """By frame index and first slot of a card which of its numbers carry a need, a term each."""
        found: dict[tuple[int, int], list[Term]] = {}
        for number in self.of(need, shapes):
            side = self._side(number.site, number.direction)
            cards = sorted(side.cards.get(number.number, {}).items())
            terms = [number.term] if len(cards) == 1 else [self._model.new_bool_var("") for _ in cards]
            for (slot, lives), term in zip(cards, terms, strict=True):
                found.setdefault((number.site.index, slot), []).append(term)
                if len(cards) > 1:
                    add(self._model, term <= side.answered(self._model, lives))
            if len(cards) > 1:
                add(self._model, expression([(1, term) for term in terms]) == number.term)
        return found

    # Numbers and what may answer them

    def _types(self, need: Need) -> Types:
        if need not in self._may:
            self._may[need] = self._mask(need.direction, self._services.may.get(need, ()))
        return self._may[need]

    def _mask(self, direction: Direction, types: Iterable[LineType]) -> Types:
        """Types of line as bits; those that can serve no need of the direction have none."""
        if direction not in self._bits:
            may = {t for need, own in self._services.may.items() if need.direction == direction for t in own}
            self._bits[direction] = {t: 1 << n for n, t in enumerate(sorted(may, key=lambda t: t.key))}
        return sum(self._bits[direction].get(line_type, 0) for line_type in types)

    def _sides_of(self, need: Need) -> list[_Carrying]:
        return [self._side(site, need.direction) for site in self._frames]

    def _side(self, site: FrameSite, direction: Direction) -> _Carrying:
        key = site.index, direction
        if key not in self._sides:
            self._mask(direction, ())
            parts = list(self._answering(site, direction))
            self._sides[key] = _Carrying(site, direction, self._layouts(site), parts, self._bits[direction])
        return self._sides[key]

    def _numbers_of(self, side: _Carrying, types: Types) -> set[int]:
        """The numbers that lines of some types may answer."""
        key = side.site.index, side.direction, types
        if key not in self._able:
            self._able[key] = side.able(types)
        return self._able[key]

    # Places

    def _stretches(self, need: Need) -> list[_Stretch]:
        """The stretches of a need in their order."""
        shapes, found = self._placed[need], []
        ties = [max((shape.tie(channel) for shape in shapes), default=Tie.NONE) for channel in range(need.demand)]
        begins = [channel for channel, tie in enumerate(ties) if not channel or tie == Tie.NONE]
        for first, end in zip(begins, [*begins[1:], need.demand], strict=True):
            cards = (False, *(ties[channel] == Tie.CARD for channel in range(first + 1, end)))
            found.append(_Stretch(cards, self._begins(need, first, cards)))
        return found

    def _begins(self, need: Need, first: int, cards: Sequence[bool]) -> tuple[tuple[int, int], ...]:
        """The frames and numbers on which a stretch may begin whose first channel is that one."""
        shapes, types = self._placed[need], self._types(need)
        steps = tuple((n, step) for n in range(len(cards)) for shape in shapes if (step := shape.step(first + n)) > 1)
        only = tuple((n, on) for n in range(len(cards)) for shape in shapes if (on := shape.on(first + n)) is not None)
        key = need.direction, types, cards, steps, only
        if key not in self._begun:
            self._begun[key] = tuple(
                (side.site.index, begin)
                for side in self._sides_of(need)
                for able in [self._numbers_of(side, types)]
                for begin in sorted({on[1] - n for n, on in only[:1]} if only else able)
                if all(on == (side.site.index, begin + n) for n, on in only)
                and all((begin + n - 1) % step == 0 for n, step in steps)
                and all(number in able for number in range(begin, begin + len(cards)))
                and all(begin + n - 1 in side.joined for n, on_card in enumerate(cards) if on_card)
            )
        return self._begun[key]

    def _state_places(self, needs: Sequence[Need], stretches: Sequence[_Stretch]) -> None:
        """As many alike stretches as some needs have, each somewhere; those of one need in their order."""
        owner: object = needs[0] if len(needs) == 1 else None
        before: dict[tuple[int, int], Term] = {}
        for stretch, alike in groupby(stretches):
            count = len(list(alike))
            terms = self._begin(needs[0].direction, stretch, count)
            for (frame, begin), term in terms.items():
                side = self._side(self._frames[frame], needs[0].direction)
                one_of = stretch if count == 1 else None
                cover = _Cover(term, self._types(needs[0]), owner or object(), one_of)
                if isinstance(term, int):
                    side.sure.update(range(begin, begin + len(stretch.cards)))
                for n, on_card in enumerate(stretch.cards):
                    side.carried.setdefault(begin + n, []).append(cover)
                    if on_card:
                        side.on_a_card.setdefault(begin + n - 1, []).append(term)
            for at, term in before.items():
                add(self._model, count * term <= expression([(1, t) for later, t in terms.items() if later > at]))
            before = {} if needs[0] in self._listed else terms

    def _begin(self, direction: Direction, stretch: _Stretch, count: int) -> dict[tuple[int, int], Term]:
        """Terms for the places where so many alike stretches begin."""
        sides = {frame: self._side(self._frames[frame], direction) for frame, _ in stretch.begins}
        length = len(stretch.cards)
        begins = [(f, n) for f, n in stretch.begins if sides[f].sure.isdisjoint(range(n, n + length))]
        if len(begins) <= count:
            if len(begins) < count:
                self._model.add_bool_or([])
            return dict.fromkeys(begins, 1)
        terms = {begin: self._model.new_bool_var("") for begin in begins}
        if count == 1:
            self._model.add_exactly_one(terms.values())
        else:
            add(self._model, expression([(1, term) for term in terms.values()]) == count)
        return terms

    def _pooled(self) -> Iterable[tuple[list[Need], list[_Stretch]]]:
        """Needs that are not told apart, those together that have nothing but alike stretches; fixed ones first."""
        pools: dict[object, tuple[list[Need], list[_Stretch]]] = {}
        for need in self._placed:
            if need in self._numbers:
                continue
            stretches = self._stretches(need)
            key: object = need
            if len(set(stretches)) == 1 and not self._may_share(need, stretches[0]):
                key = need.direction, self._types(need), stretches[0]
            pool = pools.setdefault(key, ([], []))
            pool[0].append(need)
            pool[1].extend(stretches)
        return sorted(pools.values(), key=lambda pool: any(len(s.begins) > 1 for s in pool[1]))

    def _may_share(self, need: Need, stretch: _Stretch) -> bool:
        """Whether two stretches that have no number in common may have channels of one line."""
        types, length = self._types(need), len(stretch.cards)
        for side in self._sides_of(need):
            begins = [begin for frame, begin in stretch.begins if frame == side.site.index]
            for (first, grain), lines in side.begins.items():
                if grain > 1 and any(line.types & types for line in lines):
                    on_it = [begin for begin in begins if first - length < begin < first + grain]
                    if on_it and on_it[-1] - on_it[0] >= length:
                        return True
        return False

    # What follows once all rules have spoken

    def finish(self) -> None:
        """Numbers that carry channels are answered by lines that can, each line has one need, and each need enough."""
        for need in self._placed:
            if need in self._services.loosely:
                self.of(need, ())
        for needs, stretches in self._pooled():
            self._state_places(needs, stretches)
        for need, numbers in self._numbers.items():
            if need not in self._placed:
                load: Any = expression([(1, number.term) for number in numbers])
                add(self._model, load == self._services.asked[need])
        for need, numbers in [*self._numbers.items(), *self._kept.items()]:
            for types, kept in self._services.loosely.get(need, ()):
                self._keep_to(numbers, self._mask(need.direction, types), kept)
        for side in self._sides.values():
            self._carry_what_is_answered(side)
            self._serve_one_need(side)
            for number, terms in side.on_a_card.items():
                joined = side.answered(self._model, side.joined.get(number, ()))
                add(self._model, expression([(1, term) for term in terms]) <= joined)

    def _keep_to(self, numbers: Sequence[Number], types: Types, kept: Term) -> None:
        """Numbers that carry a need are answered by lines of some types while a term is 1."""
        for own in numbers:
            side = self._side(own.site, own.direction)
            lives = [side.lives[line.lives] for line in side.at.get(own.number, ()) if line.types & types]
            answered = side.answered(self._model, lives)
            add(self._model, expression([(1, own.term), (1, kept)]) - 1 <= answered)

    def _carry_what_is_answered(self, side: _Carrying) -> None:
        """A number carries one channel at most, and only if a line answers it that can serve it."""
        stated: set[object] = set()
        for number, covers in sorted(side.carried.items(), reverse=True):
            asked = {cover.types for cover in covers}
            every = _union(asked)
            # Where one line can serve what asks for different ones, these are not kept apart by the lines alone.
            shared = len(asked) > 1 and every.bit_count() < sum(types.bit_count() for types in asked)
            for types in [*asked, every] if shared else asked:
                own = [cover.term for cover in covers if not cover.types & ~types]
                lives = tuple(line.lives for line in side.at.get(number, ()) if line.types & types)
                row = tuple(map(id, own)), lives
                if row not in stated:
                    stated.add(row)
                    answered = side.answered(self._model, [side.lives[n] for n in lives])
                    add(self._model, expression([(1, term) for term in own]) <= answered)

    def _serve_one_need(self, side: _Carrying) -> None:
        """A line of several channels has those of one need: where they lie alike on all its numbers they are one."""
        for (first, grain), lines in side.begins.items():
            if grain == 1:
                continue
            able = _union(line.types for line in lines)
            numbers = range(first, first + grain)
            covers = [[own for own in side.carried.get(n, ()) if own.types & able] for n in numbers]
            by_owner: dict[object, dict[int, _Cover]] = {}
            for cover in (cover for own in covers for cover in own):
                by_owner.setdefault(cover.owner, {})[id(cover)] = cover
            if len(by_owner) > 1 and any(own != covers[0] for own in covers):
                most = min(grain, len(by_owner))
                owners = [self._any(list(own.values())) for own in by_owner.values()]
                there = side.there(self._model, [side.lives[line.lives] for line in lines])
                add(self._model, expression([(1, own) for own in owners]) + (most - 1) * there <= most)

    def _any(self, covers: Sequence[_Cover]) -> Term:
        """Whether any of some covers of one need holds."""
        if any(isinstance(cover.term, int) for cover in covers):
            return 1
        if len(covers) == 1 or (covers[0].one_of and len({cover.one_of for cover in covers}) == 1):
            return expression([(1, cover.term) for cover in covers])
        some = self._model.new_bool_var("")
        for cover in covers:
            self._model.add(some >= cover.term)
        return some

    def lines_taken(
        self, model: cp_model.CpModel, direction: Direction, types: Collection[LineType], but: Collection[LineType]
    ) -> list[Term]:
        """Lines of some types that needs which ask for numbers have, each with a term that is 1 where it is taken.

        Those of needs that only lines of `but` can serve are left out.
        """
        own, others = self._mask(direction, types), self._mask(direction, but)
        found: list[Term] = []
        for side in (side for side in self._sides.values() if side.direction == direction):
            for lines in side.begins.values():
                some = [line for line in lines if line.types & own]
                carried = list(_carried(side, some, others)) if some else []
                if carried:
                    found.append(_taken(model, side, some, carried))
        return found


def _union(masks: Iterable[Types]) -> Types:
    """All types of several."""
    every = 0
    for types in masks:
        every |= types
    return every


def _carried(side: _Carrying, lines: Sequence[LineThere], but: Types) -> Iterator[tuple[Term, bool]]:
    """By number whether it carries a channel that lines from one number on can serve; and whether no others can."""
    able = _union(line.types for line in lines)
    for number in range(lines[0].first, lines[0].first + lines[0].grain):
        covers = [c for c in side.carried.get(number, ()) if c.types & able and c.types & ~but]
        if covers:
            every = _union(cover.types for cover in covers)
            sure = all(line in lines for line in side.at[number] if line.types & every)
            yield expression([(1, cover.term) for cover in covers]), sure


def _taken(
    model: cp_model.CpModel, side: _Carrying, lines: Sequence[LineThere], carried: Sequence[tuple[Term, bool]]
) -> Term:
    """Whether a line is there and carries a channel on any of its numbers."""
    carries, sure = carried[0]
    if len(carried) == 1 and sure:
        return carries
    there = 1 if all(sure for _, sure in carried) else side.there(model, [side.lives[line.lives] for line in lines])
    if len(carried) == 1 and isinstance(carries, int):
        return there
    taken = model.new_bool_var("")
    for carries, sure in carried:
        add(model, taken >= (carries if sure else carries + there - 1))
    return taken
