"""Kinds of cards at one sample-rate family, their channels by slot and what decides which needs these can serve."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from solver.room.hardware import Card, Port
from solver.room.traits import LATENCY, Ask, Section, Setup, Switch, Trait, met, sections_of, switches_of
from solver.room.words import (
    Direction,
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
    hot_at: int | None
    """Where along it its heat is and the air has its limit, in thousandths; None: even, and its limit at the outlet."""
    channels: Mapping[tuple[Direction, int], tuple[Channel, ...]]
    """Channels by direction and by which of the card's slots carries them, counted from 0."""
    card: Card = field(repr=False)
    ports: Mapping[tuple[Direction, int], tuple[Port, ...]] = field(default_factory=dict, repr=False, compare=False)
    """By direction and slot of the card the port of each channel."""
    latency: int | None = None
    """Samples from a connector to a number, or back; None where the file does not say."""
    asked: Mapping[Direction, frozenset[Ask]] = field(default_factory=dict, repr=False, compare=False)
    """What needs ask beside a signal; its lines then meet as much of it as they can be set to."""
    _lines: dict[tuple[Direction, int, int], Mapping[LineType, int]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _setups: dict[tuple[Direction, int], tuple[tuple[tuple[Setup, tuple[Channel, ...]], ...], ...]] = field(
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
                self._nature,
            )
            for (direction, part), channels in self.channels.items()
            if self.wanted(direction)
        }

    @property
    def _nature(self) -> Mapping[str, Collection[str]]:
        return {} if self.latency is None else {LATENCY: (str(self.latency),)}

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
                {
                    **self._nature,
                    **{s.setting.name: choices(s) for s in self.switches_at(direction, part, channel.index)},
                },
            )
            for channel in channels
        ]
        return tuple(
            self.meeting(direction, channel, frozenset.intersection(*(meets[n - 1] for n in channel.line)))
            for channel in channels
        )

    def setups(self, direction: Direction, part: int) -> tuple[tuple[tuple[Setup, tuple[Channel, ...]], ...], ...]:
        """For each section of one of its slots the ways to set it, each with its channels as they are then."""
        key = direction, part
        if key not in self._setups:
            at = {channel.index: channel for channel in self.on(direction, part)}
            self._setups[key] = tuple(
                tuple((setup, self._channels_in(direction, at, section, setup)) for setup in section.setups)
                for section in self.sections.get(key, ())
            )
        return self._setups[key]

    def _channels_in(
        self, direction: Direction, at: Mapping[int, Channel], section: Section, setup: Setup
    ) -> tuple[Channel, ...]:
        return tuple(
            self.meeting(direction, at[n], frozenset.intersection(*(setup.traits[k] for k in at[n].line)))
            for n in section.channels
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
