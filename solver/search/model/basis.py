"""What a draft of a room holds whatever its seats are: options, needs and who serves them, items, money, limits.

A frame has one or more options, each a layout or None for a frame that is not used.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import replace
from functools import cached_property, partial
from typing import Any, Self, TypeAlias

from solver import rules
from solver.room.kind import Kind, LineType
from solver.room.straps import Layout
from solver.room.survey import FrameSite, Need, Offer, Survey
from solver.room.words import DIRECTIONS, Direction
from solver.rules.limit import Cell, Limit, Load, Number, Rule, Seat, Shape, Term
from solver.search.model.answered import Answering
from solver.search.model.buying import buy
from solver.search.model.cpsat import Model, cp_model
from solver.search.model.numbering import Numbering
from solver.search.model.outlasting import Bringing, Left, brought, by_sort, state
from solver.search.model.scale import tie_weights
from solver.search.model.services import Services, add, expression, upper

Option: TypeAlias = Layout | None


class Basis(ABC):
    """What `solver.rules.limit.Draft` asks of slots and of runs alike.

    Parameters
    ----------
    survey
        The room.
    options
        For each frame what it may be: layouts, None for not used.
    kinds
        The kinds of card under consideration.
    whole_cards
        Whether rows about lines are also rounded up to whole cards.
    model
        Where to state it; by default a model of its own.
    """

    def __init__(
        self,
        survey: Survey,
        options: Sequence[Sequence[Option]],
        kinds: Sequence[Kind],
        *,
        whole_cards: bool,
        model: cp_model.CpModel | None = None,
    ) -> None:
        self.survey = survey
        self.options = options
        self.kinds = kinds
        self.model = Model() if model is None else model
        self.services = Services(short=survey.short.channels, whole_cards=whole_cards)
        self._lacking: dict[Need, Term] = {}
        self._lacks: dict[Need, Term] = {}
        self._outlasting: dict[Need, Any] = {}
        """Channels that needs have to have whichever card fails."""
        self._counted: set[Need] = set()
        self._of_frames: dict[str | None, list[tuple[Rule, Limit]]] = {}
        self._returned: dict[str, list[tuple[int, Term]]] = {}
        self._only_while: set[Limit] = set()
        """Limits of numbers that none carries a channel of where they give way."""
        self._choices = [self._choose(own) for own in options]
        self._asked = {d: {n.signal for n in survey.needs if n.direction == d and n.demand} for d in DIRECTIONS}
        self._wanted = self.wanted()
        self._sure = "holes" not in survey.rank and not rules.losing_a_card_hurts(survey)
        self._with_holes = bool({"unused", "holes"} & set(survey.rank))

    def _choose(self, own: Sequence[Option]) -> list[tuple[Option, Term]]:
        """Each option of a frame and a term that says that it has this one."""
        terms: list[tuple[Option, Term]] = [
            (option, 1 if len(own) == 1 else self.model.new_bool_var("")) for option in own
        ]
        if len(own) != 1:
            self.model.add_exactly_one(term for _, term in terms)
        return terms

    def wanted(self) -> set[str]:
        """Cards that are asked for though they serve no need."""
        return rules.wanted(self.survey)

    def _heed(self, limits: Sequence[tuple[Rule, Limit]]) -> None:
        """Know the limits of each frame before any of them is stated."""
        for rule, limit in limits:
            self._of_frames.setdefault(limit.place.frame, []).append((rule, limit))

    def _state(self, limits: Sequence[tuple[Rule, Limit]]) -> None:
        """State every limit, and what follows once all are."""
        self._of_needs: dict[tuple[Direction | None, str | None], list[tuple[Rule, Limit]]] = {}
        for rule, limit in limits:
            self._of_needs.setdefault((limit.place.direction, limit.place.subject), []).append((rule, limit))
        for rule, limit in limits:
            self._say(rule, limit)
        self._lack_no_more()
        self._then()
        self.numbering.finish()
        self.services.state(self.model)
        if self._outlasting:
            state(self.model, self.services, self._outlasting, self._losses())

    def _then(self) -> None:  # noqa: B027 - most models add nothing
        """What else follows once all limits are stated; by default nothing."""

    @abstractmethod
    def _say(self, rule: Rule, limit: Limit) -> None:
        """Let a rule state one of its limits."""

    def keep(self, bound: int) -> None:
        """Keep the limits of the rules that are graded at another bound."""
        for rule in rules.LIST:
            for limit in rule.at(self.survey, bound):
                self._say(rule, limit)

    def copy(self) -> Self:
        """The same on a copy of the model, so that more can be added to the copy alone."""
        twin = copy(self)
        twin.model = self.model.clone()
        return twin

    # Seats and layouts

    @abstractmethod
    def seats(self, site: FrameSite | None = None, card: str | None = None, board: str | None = None) -> Sequence[Seat]:
        """The open seats, of one frame, card or board where given."""

    def count(self, site: FrameSite, card: str) -> Load:
        """How many cards of a kind a frame holds."""
        return [(1, seat.term) for seat in self.seats(site, card)]

    def layouts(self, site: FrameSite) -> Sequence[tuple[Layout, Term]]:
        return [(option, term) for option, term in self._choices[site.index] if option is not None]

    def choices(self, site: FrameSite) -> Sequence[tuple[Option, Term]]:
        """Every option of a frame and the term that says that it holds."""
        return self._choices[site.index]

    def _worth(self, layout: Layout, slot: int, kind: Kind) -> bool:
        """Whether a card could serve anything there, fill holes that count alone, or is wanted by a rule.

        Any other card can be taken out of a build for nothing.
        """
        return (
            kind.id in self._wanted
            or "holes" in self.survey.rank
            or any(
                bool(line_type.signals & self._asked[direction])
                for direction in DIRECTIONS
                for part in range(kind.span)
                for line_type in kind.lines(direction, part, layout.block(direction, slot + part).width)
            )
        )

    def _serves_for_sure(self, kind: Kind) -> bool:
        """Whether a card serves something in its only slot and direction, or could be taken out for nothing."""
        sides = [direction for direction in DIRECTIONS if kind.on(direction, 0)]
        return self._sure and kind.span == 1 and len(sides) == 1 and kind.id not in self._wanted

    # Services

    def may_serve(self, need: Need, line_type: LineType) -> None:
        self.services.may.setdefault(need, []).append(line_type)

    def keep_to(self, limit: Limit, need: Need, line_types: Sequence[LineType]) -> None:
        kept = self.kept(limit)
        if isinstance(kept, int):
            own = self.services.may.get(need, [])
            self.services.may[need] = [line_type for line_type in own if line_type in line_types]
        else:
            self.services.loosely.setdefault(need, []).append((frozenset(line_types), kept))

    def keep_alike(self, limit: Limit, needs: Sequence[Need], ways: Sequence[Callable[[LineType], bool]]) -> None:
        may = {need: self.services.may.get(need, []) for need in needs if need in self.services.may}
        alike = [{need: frozenset(filter(way, own)) for need, own in may.items()} for way in ways]
        if any(all(len(way[need]) == len(set(own)) for need, own in may.items()) for way in alike):
            return
        terms = [self.model.new_bool_var("") for _ in ways]
        add(self.model, expression([(1, term) for term in terms]) >= self.kept(limit))
        for way, term in zip(alike, terms, strict=True):
            for need, line_types in way.items():
                self.services.loosely.setdefault(need, []).append((line_types, term))

    def ask(self, limit: Limit, need: Need) -> None:
        given = self.lacking(need) if self.survey.may_lack(need) else self._given(limit)
        self.services.asked[need] = limit.bound - given

    def lacking(self, need: Need) -> Term:
        """The channels that a need lacks which is nice to have."""
        most = self.survey.may_lack(need)
        self._lacking[need] = self.model.new_int_var(0, most, "")
        self._lacks[need] = self.model.new_bool_var("")
        self.model.add(self._lacking[need] <= most * self._lacks[need])
        return self._lacking[need]

    def short(self) -> Load:
        return [(1, term) for term in self._lacking.values()]

    @property
    def lacks(self) -> Mapping[Need, Term]:
        """The channels that needs lack which are nice to have."""
        return self._lacking

    def short_needs(self) -> Load:
        return [(1, term) for term in self._lacks.values()]

    def cards_moved(self) -> Load:
        return []

    def straps_moved(self) -> Load:
        return [
            (layout.to_set, term) for site in self.survey.frames for layout, term in self.layouts(site) if layout.to_set
        ]

    def lids_off(self) -> Load:
        return [(1, term) for site in self.survey.frames for layout, term in self.layouts(site) if reset(site, layout)]

    def renumbered(self) -> Load:
        return []

    def _lack_no_more(self) -> None:
        """Needs that are nice to have lack no more together than they may."""
        if self._lacking:
            add(self.model, expression(self.short()) <= self.survey.short.channels)
            add(self.model, expression(self.short_needs()) <= self.survey.short.needs)

    def serve_once(self, limit: Limit, direction: Direction) -> None:
        self.services.once.add(direction)

    def outlast(self, limit: Limit, need: Need) -> None:
        """What a need gives up is taken from its spare channels first."""
        channels = need.channels - self._beyond_spare(need)
        self._outlast(need, channels - need.channels * (1 - self.kept(limit)))

    def _outlast(self, need: Need, channels: Any) -> None:
        """So many channels, or none."""
        if not isinstance(channels, int):
            some = self.model.new_int_var(0, need.demand, "")
            self.model.add(some >= channels)
            channels = some
        self._outlasting[need] = channels

    def _beyond_spare(self, need: Need) -> Any:
        """By how much more a need gives way than it has to spare."""
        given = need.demand - self.services.asked[need]
        if isinstance(given, int):
            return max(0, given - need.spare)
        beyond, any_beyond = self.model.new_int_var(0, need.channels, ""), self.model.new_bool_var("")
        self.model.add(beyond <= need.channels * any_beyond)
        self.model.add(beyond <= given - need.spare * any_beyond)
        return beyond

    def _bringing(self) -> list[Bringing]:
        """What cards of each sort bring where they stand, and how many there are."""
        own = ((seat, brought(seat, layout, partial(self._silent, seat, layout))) for seat, layout in self.laid())
        return [Bringing(lines, seat.term, seat) for seat, lines in own if lines]

    def _losses(self) -> Iterable[Left]:
        """What is left when a card fails, for each that may."""
        return by_sort(self._bringing(), self.any_of)

    @abstractmethod
    def laid(self) -> Sequence[tuple[Seat, Layout]]:
        """Seats whose terms count cards with a layout that numbers them so; none where alike frames are counted."""

    # Numbers

    @abstractmethod
    def _answering(self, site: FrameSite, direction: Direction) -> Iterable[Answering]:
        """The parts of cards that answer numbers of a frame in a direction; not over runs."""

    @cached_property
    def numbering(self) -> Numbering:
        numbering = Numbering(self.model, self.survey.frames, self.services, self.layouts, self._answering)
        self.services.taken = numbering.lines_taken
        return numbering

    def placed(self, need: Need) -> bool:
        if self.numbering.has_placed(need):
            return True
        own = self._of_needs.get((need.direction, need.name), ())
        if not isinstance(self.services.asked.get(need), int) or any(self.loosens(limit) for _, limit in own):
            return False
        listing = self.survey.listing(need)
        self.numbering.place(need, self._shapes(need), listed=listing is not None and bool(listing.listed))
        return True

    def _shapes(self, need: Need) -> list[Shape]:
        """What rules ask of its channels that does not give way, while it asks for numbers at all."""
        own = [(r, limit) for r, limit in self._shaped(need) if limit in self._only_while or not self.loosens(limit)]
        return [shape for rule, limit in own if (shape := rule.shape(self.survey, limit)) is not None]

    def _shaped(self, need: Need) -> list[tuple[Rule, Limit]]:
        """The limits that ask something of the numbers of a need."""
        own = self._of_needs.get((need.direction, need.name), ())
        return [(rule, limit) for rule, limit in own if rule.shape(self.survey, limit) is not None]

    def numbers(self, need: Need) -> Sequence[Number]:
        if need not in self._counted:
            loosened = [limit for _, limit in self._shaped(need) if self.loosens(limit)]
            linked = need.wanted is not None and need.wanted.linked
            if loosened and len(loosened) == len(self._shaped(need)) and not linked:
                kept = [(1, self.kept(limit)) for limit in loosened]
                self._split(need, kept[0][1] if len(kept) == 1 else self.any_of(kept))
                self._only_while |= set(loosened) if len(loosened) == 1 else set()
            self._counted.add(need)
        return self.numbering.of(need, self._shapes(need))

    def _split(self, need: Need, asks: Term) -> None:
        """What a need asks for, on certain numbers only if it still asks for any, else as one that asks for none."""
        plain, count = replace(need, wanted=None), self.model.new_int_var(0, need.demand, "")
        asked = self.services.asked[need]
        self.model.add(count <= need.demand * (1 - expression([(1, asks)])))
        self.model.add(asked - count <= need.demand * expression([(1, asks)]))
        self.services.asked |= {need: asked - count, plain: count}
        self.services.may[plain] = self.services.may.get(need, [])
        if need in self.services.loosely:
            self.services.loosely[plain] = self.services.loosely[need]

    def one_at_most(self, amount: int) -> Sequence[Term]:
        terms = [self.model.new_bool_var("") for _ in range(amount)]
        self.model.add_at_most_one(terms)
        return terms

    def on_one_card(self, number: Number) -> Term:
        return self.numbering.on_one_card(number)

    def on_cards(self, need: Need) -> Mapping[tuple[int, int], Sequence[Term]]:
        return self.numbering.on_cards(need, self._shapes(need))

    # Money

    def items(self, item: str) -> Load:
        if item in self.survey.kinds:
            seats = [(1, seat.term) for seat in self.seats(card=item)]
            return [*seats, *self._away(item), *self._returned.get(item, ())] if seats else []
        load: list[tuple[int, Term]] = []
        for site in self.survey.frames:
            owned = site.spec.owned
            for layout, term in self.layouts(site):
                chassis = site.chassis.id == item and not owned
                board = layout.board == item and not (owned and site.spec.board)
                load += [(1, term)] * (chassis + board)
        return load

    def _away(self, card: str) -> Load:
        """Cards that can be used where they stand alone, and do not stand there; not over runs."""
        return []

    def _silenced(self, seat: Seat, layout: Layout, direction: Direction, part: int) -> dict[int, list[Limit]]:
        """The channels of a card on one of its slots that limits keep from serving, with these."""
        found: dict[int, list[Limit]] = {}
        for rule, limit in self._of_frames.get(seat.site.name, ()) if seat.site.dead else ():
            for channel in rule.silences(limit, seat, layout, direction, part):
                found.setdefault(channel, []).append(limit)
        return found

    def _silent(self, seat: Seat, layout: Layout, direction: Direction, part: int) -> Collection[int]:
        """The channels of a card on one of its slots that serve nothing for sure."""
        return ()

    def bring_back(self, limit: Limit, item: str) -> None:
        if self.loosens(limit):
            self._returned.setdefault(item, []).append((-1, self._given(limit)))

    def cost(self) -> Load:
        return self._cost

    @cached_property
    def _cost(self) -> list[tuple[int, Term]]:
        return self._spent({item: self._offers(item) for item in self._priced})

    def cost_at(self, offers: Mapping[str, Sequence[Offer]]) -> Load:
        return self._spent({item: [(each.price, each.at_most) for each in offers[item]] for item in sorted(offers)})

    def _spent(self, offers: Mapping[str, Sequence[tuple[int, int | None]]]) -> list[tuple[int, Term]]:
        """What is spent where these are the prices of each item, and how many there are at each."""
        total: list[tuple[int, Term]] = []
        for item, own in offers.items():
            load = self.items(item)
            if not load:
                continue
            owned = self.survey.stock.get(item, 0)
            if len(self.survey.offers.get(item, ())) == 1 and not owned and all(amount > 0 for amount, _ in load):
                total += [(own[0][0] * amount, term) for amount, term in load]
            else:
                total += buy(self.model, load, owned, own, self._most_bought(item, load))
        return total

    @property
    def _priced(self) -> Sequence[str]:
        """The items that money is spent on."""
        return sorted(self.survey.offers)

    def _offers(self, item: str) -> list[tuple[int, int | None]]:
        """Prices of an item, and how many there are at each."""
        return [(offer.price, offer.at_most) for offer in self.survey.offers.get(item, ())]

    @abstractmethod
    def _most_bought(self, item: str, load: Load) -> int:
        """More of an item are never bought."""

    # Limits

    def loosens(self, limit: Limit) -> bool:
        return False

    def kept(self, limit: Limit) -> Term:
        return 1

    def _given(self, limit: Limit) -> Term:
        """By how much a limit gives way: 0 where it may not."""
        return 0

    def hold(self, limit: Limit, load: Load, cell: Cell | None = None, *, whole: bool = False) -> None:
        bound = limit.bound if cell is None else limit.bound * cell.chosen * (1 if whole else len(cell.slots))
        if limit.at_least:
            add(self.model, expression(load) + self._given(limit) >= bound)
        else:
            self._at_most(load, bound + self._given(limit))

    def _at_most(self, load: Load, bound: Any) -> None:
        add(self.model, expression(load) <= bound)

    def hold_if(self, limit: Limit, conditions: Sequence[Term], load: Load) -> None:
        total = expression(load) + self._given(limit) * (1 if limit.at_least else -1)
        away = len(conditions) - expression([(1, term) for term in conditions])
        if limit.at_least:
            most = limit.bound - sum(min(amount, amount * upper(term)) for amount, term in load if amount < 0)
            add(self.model, total + max(0, most) * away >= limit.bound)
        else:
            most = sum(amount * upper(term) for amount, term in load if amount > 0) - limit.bound
            add(self.model, total - max(0, most) * away <= limit.bound)

    def any_of(self, load: Load) -> Term:
        total = expression(load)
        if isinstance(total, int):
            return int(total > 0)
        some = self.model.new_bool_var("")
        self.model.add(total >= some)
        self.model.add(total <= sum(amount * upper(term) for amount, term in load) * some)
        return some

    def ties(self) -> Load:
        """What breaks ties, as one sum: other signals given up, then cards, then frames used, then straps closed.

        Adds what it takes to count the first to this model; ask a copy.
        """
        layouts = [entry for site in self.survey.frames for entry in self.layouts(site)]
        amounts: list[Load] = [
            [(layout.closed, term) for layout, term in layouts if layout.closed],
            [(1, term) for _, term in layouts],
            [(1, seat.term) for seat in self.seats()],
            self.services.given_up(self.model, self.survey.needs),
        ]
        weights = tie_weights(self.survey)
        return [(weight * n, term) for weight, own in zip(weights, amounts, strict=True) for n, term in own]


def reset(site: FrameSite, layout: Layout) -> bool:
    """Whether a frame is opened for a layout, whatever cards stand in it."""
    return site.stood is not None and (layout.to_set > 0 or layout.board != site.stood.board)
