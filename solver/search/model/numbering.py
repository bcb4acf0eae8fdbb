"""Which numbers carry the channels of needs that ask for certain ones, as terms of a model, slot by slot.

Where nothing that is asked of its numbers gives way, a need is stated by where its stretches begin: channels on numbers
that follow each other. Alike stretches of alike needs are counted together. Of other needs a term for each number says
whether it carries a channel. A number that carries one is answered by a line that can serve it; which, nothing has to
choose. The services are told what lines that takes from other needs.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, TypeAlias

from solver.room.straps import Layout
from solver.room.survey import FrameSite, Kind, LineType, Need
from solver.room.words import Direction
from solver.rules.limit import Number, Shape, Term, Tie
from solver.search.model.cpsat import cp_model
from solver.search.model.services import Services, add, expression


@dataclass(frozen=True, slots=True)
class Answering:
    """The part of a card on a slot, the channels of it that have numbers, and the layouts that give it as many.

    `live` says whether these serve anything, `stands` whether the card is there.
    """

    slot: int
    kind: Kind
    part: int
    numbered: int
    live: Term
    stands: Term
    layouts: Sequence[tuple[Layout, Term]]

    def first(self, layout: Layout, direction: Direction) -> int:
        """The number of its first channel."""
        return layout.block(direction, self.slot).first


Under: TypeAlias = dict[int, list[Term]]
"""By the place of a layout among those of its frame, terms of which one at most holds under it."""

Types: TypeAlias = frozenset[LineType]


@dataclass
class _Side:
    """What may answer the numbers of one direction of a frame."""

    site: FrameSite
    direction: Direction
    lines: dict[tuple[int, LineType], Under] = field(default_factory=dict)
    """By first number and type."""
    at: dict[int, set[tuple[int, LineType]]] = field(default_factory=dict)
    """By number the lines that it may be part of."""
    joined: dict[int, Under] = field(default_factory=dict)
    """By number the cards that answer it and the next one."""
    taken: dict[int, list[_Cover]] = field(default_factory=dict)
    """By number what may carry a channel there."""
    on_a_card: dict[int, list[Term]] = field(default_factory=dict)
    """By number what wants one card to answer it and the next one."""

    def under(self, keys: Iterable[tuple[int, LineType]]) -> Under:
        """Several lines as one."""
        found: Under = {}
        for key in keys:
            for place, terms in self.lines.get(key, {}).items():
                found.setdefault(place, []).extend(terms)
        return found


@dataclass(frozen=True, slots=True, eq=False)
class _Cover:
    """A channel of the need that owns it, if the term holds; of those with the same `one_of` one term at most does."""

    term: Term
    types: Types
    owner: object
    one_of: object = None


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
        self._sides: dict[tuple[int, Direction], _Side] = {}
        self._placed: dict[Need, Sequence[Shape]] = {}
        self._numbers: dict[Need, list[Number]] = {}
        self._answers: dict[object, Term] = {}

    # What rules ask for

    def place(self, need: Need, shapes: Sequence[Shape]) -> None:
        """Let a need have the shapes that rules ask of its channels."""
        self._placed[need] = shapes
        self._services.numbered.add(need)

    def of(self, need: Need, shapes: Sequence[Shape]) -> Sequence[Number]:
        """Every number that may carry a need, by frame and number, with the term that says that it does.

        One that no channel may be on is left out.
        """
        if need not in self._numbers:
            self._services.numbered.add(need)
            self._numbers[need] = self._terms_of_places(need) if need in self._placed else self._terms(need, shapes)
        return self._numbers[need]

    def _terms(self, need: Need, shapes: Sequence[Shape]) -> list[Number]:
        """A variable for each number."""
        found = []
        types = self._types(need)
        for side in self._sides_of(need):
            numbers = sorted(n for n, own in side.at.items() if any(t in types for _, t in own))
            for number in numbers:
                if any(all(s.bars(side.site.index, number, channel) for channel in range(need.demand)) for s in shapes):
                    continue
                term = self._model.new_bool_var("")
                found.append(Number(side.site, need.direction, number, term))
                side.taken.setdefault(number, []).append(_Cover(term, types, need))
        return found

    def _terms_of_places(self, need: Need) -> list[Number]:
        """Sums of the places that cover a number, of this need alone."""
        self._state_places([need], self._stretches(need))
        found = []
        for side in self._sides_of(need):
            for number, covers in sorted(side.taken.items()):
                own = [(1, cover.term) for cover in covers if cover.owner is need]
                if own:
                    found.append(Number(side.site, need.direction, number, expression(own)))
        return found

    def on_one_card(self, number: Number) -> Term:
        """Whether one card answers a number and the next one."""
        side = self._side(number.site, number.direction)
        return self._if_only(side.site, side.joined.get(number.number, {}))

    # Numbers and what may answer them

    def _types(self, need: Need) -> Types:
        return frozenset(self._services.may.get(need, ()))

    def _sides_of(self, need: Need) -> list[_Side]:
        return [self._side(site, need.direction) for site in self._frames]

    def _side(self, site: FrameSite, direction: Direction) -> _Side:
        key = site.index, direction
        if key not in self._sides:
            self._sides[key] = self._answered(site, direction)
        return self._sides[key]

    def _answered(self, site: FrameSite, direction: Direction) -> _Side:
        side = _Side(site, direction)
        types = {t for need, own in self._services.may.items() if need.direction == direction for t in own}
        places = {id(layout): place for place, (layout, _) in enumerate(self._layouts(site))}
        parts = list(self._answering(site, direction))
        ends: dict[tuple[int, int, int], Term] = {}
        for part in parts:
            lines = [
                channel
                for channel in part.kind.on(direction, part.part)
                if channel.line_type in types and channel.index == channel.line[0] and channel.line[-1] <= part.numbered
            ]
            for layout, _ in part.layouts:
                first, place = part.first(layout, direction), places[id(layout)]
                for line in lines:
                    key = first + line.index - 1, line.line_type
                    if key not in side.lines:
                        side.lines[key] = {}
                        for number in range(key[0], key[0] + line.line_type.grain):
                            side.at.setdefault(number, set()).add(key)
                    side.lines[key].setdefault(place, []).append(part.live)
                for number in range(first, first + part.numbered - 1):
                    side.joined.setdefault(number, {}).setdefault(place, []).append(part.stands)
                ends[id(part.stands), place, first + part.numbered] = part.stands
        for part in parts:
            for layout, _ in part.layouts:
                first, place = part.first(layout, direction), places[id(layout)]
                if (id(part.stands), place, first) in ends:
                    side.joined.setdefault(first - 1, {}).setdefault(place, []).append(part.stands)
        return side

    def _if_only(self, site: FrameSite, under: Under) -> Term:
        """A term that holds only if one of those does that go with the layout that the frame has."""
        layouts = self._layouts(site)
        if not under:
            return 0
        if len(layouts) == 1:
            return expression([(1, term) for term in under[0]])
        key = site.index, frozenset((place, id(term)) for place, terms in under.items() for term in terms)
        if key not in self._answers:
            term = self._answers[key] = self._model.new_bool_var("")
            every = {id(each): each for own in under.values() for each in own}
            self._model.add(term <= expression([(1, each) for each in every.values()]))
            alike = self._alike(site, under)
            for places, own in alike if len(alike) > 1 else ():
                chosen = expression([(1, layouts[place][1]) for place in places])
                add(self._model, term + chosen - 1 <= expression([(1, each) for each in own]))
        return self._answers[key]

    def _where(self, model: cp_model.CpModel, site: FrameSite, under: Under) -> Term:
        """A term that holds where one of those does that go with the layout that the frame has."""
        layouts = self._layouts(site)
        if not under:
            return 0
        if len(layouts) == 1:
            return expression([(1, term) for term in under[0]])
        term = model.new_bool_var("")
        for places, own in self._alike(site, under):
            chosen = expression([(1, layouts[place][1]) for place in places])
            add(model, term >= chosen - 1 + expression([(1, each) for each in own]))
        return term

    def _alike(self, site: FrameSite, under: Under) -> list[tuple[list[int], list[Term]]]:
        """The places of layouts that have the same terms, and those."""
        alike: dict[tuple[int, ...], list[int]] = {}
        for place in range(len(self._layouts(site))):
            alike.setdefault(tuple(sorted(id(each) for each in under.get(place, ()))), []).append(place)
        return [(places, under.get(places[0], [])) for places in alike.values()]

    # Places

    def _stretches(self, need: Need) -> list[_Stretch]:
        """The stretches of a need in their order."""
        shapes, found = self._placed[need], []
        ties = [max((shape.tie(channel) for shape in shapes), default=Tie.NONE) for channel in range(need.demand)]
        begins = [channel for channel, tie in enumerate(ties) if not channel or tie == Tie.NONE]
        for first, end in zip(begins, [*begins[1:], need.demand], strict=True):
            cards = (False, *(ties[channel] == Tie.CARD for channel in range(first + 1, end)))
            found.append(_Stretch(cards, tuple(self._begins(need, first, cards))))
        return found

    def _begins(self, need: Need, first: int, cards: Sequence[bool]) -> Iterable[tuple[int, int]]:
        """Where a stretch may begin whose first channel is that one."""
        shapes, types = self._placed[need], self._types(need)
        for side in self._sides_of(need):
            able = {n for n, own in side.at.items() if any(t in types for _, t in own)}
            for begin in sorted(able):
                if all(
                    begin + n in able
                    and (not on_card or begin + n - 1 in side.joined)
                    and not any(shape.bars(side.site.index, begin + n, first + n) for shape in shapes)
                    for n, on_card in enumerate(cards)
                ):
                    yield side.site.index, begin

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
                for n, on_card in enumerate(stretch.cards):
                    side.taken.setdefault(begin + n, []).append(cover)
                    if on_card:
                        side.on_a_card.setdefault(begin + n - 1, []).append(term)
            for at, term in before.items():
                if not isinstance(term, int):
                    add(self._model, count * term <= expression([(1, t) for later, t in terms.items() if later > at]))
            before = terms

    def _begin(self, direction: Direction, stretch: _Stretch, count: int) -> dict[tuple[int, int], Term]:
        """Terms for the places where so many alike stretches begin."""
        begins = [(f, n) for f, n in stretch.begins if not self._sure(f, direction, range(n, n + len(stretch.cards)))]
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

    def _sure(self, frame: int, direction: Direction, numbers: Iterable[int]) -> bool:
        """Whether any of some numbers carries a channel for sure."""
        taken = self._side(self._frames[frame], direction).taken
        return any(isinstance(cover.term, int) for number in numbers for cover in taken.get(number, ()))

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
            for first, line_type in side.lines:
                if line_type.grain > 1 and line_type in types:
                    on_it = [begin for begin in begins if first - length < begin < first + line_type.grain]
                    if on_it and max(on_it) - min(on_it) >= length:
                        return True
        return False

    # What follows once all rules have spoken

    def finish(self) -> None:
        """Numbers that carry channels are answered by lines that can, each line has one need, and each need enough."""
        for needs, stretches in self._pooled():
            self._state_places(needs, stretches)
        for need, numbers in self._numbers.items():
            if need not in self._placed:
                load: Any = expression([(1, number.term) for number in numbers])
                add(self._model, load == self._services.asked[need])
        for side in self._sides.values():
            self._carry_what_is_answered(side)
            self._serve_one_need(side)
            for number, terms in side.on_a_card.items():
                joined = self._if_only(side.site, side.joined.get(number, {}))
                add(self._model, expression([(1, term) for term in terms]) <= joined)

    def _carry_what_is_answered(self, side: _Side) -> None:
        """A number carries one channel at most, and only if a line answers it that can serve it."""
        stated: set[object] = set()
        for number, covers in sorted(side.taken.items(), reverse=True):
            asked = {cover.types for cover in covers}
            sets = [*asked, frozenset().union(*asked)] if self._overlap(asked) else list(asked)
            for types in sets:
                own = [cover.term for cover in covers if cover.types <= types]
                under = side.under(key for key in side.at.get(number, ()) if key[1] in types)
                row = frozenset(map(id, own)), frozenset((p, id(t)) for p, terms in under.items() for t in terms)
                if row not in stated:
                    stated.add(row)
                    add(self._model, expression([(1, term) for term in own]) <= self._if_only(side.site, under))

    @staticmethod
    def _overlap(asked: Collection[Types]) -> bool:
        """Whether a line can serve what asks for different ones."""
        return len(asked) > 1 and len(frozenset().union(*asked)) < sum(map(len, asked))

    def _serve_one_need(self, side: _Side) -> None:
        """A line of several channels has those of one need."""
        for first, grain in sorted({(first, t.grain) for first, t in side.lines if t.grain > 1}):
            by_owner: dict[object, list[_Cover]] = {}
            for number in range(first, first + grain):
                for cover in side.taken.get(number, ()):
                    if cover not in by_owner.setdefault(cover.owner, []):
                        by_owner[cover.owner].append(cover)
            if len(by_owner) < 2:
                continue
            most = min(grain, len(by_owner))
            owners = [self._any(own) for own in by_owner.values()]
            there = self._where(
                self._model, side.site, side.under(k for k in side.lines if k[0] == first and k[1].grain == grain)
            )
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
        found: list[Term] = []
        for side in (side for side in self._sides.values() if side.direction == direction):
            for first, grain in sorted({(first, t.grain) for first, t in side.lines if t in types}):
                keys = [(n, t) for n, t in side.lines if n == first and t.grain == grain and t in types]
                there = self._where(model, side.site, side.under(keys))
                found += _taken(model, there, list(_carried(side, range(first, first + grain), keys, but)))
        return found


def _carried(
    side: _Side, numbers: Iterable[int], keys: Sequence[tuple[int, LineType]], but: Collection[LineType]
) -> Iterator[tuple[Term, bool]]:
    """By number whether it carries a channel that lines can serve; and whether no others can."""
    able = {line_type for _, line_type in keys}
    for number in numbers:
        covers = [c for c in side.taken.get(number, ()) if c.types & able and not c.types.issubset(but)]
        if covers:
            every = frozenset().union(*(cover.types for cover in covers))
            sure = all(key in keys for key in side.at[number] if key[1] in every)
            yield expression([(1, cover.term) for cover in covers]), sure


def _taken(model: cp_model.CpModel, there: Term, carried: Sequence[tuple[Term, bool]]) -> list[Term]:
    """Whether a line is there and carries a channel on any of its numbers; none where it never does."""
    if len(carried) == 1:
        carries, sure = carried[0]
        if sure:
            return [carries]
        if isinstance(carries, int):
            return [there]
    if not carried:
        return []
    taken = model.new_bool_var("")
    for carries, sure in carried:
        add(model, taken >= (carries if sure else carries + there - 1))
    return [taken]
