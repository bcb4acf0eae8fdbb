"""The CP-SAT model of one room: seats, settings, services, money, heat.

With a single option of a frame its blocks are constants, which keeps the linear relaxation tight; with several each
card's numbered channels are split by what the options give it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from typing import Any, TypeAlias

from solver.fitted.moves import stood_on
from solver.room.buying import price_of
from solver.room.kind import Channel, Kind, LineType, whole_lines
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Need, Survey
from solver.room.wish import LimitWish
from solver.room.words import DIRECTIONS, Direction
from solver.rules import wish_of
from solver.rules.limit import Cell, Limit, Load, Rule, Seat, Term
from solver.search.model.answered import Answering
from solver.search.model.basis import Basis, Option, reset
from solver.search.model.cpsat import cp_model
from solver.search.model.outlasting import Left, by_slot
from solver.search.model.renumbered import channels_renumbered
from solver.search.model.seating import Seating
from solver.search.model.services import add, expression
from solver.search.model.setting import CardSwitches, SetAlike

Side: TypeAlias = tuple[int, Direction]
"""A frame's index and a direction."""


Ends: TypeAlias = Mapping[Direction, Mapping[int, int]]
"""The last slot in use by direction and frame."""


class Placed:
    """A seat with one of the blocks that the options give it: numbered channels by direction and slot.

    `layouts` are those that give it these, `live` holds the terms that say whether its numbers in a direction and slot
    serve anything, `ways` its channels there as they are set.
    """

    __slots__ = ("layouts", "live", "numbered", "seat", "stranded", "term", "ways")

    def __init__(self, seat: Seat, layouts: Sequence[tuple[Layout, Term]], term: Term) -> None:
        self.seat = seat
        self.layouts = layouts
        self.term = term
        layout = layouts[0][0]
        self.numbered: dict[tuple[Direction, int], int] = {}
        self.ways: dict[tuple[Direction, int], list[SetAlike]] = {}
        self.live: dict[tuple[Direction, int], Term] = {}
        self.stranded = 0
        for direction in DIRECTIONS:
            for part, slot in enumerate(seat.covers):
                channels = len(seat.kind.on(direction, part))
                if not channels:
                    continue
                width = layout.block(direction, slot).width
                if width:
                    self.numbered[direction, slot] = min(width, channels)
                self.stranded += max(0, channels - width)


def _effect(layout: Layout, seat: Seat) -> tuple[int, ...]:
    return tuple(
        min(layout.block(direction, slot).width, len(seat.kind.on(direction, part)))
        for direction in DIRECTIONS
        for part, slot in enumerate(seat.covers)
    )


class CpDraft(Basis):
    """Implements `solver.rules.limit.Draft` on a CP-SAT model.

    Parameters
    ----------
    survey
        The room.
    options
        For each frame what it may be: layouts, None for not used.
    kinds
        The kinds of card under consideration.
    limits
        Every rule's limits, in order.
    loose
        Whether negotiable limits may give way: `free` then says which wishes do, `amounts` by how much.
    model
        One that holds other drafts too, with which this one has its cards in common: a card may then be of no use here.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Option]],
        kinds: Sequence[Kind],
        limits: Sequence[tuple[Rule, Limit]],
        *,
        loose: bool = False,
        model: cp_model.CpModel | None = None,
    ) -> None:
        super().__init__(survey, options, kinds, whole_cards=True, model=model)
        self.loose = loose
        self._in_common = model is not None
        self.free: dict[LimitWish, Term] = {}
        self.amounts: dict[LimitWish, list[tuple[int, Term]]] = {}
        self._seats: list[list[Seat]] = [[] for _ in survey.frames]
        self._covering: dict[tuple[int, int], list[Seat]] = {}
        self._renumbered: list[tuple[int, Term]] = []
        self.on_numbers: dict[Need, Mapping[tuple[int, int], Term]] = {}
        """By need what says that frames' numbers serve it, as far as it matters which do."""
        self._heed(limits)
        self._state(limits)
        for site in survey.frames:
            self._used_frames_have_cards(site)

    # Seats and layouts

    def _say(self, rule: Rule, limit: Limit) -> None:
        rule.constrain(self, limit)

    def may_seat(self, site: FrameSite, places: Iterable[tuple[int, Kind]]) -> None:
        for slot, kind in places:
            if self._in_common or any(self._worth(layout, slot, kind) for layout, _ in self.layouts(site)):
                seat = Seat(site, slot, kind, self.model.new_bool_var(""))
                self._seats[site.index].append(seat)
                for covered in seat.covers:
                    self._covering.setdefault((site.index, covered), []).append(seat)

    def seats(self, site: FrameSite | None = None, card: str | None = None, board: str | None = None) -> Sequence[Seat]:
        own = self._seats if site is None else [self._seats[site.index]]
        return [seat for seats in own for seat in seats if card is None or seat.kind.id == card]

    def laid(self) -> Sequence[tuple[Seat, Layout]]:
        placed = (one for own in self._placed for one in own)
        return [(replace(one.seat, term=one.term), one.layouts[0][0]) for one in placed]

    def cells(self, site: FrameSite, slot: int | None = None, board: str | None = None) -> Sequence[Cell]:
        return [Cell(site, range(s, s + 1)) for s in site.slots if slot is None or s == slot]

    def covering(self, cell: Cell) -> Sequence[tuple[int, Seat]]:
        return [(1, seat) for seat in self._covering.get((cell.site.index, cell.slots[0]), ())]

    def _used_frames_have_cards(self, site: FrameSite) -> None:
        seats = [seat.term for seat in self.seats(site)]
        layouts = [term for _, term in self.layouts(site)]
        if not layouts:
            return
        self.model.add(expression([(1, s) for s in seats]) >= expression([(1, t) for t in layouts]))
        if len(self.choices(site)) > len(layouts):
            for seat in seats:
                self.model.add(seat <= expression([(1, t) for t in layouts]))

    @cached_property
    def _placed(self) -> list[list[Placed]]:
        placed: list[list[Placed]] = []
        for site in self.survey.frames:
            own: list[Placed] = []
            layouts = self.layouts(site)
            for seat in self.seats(site):
                if len(layouts) == 1:
                    own.append(Placed(seat, layouts, seat.term))
                    continue
                effects: dict[object, list[tuple[Layout, Term]]] = {}
                for layout, term in layouts:
                    effects.setdefault((_effect(layout, seat), self._gaps(layout, seat)), []).append((layout, term))
                if len(effects) == 1:
                    own.append(Placed(seat, layouts, seat.term))
                    continue
                split = []
                for members in effects.values():
                    term = self.model.new_bool_var("")
                    split.append(term)
                    self.model.add(term <= expression([(1, t) for _, t in members]))
                    own.append(Placed(seat, members, term))
                self.model.add(expression([(1, t) for t in split]) == seat.term)
            for one in own:
                one.live = {place: self._live(one) for place in one.numbered}
                switches = CardSwitches(self.model, one.seat.kind, 1, one.term)
                one.ways = {
                    (direction, slot): self._in_service(
                        one, switches.ways(direction, slot - one.seat.slot, live), direction, slot
                    )
                    for (direction, slot), live in one.live.items()
                }
            placed.append(own)
        return placed

    def _silent(self, seat: Seat, layout: Layout, direction: Direction, part: int) -> list[int]:
        found = self._silenced(seat, layout, direction, part)
        return [channel for channel, limits in found.items() if not all(self.loosens(limit) for limit in limits)]

    def _gaps(self, layout: Layout, seat: Seat) -> object:
        """Which channels of a card are silenced with a layout."""
        sides = ((direction, part) for direction in DIRECTIONS for part in range(seat.kind.span))
        return tuple(frozenset(self._silenced(seat, layout, *side)) for side in sides) if seat.site.dead else ()

    def _in_service(self, placed: Placed, ways: Sequence[SetAlike], direction: Direction, slot: int) -> list[SetAlike]:
        """Channels as they are set without lines that are silenced; those that may come back have their own terms."""
        limits = self._silenced(placed.seat, placed.layouts[0][0], direction, slot - placed.seat.slot)
        if not limits:
            return [*ways]
        found: list[SetAlike] = []
        for way in ways:
            away: dict[frozenset[Limit], list[Channel]] = {}
            for channel in way.channels:
                behind = frozenset(limit for n in channel.line for limit in limits.get(n, ()))
                away.setdefault(behind, []).append(channel)
            found.append(replace(way, channels=away.pop(frozenset(), [])))
            for own, channels in away.items():
                if all(self.loosens(limit) for limit in own):
                    term = self.model.new_bool_var("")
                    self.model.add(term <= way.term)
                    for limit in own:
                        add(self.model, term <= self._given(limit))
                    found.append(SetAlike(channels, term))
        return found

    def _away(self, card: str) -> Load:
        worn = sum(card == own for site in self.survey.frames for _, own in site.worn)
        there = [seat.term for seat in self.seats(card=card) if (seat.slot, card) in seat.site.worn]
        return [(worn, 1), *((-1, term) for term in there)] if worn else []

    def _live(self, placed: Placed) -> Term:
        """Whether a card's numbers in one direction and slot serve anything.

        They do for sure where the card has numbers in one place only, or it could be taken out for nothing.
        """
        sure = (
            self._sure and not self._in_common and len(placed.numbered) == 1 and placed.seat.kind.id not in self._wanted
        )
        if sure or not self._with_holes:
            return placed.term
        live = self.model.new_bool_var("")
        self.model.add_implication(live, placed.term)
        return live

    # Services

    def _losses(self) -> Iterable[Left]:
        return by_slot(self._bringing())

    def line_types(self, direction: Direction) -> Sequence[LineType]:
        return self._line_types[direction]

    @cached_property
    def _line_types(self) -> dict[Direction, list[LineType]]:
        found: dict[Direction, set[LineType]] = {d: set() for d in DIRECTIONS}
        for kind in self.kinds:
            for direction, part in kind.channels:
                found[direction].update(kind.line_types(direction, part))
        return {d: sorted(types, key=lambda t: t.key) for d, types in found.items()}

    def supply(self, limit: Limit, site: FrameSite, direction: Direction) -> None:
        for placed in self._placed[site.index]:
            for (own, slot), ways in placed.ways.items():
                for way in ways if own == direction else ():
                    for line_type, count in whole_lines(way.channels, placed.numbered[own, slot]).items():
                        self.services.supply.setdefault((direction, line_type), []).append((count, way.term))

    def _answering(self, site: FrameSite, direction: Direction) -> Iterable[Answering]:
        for placed in self._placed[site.index]:
            for (own, slot), numbered in placed.numbered.items():
                if own == direction:
                    kind, part, ways = placed.seat.kind, slot - placed.seat.slot, placed.ways[direction, slot]
                    yield Answering(slot, kind, part, numbered, ways, placed.term, placed.layouts)

    def ends(self, value: cp_model.CpSolver) -> dict[Direction, dict[int, int]] | None:
        """The last slot in use by direction and frame in a solution; None if holes do not count."""
        if not self._with_holes:
            return None
        found: dict[Direction, dict[int, int]] = {d: {f.index: 0 for f in self.survey.frames} for d in DIRECTIONS}
        for site in self.survey.frames:
            for placed in self._placed[site.index]:
                for (direction, slot), live in placed.live.items():
                    if value.boolean_value(live):
                        found[direction][site.index] = max(found[direction][site.index], slot)
        return found

    def seating(self, value: cp_model.CpSolver) -> Seating:
        """What a solution seats."""
        sites = self.survey.frames
        options = tuple(
            next(o for o, t in self.choices(site) if isinstance(t, int) or value.boolean_value(t)) for site in sites
        )
        cards = tuple(
            tuple(sorted((s.slot, s.kind.id) for s in self.seats(site) if value.boolean_value(s.term)))
            for site in sites
        )
        return Seating(options, cards, self.ends(value) if len(sites) > 1 else None)

    def seat_as(self, cards: Sequence[Sequence[tuple[int, str]]], ends: Ends | None) -> None:
        """Let these cards stand in each frame and no others, and nothing serve past the last slots in use."""
        for site in self.survey.frames:
            for seat in self.seats(site):
                self.model.add(seat.term == int((seat.slot, seat.kind.id) in cards[site.index]))
            if ends is None:
                continue
            for placed in self._placed[site.index]:
                for (direction, slot), live in placed.live.items():
                    if slot > ends[direction].get(site.index, 0):
                        self.model.add(live == 0)

    def ways(self) -> list[tuple[Seat, Direction, int, list[SetAlike]]]:
        """The ways to set each section that can be set in several: its card, direction, slot, and the ways in order."""
        found: list[tuple[Seat, Direction, int, list[SetAlike]]] = []
        for placed in (placed for own in self._placed for placed in own):
            for (direction, slot), ways in sorted(placed.ways.items()):
                sections: dict[tuple[int, ...], list[SetAlike]] = {}
                for way in ways:
                    if way.setup is not None:
                        sections.setdefault(tuple(channel.index for channel in way.channels), []).append(way)
                found += [(placed.seat, direction, slot, own) for _, own in sorted(sections.items())]
        return found

    # Money

    @property
    def _priced(self) -> Sequence[str]:
        return sorted({*self.survey.offers, *(self.survey.stock if self.loose else ()), *self._not_to_be_had})

    def _offers(self, item: str) -> list[tuple[int, int | None]]:
        beyond: list[tuple[int, int | None]] = [(price_of(self.survey, item), None)] if self.loose else []
        return [*beyond, *super()._offers(item)]

    def _most_bought(self, item: str, load: Load) -> int:
        return len(load)

    @property
    def _not_to_be_had(self) -> list[str]:
        """What has to be put on offer before it can be had, where limits may give way."""
        if not self.loose:
            return []
        hardware = self.survey.hardware
        items = [i.id for group in (hardware.card, hardware.board, hardware.chassis) for i in group]
        return [item for item in items if self.survey.most_of(item) == 0]

    # Unused capacity

    def stranded(self) -> Load:
        return [(p.stranded, p.term) for own in self._placed for p in own if p.stranded]

    def idle(self) -> Load:
        load = [(sum(p.numbered.values()), p.term) for own in self._placed for p in own if any(p.numbered.values())]
        return [*load, (-self.survey.due, 1)]

    def holes(self) -> Load:
        return self._holes

    @cached_property
    def _holes(self) -> list[tuple[int, Term]]:
        found: list[tuple[int, Term]] = []
        for site in self.survey.frames:
            for direction in DIRECTIONS:
                live: dict[int, list[tuple[int, Term]]] = {}
                for placed in self._placed[site.index]:
                    for (own, slot), term in placed.live.items():
                        if own == direction:
                            live.setdefault(slot, []).append((1, term))
                if not live:
                    continue
                most = max(layout.block(direction, s).first for layout, _ in self.layouts(site) for s in live)
                count = self.model.new_int_var(0, max(0, most), "")
                found.append((1, count))
                if len(self.choices(site)) == 1:
                    self._holes_up_to_the_last(site, direction, live, count)
                    continue
                for slot in sorted(live):
                    self._holes_below(site, direction, slot, live[slot], count)
        return found

    def _holes_up_to_the_last(
        self, site: FrameSite, direction: Direction, live: Mapping[int, Load], count: cp_model.IntVar
    ) -> None:
        """With one layout: the numbers below the last slot in use are answered or holes.

        A term for each slot says that something is in use there or later. The row of all slots together keeps the
        relaxation from filling each slot in part and finding no holes.
        """
        layout, _ = self.layouts(site)[0]
        reaches = {slot: self.model.new_bool_var("") for slot in sorted(live)}
        for earlier, later in pairwise(reaches.values()):
            self.model.add_implication(later, earlier)
        below: list[tuple[int, Term]] = []
        reached: list[tuple[int, Term]] = []
        counted = 0
        for slot, reach in reaches.items():
            here = [
                (placed.numbered[direction, slot], placed.term)
                for placed in self._placed[site.index]
                if (direction, slot) in placed.numbered
            ]
            numbers = layout.block(direction, slot).first - 1
            self.model.add_at_most_one([*(term for _, term in live[slot]), ~reach])
            if numbers:
                self.model.add(expression([(1, count), *below]) >= numbers * reach)
            below += here
            least = numbers + min(numbered for numbered, _ in here)
            reached.append((least - counted, reach))
            counted = least
        self.model.add(expression([(1, count), *below]) >= expression(reached))

    def _holes_below(
        self, site: FrameSite, direction: Direction, slot: int, live: Load, count: cp_model.IntVar
    ) -> None:
        """With several layouts: numbers below a slot in use are answered or holes."""
        answered = [
            (numbered, placed.term)
            for placed in self._placed[site.index]
            for (own, at), numbered in placed.numbered.items()
            if own == direction and at < slot
        ]
        below: dict[int, list[Term]] = {}
        for layout, term in self.layouts(site):
            below.setdefault(max(0, layout.block(direction, slot).first - 1), []).append(term)
        for numbers, terms in below.items():
            if numbers:
                use = expression(live) + expression([(1, t) for t in terms]) - 1
                self.model.add(expression([(1, count), *answered]) >= numbers * use)

    # What is moved

    def cards_moved(self) -> Load:
        load: list[tuple[int, Term]] = []
        for site in self.survey.frames:
            stood = site.stood.cards if site.stood is not None else ()
            load += [(len(stood), 1), *((-1, term) for term in self._staying[site.index].values())] if stood else []
        return load

    @cached_property
    def _staying(self) -> dict[int, dict[tuple[int, str], Term]]:
        """By frame the cards that may stay where they stand, and literals that are 1 only if they do: its board too."""
        found: dict[int, dict[tuple[int, str], Term]] = {}
        for site in self.survey.frames:
            if site.stood is None:
                continue
            boards = [(layout.board == site.stood.board, term) for layout, term in self.layouts(site)]
            kept = [(1, term) for same, term in boards if same]
            seats = {(seat.slot, seat.kind.id): seat.term for seat in self.seats(site)} if kept else {}
            own = {card: seats[card] for card in site.stood.cards if card in seats}
            found[site.index] = own if len(kept) == len(boards) else {c: self._both(t, kept) for c, t in own.items()}
        return found

    def _both(self, term: Term, load: Load) -> Term:
        """A literal that is 1 only where a term is and a load is 1."""
        both = self.model.new_bool_var("")
        self.model.add_implication(both, term)
        self.model.add(both <= expression(load))
        return both

    def lids_off(self) -> Load:
        return self._lids

    @cached_property
    def _lids(self) -> list[tuple[int, Term]]:
        """A literal for each frame, which no card may come to or leave while it is 0, and no strap be set."""
        found: list[tuple[int, Term]] = []
        for site in self.survey.frames:
            if site.stood is None:
                continue
            staying = self._staying[site.index]
            lid = 1 if len(staying) < len(site.stood.cards) else self.model.new_bool_var("")
            found.append((1, lid))
            if isinstance(lid, int):
                continue
            for term in staying.values():
                self.model.add_implication(~term, lid)
            for cell in self.cells(site):
                come = [seat.term for _, seat in self.covering(cell) if (seat.slot, seat.kind.id) not in staying]
                if come:
                    self.model.add(expression([(1, term) for term in come]) <= lid)
            opened = [(1, term) for layout, term in self.layouts(site) if reset(site, layout)]
            if opened:
                add(self.model, expression(opened) <= lid)
        return found

    def renumbered(self) -> Load:
        return self._renumbered

    def _then(self) -> None:
        if "renumbered" in self.survey.rank and not self.loose:
            for need, spots in stood_on(self.survey).items():
                if need in self.services.asked:
                    self._renumbered += channels_renumbered(self, need, spots)

    # Limits

    def loosens(self, limit: Limit) -> bool:
        return self.loose and wish_of(limit) is not None

    def _free(self, limit: Limit) -> Term:
        """Whether the wish behind a limit gives way."""
        wish = wish_of(limit)
        assert wish is not None
        if wish not in self.free:
            self.free[wish] = self.model.new_bool_var("")
        return self.free[wish]

    def kept(self, limit: Limit) -> Term:
        return ~self._free(limit) if self.loosens(limit) and limit not in self._only_while else 1

    def _given(self, limit: Limit) -> Term:
        """By how much a limit gives way: 0 where it may not."""
        wish = wish_of(limit)
        if not self.loose or wish is None:
            return 0
        if wish.at_once and wish in self.amounts:
            return self.amounts[wish][0][1]
        most = limit.give[-1]
        amount = self.model.new_int_var(0, most, "")
        self.model.add(amount <= most * self._free(limit))
        self.amounts.setdefault(wish, []).append((1, amount))
        return amount

    def _at_most(self, load: Load, bound: Any) -> None:
        if isinstance(bound, int) and bound == 1 and len(load) > 1 and all(amount == 1 for amount, _ in load):
            self.model.add_at_most_one(term for _, term in load)
        else:
            super()._at_most(load, bound)

    def apart(
        self,
        limit: Limit,
        lefts: Load,
        rights: Load,
        board: tuple[FrameSite, str],
        *,
        alone: bool = False,
    ) -> None:
        site, name = board
        conditions: list[Term] = []
        if any(option is None or option.board != name for option, _ in self.choices(site)):
            conditions.append(expression([(1, term) for layout, term in self.layouts(site) if layout.board == name]))
        load = [*lefts, *rights]
        bound = 0 if alone else 1
        if self.loosens(limit):
            add(self.model, expression(load) + sum(conditions) <= bound + len(conditions) + self._free(limit))
            return
        if not conditions and not alone:
            self.model.add_at_most_one(term for _, term in load)
        else:
            add(self.model, expression(load) + sum(conditions) <= bound + len(conditions))

    def require_at_most(self, load: Load, room: Load) -> None:
        """Keep a load within another, with no limit behind it."""
        add(self.model, expression(load) <= expression(room))
