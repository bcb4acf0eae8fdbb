"""What a hardware file describes: cards, boards with their straps, chassis."""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field, Strict

from solver.physics.mains import Inlet
from solver.room.connectors import Connector, Pinout
from solver.room.words import (
    MOST_ITEMS,
    MOST_PARTS,
    Celsius,
    Channels,
    Count,
    Direction,
    Family,
    Flag,
    Id,
    Measure,
    Money,
    Noun,
    Positive,
    Quantity,
    Share,
    SlotNumber,
    SlotRanges,
    Text,
)

PHANTOM = "phantom"
"""The card setting that says whether phantom power is fed."""

PHANTOM_CHOICES = ("off", "on")

LEVEL = "full_scale_level"
"""The card setting that says which analogue level is digital full scale."""

Side = Literal["left", "right", "top", "bottom"]
"""Where slot 1 of a chassis is, seen from the rear."""


class Port(Noun):
    """Channels of one card in one direction that share signals.

    `channels` counts them for each sample-rate family; a family that is not named has none. With
    `grain` 2 the channels are used in whole pairs. `on_slot` says which of the card's slots carries them.
    `connector` is a word for its connectors where no `[[card.connector]]` tells them one by one.
    `phantom_ma_per_channel` stands where the port feeds phantom power: the most that one channel may draw.
    `rate_conversion` says that inputs convert from any clock to the frame's.
    """

    direction: Direction
    signals: tuple[Id, ...] = Field(min_length=1, max_length=MOST_PARTS)
    channels: dict[Family, Channels]
    grain: Positive = 1
    on_slot: SlotNumber = 1
    connector: Text | None = None
    phantom_ma_per_channel: Quantity | None = None
    rate_conversion: Flag = False


class CardSetting(Noun):
    """What can be set on a card for its channels of one direction.

    There is one choice for the whole card, for each `bank` of so many channels of a slot, or for each channel.
    `phantom` is off or on and reaches the ports that feed it, any other setting reaches all ports of the direction.
    Cards come with the `default`, which is the first choice where it is left out.
    """

    name: Text
    direction: Direction
    per: Literal["card", "bank", "channel"]
    bank: Annotated[Channels, Field(ge=2)] | None = None
    choices: tuple[Text, ...] = Field((), max_length=MOST_PARTS)
    default: Text | None = None

    @property
    def every(self) -> tuple[str, ...]:
        """Its choices."""
        return self.choices or (PHANTOM_CHOICES if self.name == PHANTOM else ())

    @property
    def usual(self) -> str:
        """The choice that a card comes with."""
        return self.default or self.every[0]


class Companion(Noun):
    """Another card that a card needs: one for each `per` of it in its frame, or directly beside it.

    Beside each other one serves up to `per` of the cards that it stands beside.
    """

    card: Id
    per: Positive = 1
    within: Literal["frame", "next"]


class Exclusion(Noun):
    """Another card that does not stand in the frame of a card, or directly beside it."""

    card: Id
    within: Literal["frame", "next"]


class Card(Noun):
    """A plug-in card. Figures that are left out are reported as not checked.

    `latency_samples` is what its channels take from connector to number, or back, in each sample-rate family.
    `hot_at` is where along the air's way past it its heat is, from 0 where air comes in to 1; left out, it is even.
    `supply_cables` names the sort of socket that each of its cables to the supply goes into; sorts may repeat.
    """

    id: Id
    name: Text | None = None
    price: Money | None = None
    heat_w: Quantity | None = None
    hot_at: Share | None = None
    rails: dict[Text, Quantity] | None = None
    supply_cables: tuple[Id, ...] = Field((), max_length=MOST_PARTS)
    air_limit_c: Celsius | None = None
    latency_samples: dict[Family, Count] = {}
    weight_kg: Quantity | None = None
    span: SlotNumber = 1
    ports: tuple[Port, ...] = Field((), max_length=MOST_PARTS)
    connector: tuple[Connector, ...] = Field((), max_length=MOST_PARTS)
    needs: tuple[Companion, ...] = Field((), max_length=MOST_PARTS)
    excludes: tuple[Exclusion, ...] = Field((), max_length=MOST_PARTS)
    setting: tuple[CardSetting, ...] = Field((), max_length=MOST_PARTS)

    def settings(self) -> tuple[CardSetting, ...]:
        """Everything that can be set; phantom power channel by channel where no setting says otherwise."""
        fed = any(port.phantom_ma_per_channel for port in self.ports)
        if fed and all(setting.name != PHANTOM for setting in self.setting):
            return (*self.setting, CardSetting(name=PHANTOM, direction="in", per="channel"))
        return self.setting

    def connector_types(self) -> list[str]:
        """Every sort of connector that it has, once."""
        told = [c.type for c in self.connector] or [p.connector for p in self.ports if p.connector is not None]
        return list(dict.fromkeys(told))


class WidthRun(Noun):
    """So many channel numbers for each of these slots."""

    slots: SlotRanges
    width: Channels


class Blocks(Noun):
    """Where the numbers of one direction begin and how wide each slot's block is.

    On a board both are given; in a setting what is left out stays as it was.
    """

    first_slot: SlotNumber | None = None
    widths: Channels | tuple[WidthRun, ...] | None = None


class Setting(Noun):
    """One legal state of a strap group: the straps closed, or the position of a switch."""

    closed: Annotated[tuple[Text, ...], Field(max_length=MOST_PARTS)] | None = None
    position: Text | None = None
    inputs: Blocks = Field(default_factory=Blocks)
    outputs: Blocks = Field(default_factory=Blocks)

    @property
    def name(self) -> str:
        """`open`, the closed straps joined by ``+``, or the position."""
        if self.position is not None:
            return self.position
        return "+".join(self.closed or ()) or "open"


class StrapGroup(Noun):
    """Straps that decide one thing together. `wanted` is the setting used when it changes no numbers."""

    name: Text
    kind: Literal["links", "switch"]
    straps: tuple[Text, ...] = Field((), max_length=MOST_PARTS)
    setting: tuple[Setting, ...] = Field((), max_length=MOST_PARTS)
    open_is_legal: Flag = True
    wanted: Text | None = None

    def settings(self) -> tuple[Setting, ...]:
        """Every legal setting; `open` first where it is legal and not listed."""
        implied = self.kind == "links" and self.open_is_legal and all(s.name != "open" for s in self.setting)
        return ((Setting(closed=()),) if implied else ()) + self.setting


class ClockInput(Noun):
    """What is known of a board's clock input: whether it can end the clock line that reaches it.

    `switched`: the `setting` of a `strap_group` ends it, any other does not. `fixed`: it always does. `none`: it never
    does, and a terminator has to go there where the line ends.
    """

    termination: Literal["switched", "fixed", "none"]
    strap_group: Text | None = None
    setting: Text | None = None
    impedance_ohm: Positive | None = None


class NumberLimit(Noun):
    """The most channel numbers of each direction."""

    inputs: Channels = Field(alias="in")
    outputs: Channels = Field(alias="out")


Framing = Literal["whole", "split"]
"""How a link frames channels of 96 kHz: each whole, or split over two channels of 48 kHz, or two lines."""


class BoardPort(Noun):
    """A port of a board to the recorder or host, of a kind by its standard or by a name of its own.

    `channels` are told where they are fewer than those of the standard, or where there is none.
    """

    name: Text
    kind: Id
    channels: dict[Family, NumberLimit] = {}
    framing: Framing | None = None


class Board(Noun):
    """A main board: number limits for each sample-rate family, blocks, straps.

    `never_together` lists combinations of settings, group to setting, that are not legal.
    `reserved` slots take no card. Its host ports carry its numbers one after the other.
    """

    id: Id
    name: Text | None = None
    price: Money | None = None
    heat_w: Quantity | None = None
    rails: dict[Text, Quantity] | None = None
    weight_kg: Quantity | None = None
    limits: dict[Family, NumberLimit] = Field(min_length=1)
    at_limit: Literal["cut", "drop"] = "cut"
    inputs: Blocks
    outputs: Blocks
    strap_group: tuple[StrapGroup, ...] = Field((), max_length=MOST_PARTS)
    never_together: tuple[dict[Text, Text], ...] = Field((), max_length=MOST_ITEMS)
    clock_input: ClockInput | None = None
    host_port: tuple[BoardPort, ...] = Field((), max_length=MOST_PARTS)
    reserved: tuple[SlotNumber, ...] = Field((), max_length=MOST_PARTS)


class StillAir(Noun):
    """The way of air that rises by itself while a frame's only fan stands still: free areas for each gap."""

    gap_area_cm2: Measure
    opening_below_cm2: Measure
    opening_above_cm2: Measure
    stack_mm: Measure


class FanAir(Noun):
    """Fans that move `flow_m3_h` through the whole frame together; `derate` is what filters and bends leave of it.

    `gap_area_cm2` is the free area of each gap, `leak_cm2` what a slot without card and blank opens beside the gaps.
    `fans` counts alike ones side by side; `still` is the way of the air while the only one stands.
    """

    path: Literal["fan"]
    flow_m3_h: Measure
    derate: Annotated[Measure, Field(le=1)] = Decimal(1)
    gap_area_cm2: Measure | None = None
    leak_cm2: Quantity | None = None
    fans: Annotated[int, Strict(), Field(ge=1, le=16)] | None = None
    still: StillAir | None = None


class DraughtAir(Noun):
    """Rising warm air. Areas are free areas for each gap.

    `stack_mm` is the height from the lower edge of the cards to the upper opening. The air warms over the height
    of the cards, `card_mm`, and keeps its warmth above them; left out, they are as high as the whole stack.
    """

    path: Literal["draught"]
    gap_area_cm2: Measure
    opening_below_cm2: Measure
    opening_above_cm2: Measure
    stack_mm: Measure
    card_mm: Measure | None = None


AirPath = Annotated[FanAir | DraughtAir, Field(discriminator="path")]


class Supply(Noun):
    """The power supply, or `count` alike ones that share the load.

    `loss_w` is the full-load loss of each; inside the frame all of it counts as heat. The chassis' rails are what
    may be drawn however many there are; `rails` is what each supply delivers alone. An external one feeds the
    frame by a lead of `lead_mm`, and stands `keep_away_u` units or more from frames with cards of microphone level.
    `power_factor`, `inrush_a`, `leakage_ma` and the `inlet` are those of each.
    """

    external: Flag = False
    count: Annotated[int, Strict(), Field(ge=1, le=4)] = 1
    height_u: Annotated[int, Field(ge=0, le=50)] = 0
    depth_mm: Quantity | None = None
    weight_kg: Quantity | None = None
    lead_mm: Quantity | None = None
    keep_away_u: Annotated[int, Strict(), Field(ge=0, le=50)] = 0
    loss_w: Quantity = Decimal(0)
    rails: dict[Text, Quantity] | None = None
    power_factor: Annotated[Quantity, Field(ge=Decimal("0.1"), le=1)] | None = None
    inlet: Inlet | None = None
    inrush_a: Quantity | None = None
    leakage_ma: Quantity | None = None

    @property
    def all_loss_w(self) -> Decimal:
        """The full-load loss of all of them together."""
        return self.count * self.loss_w


class Refusal(Noun):
    """Slots that do not take these cards."""

    slots: SlotRanges
    cards: tuple[Id, ...] = Field(min_length=1, max_length=MOST_ITEMS)


class Chassis(Noun):
    """A rack chassis: slots, the boards that fit, what its supply delivers and how air gets through.

    `depth_mm` is from the front to the ends of what is plugged in, `weight_kg` without board, cards and outside supply.
    `supply_sockets` counts the sockets for cards' supply cables by sort, those of all its supplies together.
    """

    id: Id
    name: Text | None = None
    price: Money | None = None
    slot_count: SlotNumber
    slot_1: Side | None = None
    height_u: Positive = 3
    depth_mm: Quantity | None = None
    weight_kg: Quantity | None = None
    boards: tuple[Id, ...] = Field(min_length=1, max_length=MOST_ITEMS)
    rails: dict[Text, Quantity] | None = None
    supply_sockets: dict[Id, Count] | None = None
    supply: Supply = Field(default_factory=Supply)
    cards: Literal["upright", "flat"] = "upright"
    air: AirPath | None = None
    refuses: tuple[Refusal, ...] = Field((), max_length=MOST_ITEMS)

    @property
    def first_slot_at(self) -> Side:
        """Where slot 1 is, seen from the rear: on the left, or at the top where cards lie flat, unless it is said."""
        return self.slot_1 or ("top" if self.cards == "flat" else "left")


class Hardware(Noun):
    """One hardware file, or several merged."""

    format: Literal[1]
    card: tuple[Card, ...] = Field((), max_length=MOST_ITEMS)
    board: tuple[Board, ...] = Field((), max_length=MOST_ITEMS)
    chassis: tuple[Chassis, ...] = Field((), max_length=MOST_ITEMS)
    pinout: tuple[Pinout, ...] = Field((), max_length=MOST_ITEMS)
