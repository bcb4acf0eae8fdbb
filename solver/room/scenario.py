"""What a scenario file asks for: needs, frames, stock, offers, money, order of ranking."""

from collections import Counter
from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, Strict, ValidationError

from solver.room.assets import Asset
from solver.room.bays import Bay
from solver.room.build import Build
from solver.room.clocks import ClockDevice, ClockKind
from solver.room.ends import Cable, FarEnd, TieLine
from solver.room.links import HostPort
from solver.room.mains import Breaker, Mains
from solver.room.out_of_service import OutOfService
from solver.room.racks import Rack
from solver.room.times import MOST_PHASES, MOST_SETUPS, Phase, Setup
from solver.room.words import (
    MOST_CHANNELS,
    MOST_ITEMS,
    MOST_PARTS,
    Altitude,
    Celsius,
    Channels,
    Count,
    Direction,
    Flag,
    Id,
    Measure,
    Money,
    Noun,
    Positive,
    Quantity,
    Ranges,
    SlotKey,
    SlotNumber,
    Text,
    parse_percent,
)

CriterionName = Literal[
    "cost", "unused", "stranded", "holes", "idle", "cooling", "cards_moved", "straps_moved", "lids_off", "renumbered"
]

MOST_UNSURE = 6
"""So many prices may be unsure at most: a search is asked at every corner of what they can be together."""

MOVING = frozenset({"cards_moved", "straps_moved", "lids_off", "renumbered"})
"""The criteria that count what is moved from what stands."""


def _reserve(value: str) -> str:
    parse_percent(value, 90)
    return value


def _part(value: str) -> str:
    parse_percent(value, 1000)
    return value


def _slack(value: int | str) -> int | str:
    if isinstance(value, str):
        parse_percent(value, 1000)
    return value


def _installed(value: object) -> object:
    if not isinstance(value, dict):
        if not isinstance(value, str | Build | None):
            raise ValueError("must be the name of a build file, or a build as a table")
        return value
    try:
        return Build.model_validate(value)
    except ValidationError as error:
        first = error.errors()[0]
        where = " > ".join(map(str, first["loc"]))
        raise ValueError(f"is no build ({where}); name a build file, whose faults are told one by one") from None


Slack = Annotated[Annotated[int, Strict(), Field(ge=0, le=10**6)] | Annotated[str, Strict()], AfterValidator(_slack)]


def fixed_place(entry: str, frames: Collection[str]) -> tuple[str, int | None]:
    """The frame that an entry fixes, ``A``, or frame and slot, ``A:3``; slot 0 where that is no number."""
    name, colon, slot = entry.rpartition(":")
    if entry in frames or not colon:
        return entry, None
    return name, int(slot) if slot.isascii() and slot.isdigit() and len(slot) < 4 else 0


class Thresholds(Noun):
    """What is kept in reserve, and when cooling is refused, warned about or enough (kelvin of margin)."""

    rail_reserve: Annotated[str, Strict(), AfterValidator(_reserve)] = "20 %"
    refuse_below_k: Quantity = Decimal(5)
    warn_below_k: Quantity = Decimal(10)
    enough_k: Quantity = Decimal(15)
    step_k: Annotated[Quantity, Field(gt=0)] = Decimal(2)


class RoomAir(Noun):
    """The air that enters the frames: measured at the rack inlet, not at the wall."""

    inlet_c: Celsius
    altitude_m: Altitude = Decimal(0)


class Vents(Noun):
    """Free areas of the vent panels directly below and above the frame, each for the whole frame."""

    below_cm2: Measure | None = None
    above_cm2: Measure | None = None


class MeasuredRise(Noun):
    """A measured air temperature rise at a known heat in one gap, to calibrate the estimate."""

    gap_w: Measure
    rise_k: Measure


class Frame(Noun):
    """A frame that stands in the room (`owned`), or one that may be bought. `must_use`: a card stands in it."""

    name: Text
    chassis: Id
    owned: Flag = True
    board: Id | None = None
    straps: dict[Text, Text] = {}
    pins: dict[SlotKey, Id] = {}
    keep_empty: tuple[SlotNumber, ...] = Field((), max_length=MOST_PARTS)
    inlet_rise_k: Quantity = Decimal(0)
    must_use: Flag = False
    vents: Vents = Field(default_factory=Vents)
    measured: MeasuredRise | None = None
    blanks: Flag = True


class MustSeat(Noun):
    """At least so many of a card must be seated."""

    card: Id
    count: Positive = 1


class AskedNumbers(Noun):
    """Numbers of one frame: a `list`, or all from one on. `frame` may be left out where there is one frame."""

    frame: Text | None = None
    from_: Annotated[Channels, Field(ge=1)] | None = Field(None, alias="from")
    list: Ranges | None = None


def _asked_numbers(value: object) -> object:
    if isinstance(value, str):
        return {"list": value}
    if not isinstance(value, dict | AskedNumbers):
        raise ValueError('must be numbers such as "1-4, 9", or a table with a frame')
    return value


PARTICULAR = (
    "numbers",
    "consecutive",
    "pairs",
    "bank_of",
    "one_card",
    "returns_on",
    "max_per_card",
    "apart_from",
)
"""Keys of a need that ask something of its numbers or of its cards."""


class Need(Noun):
    """So many channels of a signal, `in` towards the recorder or `out` from it, and so many to spare.

    A need that is nice to have gives way where not all can be met; of one that is critical nothing is lost when what
    the scenario is to `survive` fails. `channel_names` are those of its channels in order.
    The other keys ask for certain numbers: `numbers` names
    them, channel by channel; `consecutive` wants one unbroken run of them, which with `bank_of` begins a bank of so
    many and with `one_card` lies on one card; `pairs` wants an odd number and the next one on one card for each two
    channels; `returns_on` names the need that the channels of one `out` come back on, each on the number that it has;
    `max_per_card` is the most of its channels on one card, and `apart_from` names needs on other cards than its own.
    Where there are several frames, pairs and what comes back are in one of them, unless it `may_split`.
    `settings` says to what cards are set for its channels, by names of card settings; `phantom` whether these get
    phantom power. With `same_latency` all channels go through cards of one latency, as those of pairs do and what comes
    back on its own numbers, unless it is false; `asynchronous` sources share no clock, and get inputs that convert.
    """

    name: Text
    direction: Direction
    signal: Id
    channels: Channels
    spare: Channels = 0
    importance: Literal["must", "nice"] = "must"
    critical: Flag = False
    channel_names: tuple[Text, ...] = Field((), max_length=MOST_CHANNELS)
    numbers: (
        Annotated[AskedNumbers, BeforeValidator(_asked_numbers, json_schema_input_type=Ranges | AskedNumbers)] | None
    ) = None
    consecutive: Flag = False
    bank_of: Annotated[Channels, Field(ge=2)] | None = None
    one_card: Flag = False
    pairs: Flag = False
    returns_on: Text | None = None
    max_per_card: Annotated[Channels, Field(ge=1)] | None = None
    apart_from: tuple[Text, ...] = Field((), max_length=MOST_ITEMS)
    may_split: Flag = False
    settings: dict[Text, Text] = {}
    phantom: Literal["wanted", "forbidden", "any"] | None = None
    same_latency: Flag | None = None
    asynchronous: Flag = False

    @property
    def demand(self) -> int:
        """Channels and spare."""
        return self.channels + self.spare

    @property
    def particular(self) -> bool:
        """Whether it asks anything of its numbers."""
        return any(getattr(self, key) for key in PARTICULAR)


class ListedNeed(Need):
    """A need of an input list; `lines` are those of its channels there, in order."""

    lines: tuple[int, ...]


class ClockLine(Noun):
    """Frames that one clock line reaches, in order from its source on. The last one that is used ends it.

    With `terminator` a plug of the line's impedance stands at its end, and no frame ends it. `source` is the device
    that it begins at; it may then reach devices that are no frames, too.
    """

    source: Text | None = None
    kind: ClockKind = "word"
    frames: tuple[Text, ...] = Field(min_length=1, max_length=MOST_ITEMS)
    impedance_ohm: Positive = 75
    terminator: Flag = False


class Offer(Noun):
    """What may be bought: a card, a chassis or a board."""

    card: Id | None = None
    chassis: Id | None = None
    board: Id | None = None
    price: Money | None = None
    at_most: Count | None = None

    @property
    def item(self) -> str:
        """The id of what is offered."""
        return self.card or self.chassis or self.board or ""


class Hire(Noun):
    """A card that may be had for some days where one has failed, and what each of it costs a day."""

    card: Id
    day_price: Money
    at_most: Count | None = None


class Survive(Noun):
    """What may fail, one at a time, without anything being lost of critical needs.

    `cards` is how many cards at once. `with` says what is done then: lines are patched anew, or nothing, so that as
    many channels as are needed stay where they are. `supplies` is how many supplies of a frame: the others carry it.
    """

    cards: Annotated[int, Strict(), Field(ge=1, le=1)] | None = None
    supplies: Annotated[int, Strict(), Field(ge=1, le=1)] | None = None
    with_: Literal["repatch", "nothing"] = Field("repatch", alias="with")


class PriceRange(Noun):
    """From where to where the price of an offer may move; with several offers of the item, of the one that is `now`."""

    card: Id | None = None
    chassis: Id | None = None
    board: Id | None = None
    now: Money | None = None
    from_: Money = Field(alias="from")
    to: Money

    @property
    def item(self) -> str:
        """The id of what is offered."""
        return self.card or self.chassis or self.board or ""


class NeedRange(Noun):
    """From how many channels to how many a need may come to ask for, beside those to spare."""

    name: Text
    from_: Channels = Field(alias="from")
    to: Channels


class InletRange(Noun):
    """From where to where the air at the inlet may come to lie."""

    from_: Celsius = Field(alias="from")
    to: Celsius


class HeatRange(Noun):
    """From where to where the heat of cards and boards may come to lie, in per cent of what the files say."""

    from_: Annotated[str, Strict(), AfterValidator(_part)] = Field(alias="from")
    to: Annotated[str, Strict(), AfterValidator(_part)]


class Tolerance(Noun):
    """What is not sure, and how far it may move."""

    price: tuple[PriceRange, ...] = Field((), max_length=MOST_UNSURE)
    need: tuple[NeedRange, ...] = Field((), max_length=MOST_ITEMS)
    inlet_c: InletRange | None = None
    heat: HeatRange | None = None

    @property
    def anything(self) -> bool:
        """Whether anything is not sure."""
        return bool(self.price or self.graded)

    @property
    def graded(self) -> bool:
        """Whether anything is not sure that more of is never easier: needs, air, heat."""
        return bool(self.need or self.inlet_c or self.heat)


class Room(Noun):
    """A room with its own frames and needs; stock, offers and budget are shared."""

    name: Text
    sample_rate: Annotated[int, Strict()] | None = None
    air: RoomAir | None = None
    frame: tuple[Frame, ...] = Field(min_length=1, max_length=MOST_ITEMS)
    need: tuple[Need, ...] = Field((), max_length=MOST_ITEMS)
    needs_from: Text | None = None
    must_seat: tuple[MustSeat, ...] = Field((), max_length=MOST_ITEMS)
    clock_line: tuple[ClockLine, ...] = Field((), max_length=MOST_ITEMS)
    clock: tuple[ClockDevice, ...] = Field((), max_length=MOST_PARTS)
    bay: tuple[Bay, ...] = Field((), max_length=MOST_ITEMS)
    far_end: tuple[FarEnd, ...] = Field((), max_length=MOST_ITEMS)
    tie_line: tuple[TieLine, ...] = Field((), max_length=MOST_ITEMS)
    cable: tuple[Cable, ...] = Field((), max_length=MOST_ITEMS)
    rack: tuple[Rack, ...] = Field((), max_length=MOST_PARTS)
    breaker: tuple[Breaker, ...] = Field((), max_length=MOST_PARTS)
    host_port: tuple[HostPort, ...] = Field((), max_length=MOST_PARTS)


class Scenario(Noun):
    """One scenario file."""

    format: Literal[1]
    title: Text
    hardware: tuple[Text, ...] = Field(min_length=1, max_length=MOST_PARTS)
    currency: Annotated[str, Strict()]
    sample_rate: Annotated[int, Strict()] = 48000
    budget: Money | None = None
    rank: tuple[CriterionName, ...] = ("cost", "unused", "cooling")
    installed: Annotated[
        Text | Build | None, BeforeValidator(_installed, json_schema_input_type=Text | Build | None)
    ] = None
    fixed: tuple[Text, ...] = Field((), max_length=MOST_ITEMS)
    asset: tuple[Asset, ...] = Field((), max_length=MOST_ITEMS)
    out_of_service: tuple[OutOfService, ...] = Field((), max_length=MOST_ITEMS)
    slack: dict[CriterionName, Slack] = {}
    limits: Thresholds = Field(default_factory=Thresholds)
    air: RoomAir | None = None
    stock: dict[Id, Count] = Field({}, max_length=MOST_ITEMS)
    offer: tuple[Offer, ...] = Field((), max_length=MOST_ITEMS)
    hire: tuple[Hire, ...] = Field((), max_length=MOST_ITEMS)
    survive: Survive | None = None
    tolerance: Tolerance | None = None
    setup: tuple[Setup, ...] = Field((), max_length=MOST_SETUPS)
    straps: Literal["per setup", "same"] = "per setup"
    over_setups: Literal["sum", "worst"] = "sum"
    phase: tuple[Phase, ...] = Field((), max_length=MOST_PHASES)
    moves: Literal["once", "never"] = "once"
    cost_of: Literal["all phases", "first phase"] = "all phases"
    frame: tuple[Frame, ...] = Field((), max_length=MOST_ITEMS)
    need: tuple[Need, ...] = Field((), max_length=MOST_ITEMS)
    needs_from: Text | None = None
    must_seat: tuple[MustSeat, ...] = Field((), max_length=MOST_ITEMS)
    clock_line: tuple[ClockLine, ...] = Field((), max_length=MOST_ITEMS)
    clock: tuple[ClockDevice, ...] = Field((), max_length=MOST_PARTS)
    bay: tuple[Bay, ...] = Field((), max_length=MOST_ITEMS)
    far_end: tuple[FarEnd, ...] = Field((), max_length=MOST_ITEMS)
    tie_line: tuple[TieLine, ...] = Field((), max_length=MOST_ITEMS)
    cable: tuple[Cable, ...] = Field((), max_length=MOST_ITEMS)
    rack: tuple[Rack, ...] = Field((), max_length=MOST_PARTS)
    mains: Mains | None = None
    breaker: tuple[Breaker, ...] = Field((), max_length=MOST_PARTS)
    host_port: tuple[HostPort, ...] = Field((), max_length=MOST_PARTS)
    room: tuple[Room, ...] = Field((), max_length=MOST_ITEMS)

    @property
    def as_found(self) -> Build | None:
        """What stands already, in service or not, where the scenario says it."""
        return self.installed if isinstance(self.installed, Build) else None

    @property
    def stands(self) -> Build | None:
        """What stands already and is in service, where the scenario says it."""
        found = self.as_found
        if found is None or not self.out_of_service:
            return found
        gone = self.gone
        frames = [
            own.model_copy(update={"cards": {n: c for n, c in own.cards.items() if (own.name, int(n)) not in gone}})
            for own in found.frame
        ]
        return found.model_copy(update={"frame": tuple(frames)})

    def fixed_in(self, frame: str) -> frozenset[int | None]:
        """The slots of a frame that stay as they stand; None for all of it."""
        named = {own.name for own in self.frame}
        places = (fixed_place(entry, named) for entry in self.fixed)
        return frozenset(slot for name, slot in places if name == frame)

    @property
    def owned(self) -> Mapping[str, int]:
        """How many of each item are owned beside the frames: those in stock, and whatever stands, in service or not."""
        stood = Counter[str]()
        boards = {frame.name: frame.board for frame in self.frame}
        for built in self.installed.frame if isinstance(self.installed, Build) else ():
            stood.update(built.cards.values())
            stood.update([built.board] if boards.get(built.name) != built.board else [])
        return {item: max(self.stock.get(item, 0), stood[item]) for item in {**self.stock, **stood}}

    @property
    def gone(self) -> Mapping[tuple[str, int], str]:
        """The cards that stand and are out of service, by frame and first slot."""
        places = {self.seat_of(entry) for entry in self.out_of_service}
        built = self.installed.frame if isinstance(self.installed, Build) else ()
        return {(own.name, n): card for own in built for n, card in own.seats() if (own.name, n) in places}

    def slot_at(self, place: str) -> tuple[str, int] | None:
        """Frame and slot of a place that is written ``A:5``; None where it is not."""
        name, slot = fixed_place(place, [frame.name for frame in self.frame])
        return (name, slot) if slot else None

    def seat_of(self, entry: OutOfService) -> tuple[str, int] | None:
        """Frame and first slot of a card that an entry takes out of service; None where it names none that stands."""
        asset = self.asset_of(entry)
        return self.slot_at(entry.slot or ("" if asset is None else asset.at))

    def asset_of(self, entry: OutOfService) -> Asset | None:
        """The asset that an entry takes out of service, by its serial number or its slot."""
        place = self.slot_at(entry.slot or "")
        here = (own for own in self.asset if place is not None and self.slot_at(own.at) == place)
        return next((own for own in self.asset if own.serial == entry.asset), next(here, None))

    def item_of(self, entry: OutOfService) -> str | None:
        """The card, board or chassis of which there is one fewer by an entry."""
        place, asset = self.seat_of(entry), self.asset_of(entry)
        if place is not None:
            return self.gone.get(place)
        return entry.stock if asset is None else asset.card

    @property
    def in_service(self) -> Mapping[str, int]:
        """How many of each item are owned and in service."""
        away = Counter(item for entry in self.out_of_service if (item := self.item_of(entry)))
        return {item: max(0, count - away[item]) for item, count in self.owned.items()}

    @property
    def yielding(self) -> tuple[CriterionName, ...]:
        """The criteria of which slack lets something be given up, in their order; of cooling a step at least."""
        return tuple(
            criterion
            for criterion in self.rank
            if (given := self.slack.get(criterion, 0))
            and (parse_percent(given, 1000) if isinstance(given, str) else True)
            and (criterion != "cooling" or isinstance(given, str) or given >= self.limits.step_k)
        )

    def air_in(self, room: Room) -> RoomAir | None:
        """The air of a room: its own where it has one, at the scenario's altitude where that says none."""
        if room.air is None or self.air is None or "altitude_m" in room.air.model_fields_set:
            return room.air or self.air
        if "altitude_m" not in self.air.model_fields_set:
            return room.air
        return room.air.model_copy(update={"altitude_m": self.air.altitude_m})

    def air_at(self, room: Room, frame: str) -> RoomAir | None:
        """The air of a frame of a room: at the foot of its rack where that says how warm it is."""
        air = self.air_in(room)
        measured = next((rack.inlet_c for rack in room.rack if frame in rack.frames), None)
        if measured is None:
            return air
        return RoomAir(inlet_c=measured) if air is None else air.model_copy(update={"inlet_c": measured})

    def rooms(self) -> tuple[Room, ...]:
        """The rooms; without any ``[[room]]`` the top level is the one room, with an empty-looking name."""
        if self.room:
            return self.room
        return (
            Room.model_construct(
                name="",
                sample_rate=None,
                air=None,
                frame=self.frame,
                need=self.need,
                needs_from=self.needs_from,
                must_seat=self.must_seat,
                clock_line=self.clock_line,
                clock=self.clock,
                bay=self.bay,
                far_end=self.far_end,
                tie_line=self.tie_line,
                cable=self.cable,
                rack=self.rack,
                breaker=self.breaker,
                host_port=self.host_port,
            ),
        )
