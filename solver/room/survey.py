"""A scenario made ready: ids resolved, integers only; `solver.room.ready` works it out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from functools import cached_property
from itertools import product
from typing import Any

from pydantic import BaseModel

from solver.physics import column, heat
from solver.room.hardware import Chassis, Hardware
from solver.room.kind import Kind
from solver.room.links import HostPort, Reach
from solver.room.out_of_service import Dead
from solver.room.scenario import Frame, Scenario
from solver.room.stood import Stood
from solver.room.straps import Layout
from solver.room.termination import LineSeat
from solver.room.traits import Ask, OneOf, Trait
from solver.room.words import (
    DIRECTIONS,
    Direction,
    Family,
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a need asks of the numbers of its channels.

    `listed` numbers, or all from `first` on, are those of one frame, told by its index. A run begins a `bank` of so
    many numbers: any number does where that is 1. `returns` names the need that it comes back on, number for number,
    and `sends` the one that comes back on it. `most_on_card` channels are on one card at most, and so
    are those that it `may_lose` with a card. None is on a card of the needs that it is to be `apart` from, or that are
    to be `apart_from_it`. `one_frame` is one of several.
    """

    frame: int | None = None
    listed: tuple[int, ...] = ()
    first: int | None = None
    consecutive: bool = False
    bank: int = 1
    one_card: bool = False
    pairs: bool = False
    returns: str | None = None
    sends: str | None = None
    most_on_card: int | None = None
    may_lose: int | None = None
    apart: tuple[str, ...] = ()
    apart_from_it: tuple[str, ...] = ()
    one_frame: bool = False

    def numbers(self, count: int) -> tuple[int, ...]:
        """The numbers asked for by so many channels, in their order; none where any will do."""
        return self.listed[:count] if self.first is None else tuple(range(self.first, self.first + count))

    @property
    def anything(self) -> bool:
        """Whether it asks for anything."""
        return replace(self, bank=1, one_card=False) != Wanted()

    @property
    def on_a_card(self) -> int | None:
        """So many channels on one card at most, for one reason or another."""
        return min((most for most in (self.most_on_card, self.may_lose) if most is not None), default=None)

    @property
    def linked(self) -> bool:
        """Whether what is asked of its numbers is asked of another need's, too."""
        return self.partner is not None or bool(self.apart_from_it)

    @property
    def partner(self) -> str | None:
        """The need that has the same numbers in the other direction."""
        return self.returns or self.sends


@dataclass(frozen=True, slots=True)
class Need:
    """A need: `demand` counts the spare channels too, `index` the needs of its room in the file from 0."""

    name: str
    direction: Direction
    signal: str
    channels: int
    spare: int
    index: int
    nice: bool = False
    critical: bool = False
    """Whether what is left when a card fails has to serve it."""
    names: tuple[str, ...] = field(default=(), compare=False)
    """Those of its channels in order; fewer where the last have none."""
    wanted: Wanted | None = None
    """What it asks of its numbers; None for nothing."""
    traits: tuple[Trait, ...] = ()
    """What it asks of lines beside their signal, in order."""
    one_of: tuple[OneOf, ...] = ()
    """What its lines are to be alike in."""
    one_latency: bool = False
    """Whether its lines are to be of one latency, as far as latencies are known."""
    lines: tuple[int, ...] = field(default=(), compare=False)
    """The lines of an input list that its channels are; none where no list asks for it."""

    def place_of(self, channel: int) -> tuple[int, ...]:
        """Where a channel, counted from 1, stands among those of all needs of its room, as the files have them."""
        return (1, self.lines[channel - 1]) if channel <= len(self.lines) else (0, self.index, channel)

    @property
    def ask(self) -> Ask:
        """What it asks of a line."""
        return self.signal, self.traits

    @property
    def asks(self) -> Iterator[Ask]:
        """What it asks of a line where it is or is not decided yet how its lines are alike."""
        for ways in product(*((None, *one.ways) for one in self.one_of)):
            yield self.decided(*(way for way in ways if way is not None)).ask

    def decided(self, *ways: Trait) -> Need:
        """The same with some of the ways in which its lines are alike."""
        return replace(self, traits=tuple(sorted({*self.traits, *ways})))

    @property
    def demand(self) -> int:
        """Channels and spare."""
        return self.channels + self.spare

    @property
    def definite(self) -> bool:
        """Whether its channels are told apart."""
        return bool(self.names) or self.wanted is not None

    def name_of(self, channel: int) -> str | None:
        """The name of a channel, counted from 1, where it has one."""
        return self.names[channel - 1] if channel <= len(self.names) else None


@dataclass(frozen=True, slots=True)
class Shortage:
    """How much the needs that are nice to have may be short together: so many channels, of so many needs."""

    channels: int = 0
    needs: int = 0


@dataclass(frozen=True, slots=True)
class Offer:
    """What may be bought. `price` in minor units, 0 where unknown; `at_most` None for any number.

    `index` counts the file's offers from 0.
    """

    item: str
    price: int
    at_most: int | None
    index: int


@dataclass(frozen=True, slots=True)
class Ceiling:
    """What builds may cost at most, in minor units, were these the offers of each item."""

    offers: Mapping[str, tuple[Offer, ...]]
    cost: int


def cheapest_first(offers: Iterable[Offer]) -> tuple[Offer, ...]:
    """Offers of an item in the order in which they are drawn on; of one price first those that come to an end."""
    return tuple(sorted(offers, key=lambda o: (o.price, o.at_most is None, o.at_most or 0)))


FOLLOWS = frozenset({"index", "name", "line", "chassis", "layouts", "candidates", "uncut", "refused", "reserved"}) | {
    "rails_ma",
    "full_rails_ma",
    "left_ma",
    "board_rails_ma",
    "shared_mw",
}
"""What of a frame is its name, or is the same wherever the scenario says the same of two frames of one room."""


def _plain(value: object) -> tuple[object, ...]:
    """A value of the scenario so that equal ones are told alike, whatever order or digits they were written with."""
    if isinstance(value, BaseModel):
        return _plain(dict(value))
    if isinstance(value, Mapping):
        return tuple((key, _plain(own)) for key, own in sorted(value.items()))
    if isinstance(value, tuple):
        return tuple(sorted((_plain(own) for own in value), key=repr))
    return (value.normalize() if isinstance(value, Decimal) else value,)


@dataclass(frozen=True)
class FrameSite:
    """A frame of the scenario with its chassis, its legal layouts and its limits.

    `layouts` holds all legal ones of all boards that it may take; `candidates` those that the scenario's
    own wishes leave, with one for each different numbering. `line` is its place on a clock line. `rails_ma` is
    what may be used of each rail, `full_rails_ma` all of it, `left_ma` what is left of it without one of the supplies,
    where that is known.
    """

    index: int
    name: str
    spec: Frame
    chassis: Chassis
    line: LineSeat | None
    layouts: tuple[Layout, ...]
    candidates: tuple[Layout, ...]
    rails_ma: Mapping[str, int] | None
    full_rails_ma: Mapping[str, int]
    left_ma: Mapping[str, int] | None
    board_rails_ma: Mapping[str, Mapping[str, int] | None]
    shared_mw: Mapping[str, int]
    air: heat.Air | None
    refused: Mapping[str, frozenset[int]]
    reserved: Mapping[str, frozenset[int]]
    tied: tuple[int, int] | str | None = None
    """Its place on a clock line where the settings decide who may end it, or what its place leaves of them."""
    asked: tuple[str, ...] = ()
    """The needs that ask for numbers of this frame by its name."""
    stood: Stood | None = None
    """What stands in it, where builds are ranked by what is moved, or anything of it is fixed."""
    reach: Mapping[str, Reach] = field(default_factory=dict)
    """What its host ports carry with each board that it may have; nothing where none is cabled to it."""
    uncut: tuple[tuple[Layout, ...], tuple[Layout, ...]] = ((), ())
    """Its layouts and candidates where it is cabled, with the numbers that do not come to the host too."""
    fixed: frozenset[int | None] = frozenset()
    """Slots that stay as they stand; None for the whole frame."""
    dead: tuple[Dead, ...] = ()
    """What of it serves nothing, whatever stands there."""
    worn: tuple[tuple[int, str], ...] = ()
    """First slots and cards of which channels are out of service: used there or not at all."""
    _margins: dict[tuple[int, int, str], int] = field(default_factory=dict, init=False, repr=False, compare=False)

    @cached_property
    def alike(self) -> tuple[object, ...]:
        """What tells it apart from other frames of its room: all but its name and what follows from the rest."""
        own = {f.name: getattr(self, f.name) for f in fields(self) if f.compare and f.name not in FOLLOWS}
        return _plain({**own, "spec": {k: v for k, v in self.spec if k != "name"}})

    @property
    def slots(self) -> range:
        """Slot numbers from 1."""
        return range(1, self.chassis.slot_count + 1)

    @property
    def gaps(self) -> int:
        """Gaps beside and between the slots."""
        return self.chassis.slot_count + 1

    def heat_mw(self, left: Kind | None, right: Kind | None, board: str) -> int:
        """Heat of the gap between two cards, or beside one, in milliwatts."""
        return heat.gap_heat_mw(
            (left.heat_mw or 0) if left else 0,
            (right.heat_mw or 0) if right else 0,
            self.shared_mw[board],
            self.gaps,
        )

    def margin_mk(self, left: Kind | None, right: Kind | None, board: str) -> int | None:
        """Cooling margin of that gap in millikelvin; None where nothing can be said."""
        limited = [kind for kind in (left, right) if kind is not None and kind.air_limit_mk is not None]
        if any(kind is not None and kind.hot_at is not None for kind in (left, right)):
            own = [self.own_margin_mk(kind, left, right, board) for kind in limited]
            return min((margin for margin in own if margin is not None), default=None)
        limits = [kind.air_limit_mk for kind in limited if kind.air_limit_mk is not None]
        if self.air is None or not limits:
            return None
        key = min(limits), sum(k.heat_mw or 0 for k in (left, right) if k is not None), board
        if key not in self._margins:
            self._margins[key] = heat.margin_mk(self.air, min(limits), self.heat_mw(left, right, board))
        return self._margins[key]

    def own_margin_mk(
        self, kind: Kind, left: Kind | None, right: Kind | None, board: str, part: int = 1000
    ) -> int | None:
        """Margin of one of two cards in their gap, at its own hottest place, with so many thousandths of all heat.

        None where nothing can be said.
        """
        if self.air is None or kind.air_limit_mk is None:
            return None
        sides = [each for each in (left, right) if each is not None]
        sources = [column.Source((each.heat_mw or 0) * self.gaps * part, each.hot_at) for each in sides]
        sources.append(column.Source(2 * self.shared_mw[board] * part))
        place = column.OUTLET if kind.hot_at is None else kind.hot_at
        rise = column.rise_at_mk(self.air, tuple(sources), 2 * self.gaps * 1000, place)
        return kind.air_limit_mk - self.air.inlet_mk - rise


@dataclass(frozen=True)
class Survey:
    """One room of a scenario, ready for rules, search and audit. Money in minor units, margins in mK.

    `short` is what the search may leave unmet of needs that are nice to have: nothing, unless not all can be met.
    `ceilings` are limits on cost at other prices, which a question may ask for.
    """

    title: str
    room: str | None
    currency: str
    decimals: int
    sample_rate: int
    family: Family
    kinds: Mapping[str, Kind]
    frames: tuple[FrameSite, ...]
    needs: tuple[Need, ...]
    must_seat: tuple[tuple[str, int, int], ...]
    stock: Mapping[str, int]
    offers: Mapping[str, tuple[Offer, ...]]
    budget: int | None
    rank: tuple[str, ...]
    slack: Mapping[str, int | str]
    refuse_mk: int
    warn_mk: int
    enough_mk: int
    step_mk: int
    hardware: Hardware
    scenario: Scenario
    short: Shortage = Shortage()
    ceilings: tuple[Ceiling, ...] = ()
    worked_out: dict[str, Any] = field(default_factory=dict, init=False, repr=False, compare=False)
    """What was worked out of it once and is asked for again."""

    @cached_property
    def demand(self) -> dict[Direction, int]:
        """Channels asked for, spare included, by direction."""
        return {d: sum(n.demand for n in self.needs if n.direction == d) for d in DIRECTIONS}

    @property
    def due(self) -> int:
        """Channels that have to be served at least, spare included, of both directions together."""
        return sum(self.demand.values()) - self.short.channels

    @property
    def particular(self) -> bool:
        """Whether it matters which lines serve which need.

        Needs ask something of numbers, or of lines to be alike, cards are set in some way for needs, or channels are
        out of service.
        """
        asking = any(need.wanted is not None or need.one_of for need in self.needs)
        return asking or self.switched or any(site.dead or site.worn for site in self.frames)

    @cached_property
    def switched(self) -> bool:
        """Whether cards can be set in several ways that make a difference to needs, but channel by channel."""
        return any(kind.switched for kind in self.kinds.values())

    @property
    def from_what_stands(self) -> bool:
        """Whether builds are ranked by what is moved."""
        return any(site.stood is not None for site in self.frames)

    def returns_of(self, need: Need) -> Need | None:
        """The need that the channels of one come back on."""
        name = None if need.wanted is None else need.wanted.returns
        return next((other for other in self.needs if other.name == name), None)

    def sends_of(self, need: Need) -> Need | None:
        """The need whose channels come back on one."""
        name = None if need.wanted is None else need.wanted.sends
        return next((other for other in self.needs if other.name == name), None)

    def listing(self, need: Need) -> Wanted | None:
        """What the need asks for, or the one that is to have the same numbers, if that lists them and it does not."""
        if need.wanted is None or need.wanted.listed:
            return need.wanted
        partner = self.returns_of(need) or self.sends_of(need)
        return need.wanted if partner is None else partner.wanted

    def place(self, need: Need, frame: int, number: int) -> tuple[int, str, int]:
        """For sorting numbers in the order in which a need counts its channels.

        That is the order of the numbers that it lists, or a need that has the same numbers, else of frames and numbers.
        """
        listing = self.listing(need)
        listed = listing.listed if listing is not None and listing.frame == frame else ()
        at = listed.index(number) if number in listed else len(listed)
        return at, self.frames[frame].name, number

    def may_lack(self, need: Need) -> int:
        """How many channels of a need may be short."""
        return min(need.demand, self.short.channels) if need.nice and self.short.needs else 0

    def may_number(self, numbers: Mapping[Direction, int]) -> bool:
        """Whether so many numbers of each direction are enough for what has to be served."""
        lacking = {d: max(0, self.demand[d] - numbers[d]) for d in DIRECTIONS}
        nice = {d: sum(self.may_lack(n) for n in self.needs if n.direction == d) for d in DIRECTIONS}
        return sum(lacking.values()) <= self.short.channels and all(lacking[d] <= nice[d] for d in DIRECTIONS)

    @property
    def top_level(self) -> int:
        """The cooling level from which on all is equal."""
        return self.enough_mk // self.step_mk

    def level(self, margin_mk: int | None) -> int:
        """The cooling level of a margin; what cannot be checked counts as enough."""
        return self.top_level if margin_mk is None else min(margin_mk, self.enough_mk) // self.step_mk

    def most_of(self, item: str) -> int | None:
        """How many of an item can be had at all: stock and offers; None for any number."""
        offers = self.offers.get(item, ())
        if any(o.at_most is None for o in offers):
            return None
        return self.stock.get(item, 0) + sum(o.at_most or 0 for o in offers)

    def site(self, name: str) -> FrameSite | None:
        """A frame by name."""
        return next((f for f in self.frames if f.name == name), None)

    @cached_property
    def host_ports(self) -> tuple[HostPort, ...]:
        """The ports of the recorder's interface, in the order of the file."""
        return next((r.host_port for r in self.scenario.rooms() if self.room in (None, r.name)), ())

    @property
    def clock_lines(self) -> list[list[FrameSite]]:
        """The frames of each clock line, from its source on."""
        lines: dict[int, list[FrameSite]] = {}
        for site in sorted((f for f in self.frames if f.line), key=lambda f: f.line.position if f.line else 0):
            if site.line:
                lines.setdefault(site.line.index, []).append(site)
        return [lines[index] for index in sorted(lines)]

    def groups_of_alike_frames(self) -> list[list[int]]:
        """Indices of frames that nothing but their names tells apart, in name order."""
        groups: dict[str, list[int]] = {}
        for index in sorted(range(len(self.frames)), key=lambda i: self.frames[i].name):
            groups.setdefault(repr(self.frames[index].alike), []).append(index)
        return list(groups.values())
