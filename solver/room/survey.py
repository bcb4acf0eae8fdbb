"""A scenario made ready: ids resolved, integers only, every legal layout of every frame worked out once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from decimal import ROUND_FLOOR, Decimal
from functools import cached_property

from pydantic import BaseModel

from solver.physics import heat
from solver.physics.power import usable_ma
from solver.room.airway import air_of
from solver.room.hardware import PHANTOM, Board, Card, Chassis, Hardware, Port
from solver.room.scenario import MOVING, Frame, Room, Scenario
from solver.room.scenario import Need as ScenarioNeed
from solver.room.signals import NO_PHANTOM
from solver.room.stood import Stood
from solver.room.straps import Layout, Numbering
from solver.room.termination import LineSeat, line_seats, settings_on_a_line, told_apart
from solver.room.traits import Ask, Section, Setup, Switch, Trait, met, sections_of, switches_of
from solver.room.words import (
    CURRENCY_DECIMALS,
    DIRECTIONS,
    SAMPLE_RATES,
    Direction,
    Family,
    in_thousandths,
    parse_percent,
    parse_ranges,
)


@dataclass(frozen=True, slots=True)
class LineType:
    """What decides which needs a line can serve: the signals that its port takes, its channels, what it is set to."""

    signals: frozenset[str]
    grain: int
    traits: frozenset[Trait] = frozenset()
    """What it meets of what needs ask of settings."""
    asks: frozenset[Ask] = frozenset()
    """What of needs it can serve; its signals alone always."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "asks", self.asks | {(signal, ()) for signal in self.signals})

    @property
    def key(self) -> tuple[tuple[str, ...], int, tuple[Trait, ...]]:
        """For sorting."""
        return tuple(sorted(self.signals)), self.grain, tuple(sorted(self.traits))

    @property
    def misfit(self) -> int:
        """Channels times other signals that a line gives up when it serves one need."""
        return self.grain * (len(self.signals) - 1)


@dataclass(frozen=True, slots=True)
class Channel:
    """One card channel on one slot: the line that it is part of and that line's channels."""

    index: int
    line_type: LineType
    line: tuple[int, ...]


def whole_lines(channels: Iterable[Channel], width: int) -> Counter[LineType]:
    """How many whole lines of each type some channels are in a block of `width`."""
    return Counter(channel.line_type for channel in channels if channel.index == channel.line[-1] <= width)


@dataclass(frozen=True)
class Kind:
    """A kind of card at one sample-rate family; unknown figures are None. Heat in mW, rails in mA, limit in mK.

    `card` is what the hardware file says of it, for rules that read more.
    """

    id: str
    span: int
    heat_mw: int | None
    rails_ma: Mapping[str, int] | None
    air_limit_mk: int | None
    channels: Mapping[tuple[Direction, int], tuple[Channel, ...]]
    """Channels by direction and by which of the card's slots carries them, counted from 0."""
    card: Card = field(repr=False)
    ports: Mapping[tuple[Direction, int], tuple[Port, ...]] = field(default_factory=dict, repr=False, compare=False)
    """By direction and slot of the card the port of each channel."""
    asked: Mapping[Direction, frozenset[Ask]] = field(default_factory=dict, repr=False, compare=False)
    """What needs ask beside a signal; its lines then meet as much of it as they can be set to."""
    _lines: dict[tuple[Direction, int, int], Mapping[LineType, int]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def on(self, direction: Direction, part: int) -> tuple[Channel, ...]:
        """The channels of one direction on one of the card's slots."""
        return self.channels.get((direction, part), ())

    def taking(self, direction: Direction, signal: str) -> int:
        """How many of its channels take a signal, on all its slots."""
        return sum(signal in c.line_type.signals for part in range(self.span) for c in self.on(direction, part))

    def lines(self, direction: Direction, part: int, width: int) -> Mapping[LineType, int]:
        """How many whole lines of each type are numbered in a block of `width`."""
        key = direction, part, width
        if key not in self._lines:
            self._lines[key] = whole_lines(self.on(direction, part), width)
        return self._lines[key]

    @cached_property
    def switches(self) -> tuple[Switch, ...]:
        """Everything that can be set on it."""
        return switches_of(self.card, self.ports)

    @cached_property
    def sections(self) -> Mapping[tuple[Direction, int], tuple[Section, ...]]:
        """By direction and slot of the card its channels by what sets them; none where needs ask for no traits."""
        return {
            (direction, part): sections_of(
                [switch for switch in self.switches if switch.setting.direction == direction],
                part,
                self.ports[direction, part],
                [channel.line[0] for channel in channels],
                self.wanted(direction),
            )
            for (direction, part), channels in self.channels.items()
            if self.wanted(direction)
        }

    @property
    def switched(self) -> bool:
        """Whether it can be set in several ways that make a difference to needs, but channel by channel."""
        return any(len(section.setups) > 1 for own in self.sections.values() for section in own)

    def wanted(self, direction: Direction) -> frozenset[Trait]:
        """The traits that needs of a direction ask for."""
        return frozenset(trait for _, traits in self.asked.get(direction, ()) for trait in traits)

    def meeting(self, direction: Direction, channel: Channel, traits: frozenset[Trait]) -> Channel:
        """A channel whose line meets these of the traits that are asked for."""
        plain = channel.line_type
        own = frozenset(
            (signal, asked)
            for signal, asked in self.asked.get(direction, ())
            if signal in plain.signals and traits.issuperset(asked)
        )
        return replace(channel, line_type=LineType(plain.signals, plain.grain, traits, own))

    def set_to(
        self, direction: Direction, part: int, choices: Callable[[Switch], Collection[str]]
    ) -> tuple[Channel, ...]:
        """The channels on one of its slots where its switches may have these choices; a line is set as one."""
        channels, wanted = self.on(direction, part), self.wanted(direction)
        if not wanted:
            return channels
        ports = self.ports[direction, part]
        meets = [
            met(
                ports[channel.index - 1],
                wanted,
                {s.setting.name: choices(s) for s in self.switches_at(direction, part, channel.index)},
            )
            for channel in channels
        ]
        return tuple(
            self.meeting(direction, channel, frozenset.intersection(*(meets[n - 1] for n in channel.line)))
            for channel in channels
        )

    def setups(self, direction: Direction, part: int) -> tuple[tuple[tuple[Setup, tuple[Channel, ...]], ...], ...]:
        """For each section of one of its slots the ways to set it, each with its channels as they are then."""
        at = {channel.index: channel for channel in self.on(direction, part)}
        return tuple(
            tuple(
                (
                    setup,
                    tuple(
                        self.meeting(direction, at[n], frozenset.intersection(*(setup.traits[k] for k in at[n].line)))
                        for n in section.channels
                    ),
                )
                for setup in section.setups
            )
            for section in self.sections.get((direction, part), ())
        )

    def line_types(self, direction: Direction, part: int) -> set[LineType]:
        """The types of its lines on one of its slots, however it is set."""
        sections = self.setups(direction, part) or ((((), self.on(direction, part)),),)
        return {channel.line_type for ways in sections for _, channels in ways for channel in channels}

    @cached_property
    def linked(self) -> frozenset[Switch]:
        """What sets channels of several sections."""
        every = [section for own in self.sections.values() for section in own]
        counts = Counter(switch for section in every for switch, _ in section.setups[0].chosen)
        return frozenset(switch for switch, sections in counts.items() if sections > 1)

    def switches_at(self, direction: Direction, part: int, index: int) -> list[Switch]:
        """What is set on a channel."""
        return self._at.get((direction, part, index), [])

    @cached_property
    def _at(self) -> dict[tuple[Direction, int, int], list[Switch]]:
        found: dict[tuple[Direction, int, int], list[Switch]] = {}
        for switch in self.switches:
            for part, index in switch.places:
                found.setdefault((switch.setting.direction, part, index), []).append(switch)
        return found

    def asked_of(self, asked: Mapping[Direction, frozenset[Ask]]) -> Kind:
        """The same where needs ask this; each line meets what it can be set to."""
        kind = replace(self, asked=asked)
        return replace(
            kind,
            channels={
                (direction, part): tuple(
                    kind.meeting(direction, channel, _can_meet(kind.sections.get((direction, part), ()), channel))
                    for channel in channels
                )
                for (direction, part), channels in self.channels.items()
            },
        )


def _can_meet(sections: Iterable[Section], channel: Channel) -> frozenset[Trait]:
    """What a line can be set to, in one way or another."""
    setups = [setup for section in sections if channel.line[0] in section.channels for setup in section.setups]
    return frozenset(
        trait for setup in setups for trait in frozenset.intersection(*(setup.traits[n] for n in channel.line))
    )


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a need asks of the numbers of its channels.

    `listed` numbers, or all from `first` on, are those of one frame, told by its index. A run begins a `bank` of so
    many numbers: any number does where that is 1. `returns` names the need that it comes back on, number for number,
    and `sends` the one that comes back on it. `most_on_card` channels are on one card at most, and none is on a card of
    the needs that it is to be `apart` from, or that are to be `apart_from_it`. `one_frame` is one of several.
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
    names: tuple[str, ...] = field(default=(), compare=False)
    """Those of its channels in order; fewer where the last have none."""
    wanted: Wanted | None = None
    """What it asks of its numbers; None for nothing."""
    traits: tuple[Trait, ...] = ()
    """What it asks of settings, in order."""

    @property
    def ask(self) -> Ask:
        """What it asks of a line."""
        return self.signal, self.traits

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


def cheapest_first(offers: Iterable[Offer]) -> tuple[Offer, ...]:
    """Offers of an item in the order in which they are drawn on; of one price first those that come to an end."""
    return tuple(sorted(offers, key=lambda o: (o.price, o.at_most is None, o.at_most or 0)))


FOLLOWS = frozenset({"index", "name", "line", "chassis", "layouts", "candidates", "air", "refused", "reserved"}) | {
    "rails_ma",
    "full_rails_ma",
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
    what may be used of each rail, `full_rails_ma` all of it.
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
    """What stands in it, where builds are ranked by what is moved."""
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
        limits = [k.air_limit_mk for k in (left, right) if k is not None and k.air_limit_mk is not None]
        if self.air is None or not limits:
            return None
        key = min(limits), sum(k.heat_mw or 0 for k in (left, right) if k is not None), board
        if key not in self._margins:
            self._margins[key] = heat.margin_mk(self.air, min(limits), self.heat_mw(left, right, board))
        return self._margins[key]


@dataclass(frozen=True)
class Survey:
    """One room of a scenario, ready for rules, search and audit. Money in minor units, margins in mK.

    `short` is what the search may leave unmet of needs that are nice to have: nothing, unless not all can be met.
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
        """Whether any need asks anything of its numbers, or cards are set in one way or another for needs."""
        return any(need.wanted is not None for need in self.needs) or self.switched

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


def _kind(card: Card, family: Family) -> Kind:
    channels: dict[tuple[Direction, int], tuple[Channel, ...]] = {}
    ports: dict[tuple[Direction, int], tuple[Port, ...]] = {}
    for direction in DIRECTIONS:
        for part in range(card.span):
            found: list[Channel] = []
            own: list[Port] = []
            for port in card.ports:
                if port.direction != direction or port.on_slot != part + 1:
                    continue
                line_type = LineType(frozenset(port.signals), port.grain)
                start = len(found)
                for offset in range(port.channels.get(family, 0)):
                    first = start + offset // port.grain * port.grain + 1
                    line = tuple(range(first, first + port.grain))
                    found.append(Channel(start + offset + 1, line_type, line))
                    own.append(port)
            channels[direction, part] = tuple(found)
            ports[direction, part] = tuple(own)
    return Kind(
        id=card.id,
        span=card.span,
        heat_mw=None if card.heat_w is None else in_thousandths(card.heat_w),
        rails_ma=None if card.rails is None else {r: in_thousandths(a) for r, a in card.rails.items()},
        air_limit_mk=None if card.air_limit_c is None else in_thousandths(card.air_limit_c, ROUND_FLOOR),
        channels=channels,
        card=card,
        ports=ports,
    )


def layouts_in(frame: Frame, board: Board, chassis: Chassis, family: Family, seat: LineSeat | None) -> Iterator[Layout]:
    """The legal layouts of a board in a frame; what ends a clock line is settled later."""
    numbering = Numbering(board, chassis.slot_count, family)
    for settings, ends in settings_on_a_line(board, frame.straps, seat):
        layout = numbering.layout(settings)
        yield layout if ends is None else replace(layout, ends=ends)


def _moving(layout: Layout, stood: Stood | None, board: Board) -> Layout:
    """A layout with how many straps it takes to have it from what stands."""
    if stood is None:
        return layout
    named = {group.name: group.settings() for group in board.strap_group}
    settings = {group: next(s for s in named[group] if s.name == name) for group, name in layout.straps}
    return replace(layout, to_set=stood.to_set(board, settings))


class Parts:
    """What frames of one scenario have in common, worked out once."""

    def __init__(self, scenario: Scenario, hardware: Hardware) -> None:
        self.chassis = {chassis.id: chassis for chassis in hardware.chassis}
        self._cards = sorted(hardware.card, key=lambda card: card.id)
        self._kinds: dict[Family, dict[str, Kind]] = {}
        self._boards = {board.id: board for board in sorted(hardware.board, key=lambda b: b.id)}
        self._on_hand = {*(i for i, n in scenario.owned.items() if n), *(o.item for o in scenario.offer)}
        self._layouts: dict[object, tuple[tuple[Layout, ...], tuple[Layout, ...]]] = {}
        self._shared_mw: dict[Decimal, dict[str, int]] = {}
        self._refused: dict[str, dict[str, frozenset[int]]] = {}
        self.rails_ma = {
            b.id: None if b.rails is None else {r: in_thousandths(a) for r, a in b.rails.items()}
            for b in hardware.board
        }
        self.reserved = {b.id: frozenset(b.reserved) for b in hardware.board}

    def kinds(self, family: Family) -> dict[str, Kind]:
        """Every kind of card at a sample-rate family, by id."""
        if family not in self._kinds:
            self._kinds[family] = {card.id: _kind(card, family) for card in self._cards}
        return self._kinds[family]

    def boards(self, frame: Frame) -> list[Board]:
        """The boards that may stand in a frame."""
        own = [frame.board] if frame.board else self.chassis[frame.chassis].boards
        return [b for b in self._boards.values() if b.id in own and (frame.board or b.id in self._on_hand)]

    def layouts(
        self, frame: Frame, family: Family, seat: LineSeat | None, stood: Stood | None
    ) -> tuple[tuple[Layout, ...], tuple[Layout, ...]]:
        """All legal layouts of a frame at its place on a clock line, and its candidates."""
        key = frame.chassis, frame.board, frozenset(frame.straps.items()), family, seat, stood
        if key not in self._layouts:
            self._layouts[key] = self._worked_out(frame, family, seat, stood)
        return self._layouts[key]

    def _worked_out(
        self, frame: Frame, family: Family, seat: LineSeat | None, stood: Stood | None
    ) -> tuple[tuple[Layout, ...], tuple[Layout, ...]]:
        chassis = self.chassis[frame.chassis]
        every = tuple(
            _moving(layout, stood, board)
            for board in self.boards(frame)
            if family in board.limits
            for layout in layouts_in(frame, stood.left_standing(board) if stood else board, chassis, family, seat)
        )
        asked = frame.straps
        fitting = [w for w in every if all(dict(w.straps).get(g, s) == s for g, s in asked.items())]
        distinct: dict[object, Layout] = {}
        for layout in sorted(fitting, key=lambda w: (w.to_set, w.closed, w.board, w.straps)):
            distinct.setdefault((layout.board, layout.inputs, layout.outputs, layout.ends), layout)
        return every, tuple(sorted(distinct.values(), key=lambda w: (w.board, w.closed, w.straps)))

    def shared_mw(self, loss_w: Decimal) -> Mapping[str, int]:
        """The heat of each board with what a supply inside loses."""
        if loss_w not in self._shared_mw:
            boards = self._boards.values()
            self._shared_mw[loss_w] = {b.id: in_thousandths((b.heat_w or Decimal(0)) + loss_w) for b in boards}
        return self._shared_mw[loss_w]

    def refused(self, chassis: Chassis) -> Mapping[str, frozenset[int]]:
        """The slots that a chassis refuses to cards."""
        if chassis.id not in self._refused:
            found: dict[str, set[int]] = {}
            for refusal in chassis.refuses:
                for card in refusal.cards:
                    found.setdefault(card, set()).update(parse_ranges(refusal.slots))
            self._refused[chassis.id] = {card: frozenset(slots) for card, slots in found.items()}
        return self._refused[chassis.id]


def _tied_by_a_line(sites: Sequence[FrameSite]) -> tuple[FrameSite, ...]:
    """Frames of lines on which the settings decide who may end them are told apart by their places there."""
    tied = {site.line.index for site in sites if site.line and any(w.ends is not None for w in site.layouts)}
    return tuple(
        replace(site, tied=(site.line.index, site.line.position)) if site.line and site.line.index in tied else site
        for site in sites
    )


def _site(index: int, frame: Frame, parts: Parts, scenario: Scenario, room: Room, family: Family) -> FrameSite:
    seat = line_seats(room).get(frame.name)
    chassis = parts.chassis[frame.chassis]
    stood = _stood(scenario, frame)
    every, candidates = parts.layouts(frame, family, seat, stood)
    reserve = parse_percent(scenario.limits.rail_reserve, 90)
    full_rails_ma = {r: in_thousandths(a, ROUND_FLOOR) for r, a in sorted((chassis.rails or {}).items())}
    loss = Decimal(0) if chassis.supply.external else chassis.supply.all_loss_w
    return FrameSite(
        index=index,
        name=frame.name,
        spec=frame,
        chassis=chassis,
        line=seat,
        layouts=every,
        candidates=candidates,
        rails_ma=None if chassis.rails is None else {r: usable_ma(a, reserve) for r, a in full_rails_ma.items()},
        full_rails_ma=full_rails_ma,
        board_rails_ma=parts.rails_ma,
        shared_mw=parts.shared_mw(loss),
        air=air_of(frame, chassis, scenario.air_in(room)),
        refused=parts.refused(chassis),
        reserved=parts.reserved,
        tied=told_apart(parts.boards(frame), frame.straps, seat),
        stood=stood,
    )


def _stood(scenario: Scenario, frame: Frame) -> Stood | None:
    """What stands in a frame, where builds are ranked by what is moved."""
    if scenario.stands is None or not MOVING & set(scenario.rank):
        return None
    return Stood.in_frame(scenario.stands, frame.name)


def _wanted(need: ScenarioNeed, sites: Sequence[FrameSite], sends: str | None, away: Sequence[str]) -> Wanted | None:
    """What a need asks of its numbers, if anything, or another that comes back on it or is to be away from it."""
    if not need.particular and sends is None and not away:
        return None
    asked = need.numbers
    frame = None if asked is None else next(s.index for s in sites if asked.frame in (None, s.name))
    return Wanted(
        frame=frame,
        listed=() if asked is None or asked.list is None else parse_ranges(asked.list),
        first=None if asked is None else asked.from_,
        consecutive=need.consecutive,
        bank=need.bank_of or 1,
        one_card=need.one_card,
        pairs=need.pairs,
        returns=need.returns_on,
        sends=sends,
        most_on_card=need.max_per_card,
        apart=need.apart_from,
        apart_from_it=tuple(away),
        one_frame=len(sites) > 1 and not need.may_split and bool(need.returns_on or (need.pairs and need.demand > 2)),
    )


def _traits(need: ScenarioNeed, hardware: Hardware) -> tuple[Trait, ...]:
    """What a need asks of settings: no phantom power for some signals, where any input that takes them may feed it."""
    found = dict(need.settings)
    barred = need.phantom is None and need.signal in NO_PHANTOM
    if need.phantom == "wanted":
        found[PHANTOM] = "on"
    elif need.direction == "in" and (barred or need.phantom == "forbidden"):
        ports = [port for card in hardware.card for port in card.ports if need.signal in port.signals]
        if any(port.phantom_ma_per_channel for port in ports):
            found[PHANTOM] = "off"
    return tuple(sorted(found.items()))


def _asked_of_lines(needs: Iterable[Need]) -> dict[Direction, frozenset[Ask]]:
    """By direction what needs ask beside a signal; nothing where none does."""
    asking = [need for need in needs if need.traits]
    return {d: frozenset(n.ask for n in asking if n.direction == d) for d in DIRECTIONS} if asking else {}


def _asked_by_name(sites: Sequence[FrameSite], room: Room) -> tuple[FrameSite, ...]:
    """Frames whose numbers needs ask for are told apart by those."""
    asking = [(need.name, need.numbers.frame) for need in room.need if need.numbers is not None]
    asked = {site.name: sorted(need for need, frame in asking if frame in (None, site.name)) for site in sites}
    return tuple(replace(site, asked=tuple(asked[site.name])) if asked[site.name] else site for site in sites)


def survey_room(scenario: Scenario, hardware: Hardware, room: Room | None = None, parts: Parts | None = None) -> Survey:
    """Make one room of a scenario ready; without `room`, its only one. `parts` are those of its other rooms.

    The files must have passed the loader's checks: every id is defined, every figure in range.
    """
    parts = parts or Parts(scenario, hardware)
    room = room or scenario.rooms()[0]
    rate = room.sample_rate or scenario.sample_rate
    family = SAMPLE_RATES[rate]
    decimals = CURRENCY_DECIMALS[scenario.currency]

    def minor(amount: Decimal) -> int:
        return int(amount.scaleb(decimals))

    sites = _tied_by_a_line(
        [
            _site(index, frame, parts, scenario, room, family)
            for index, frame in enumerate(sorted(room.frame, key=lambda f: f.name))
        ]
    )
    sites = _asked_by_name(sites, room)
    sends = {need.returns_on: need.name for need in room.need if need.returns_on is not None}
    away: dict[str, list[str]] = {}
    for name, other in sorted((need.name, other) for need in room.need for other in need.apart_from):
        away.setdefault(other, []).append(name)
    prices = {i.id: i.price for group in (hardware.card, hardware.board, hardware.chassis) for i in group}
    offers: dict[str, list[Offer]] = {}
    for index, offer in enumerate(scenario.offer):
        price = offer.price if offer.price is not None else prices.get(offer.item)
        offers.setdefault(offer.item, []).append(Offer(offer.item, minor(price or Decimal(0)), offer.at_most, index))
    needs = tuple(
        sorted(
            (
                Need(
                    n.name,
                    n.direction,
                    n.signal,
                    n.channels,
                    n.spare,
                    index,
                    n.importance == "nice",
                    names=n.channel_names,
                    wanted=_wanted(n, sites, sends.get(n.name), away.get(n.name, ())),
                    traits=_traits(n, hardware),
                )
                for index, n in enumerate(room.need)
            ),
            key=lambda n: n.name,
        )
    )
    kinds = parts.kinds(family)
    asked = _asked_of_lines(needs)
    if asked:
        kinds = {card: kind.asked_of(asked) for card, kind in kinds.items()}
    limits = scenario.limits
    return Survey(
        title=scenario.title,
        room=room.name or None,
        currency=scenario.currency,
        decimals=decimals,
        sample_rate=rate,
        family=family,
        kinds=kinds,
        frames=sites,
        needs=needs,
        must_seat=tuple(sorted((m.card, m.count, index) for index, m in enumerate(room.must_seat))),
        stock=dict(scenario.owned),
        offers={item: cheapest_first(own) for item, own in offers.items()},
        budget=None if scenario.budget is None else minor(scenario.budget),
        rank=scenario.rank,
        slack={str(c): s for c, s in scenario.slack.items()},
        refuse_mk=in_thousandths(limits.refuse_below_k),
        warn_mk=in_thousandths(limits.warn_below_k),
        enough_mk=in_thousandths(limits.enough_k),
        step_mk=in_thousandths(limits.step_k),
        hardware=hardware,
        scenario=scenario,
    )
