"""What is set on cards: which channels are set together, and what a line then meets of what needs ask of it.

A need asks for traits of its lines beside their signal: a card setting and the choice of it, or what a card is by
nature. Only choices that a need of the room asks for make a difference. Where all that is asked is that lines are alike
in something, there is a trait for each way to be so, which a line that does not say has too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from solver.room.hardware import LEVEL, PHANTOM, Card, CardSetting, Port
from solver.room.words import Direction

Trait = tuple[str, str]
"""A card setting and the choice of it that a need asks for."""

CONVERTED: Trait = ("rate_conversion", "on")
"""An input that converts from any clock."""

LATENCY = "latency_samples"
"""Names the traits of lines whose card has a latency, or does not say which."""

ALIKE_LEVEL = "alike full_scale_level"
"""Names the traits of lines at a full-scale level, or at none that can be set."""

NOT_SET = (CONVERTED[0], LATENCY, ALIKE_LEVEL)
"""Names of traits that are no card settings."""

Ask = tuple[str, tuple[Trait, ...]]
"""What a need asks of a line: a signal, and traits in order."""


@dataclass(frozen=True, slots=True)
class OneOf:
    """What lines are to be alike in, those of all needs that ask it: one of these traits is that of each line."""

    of: tuple[str, str]
    """What they are alike in, and a need that asks it."""
    ways: tuple[Trait, ...]


Place = tuple[int, int]
"""A channel of a card in one direction: which of its slots, counted from 0, and its place along that slot from 1."""


@dataclass(frozen=True, slots=True)
class Switch:
    """Channels of a card that have one choice of a setting together."""

    setting: CardSetting
    places: tuple[Place, ...]

    @property
    def shared(self) -> bool:
        """Whether its channels are not set one by one."""
        return self.setting.per != "channel"

    def relevant(self, wanted: Collection[Trait]) -> tuple[str, ...]:
        """The choices that are asked for, the usual one first, or else that alone."""
        names = {self.setting.name, ALIKE_LEVEL} if self.setting.name == LEVEL else {self.setting.name}
        asked = [choice for choice in self.setting.every if any((name, choice) in wanted for name in names)]
        return tuple(sorted(asked, key=lambda choice: choice != self.setting.usual)) or (self.setting.usual,)


@dataclass(frozen=True, slots=True)
class Setup:
    """A way to set the switches that some channels share, and what each then meets, by its place along the slot."""

    chosen: tuple[tuple[Switch, str], ...]
    traits: Mapping[int, frozenset[Trait]]


@dataclass(frozen=True, slots=True)
class Section:
    """Channels along one slot of a card that the same switches set, and the ways that make a difference to needs."""

    channels: tuple[int, ...]
    setups: tuple[Setup, ...]


def switches_of(card: Card, ports: Mapping[tuple[Direction, int], Sequence[Port]]) -> tuple[Switch, ...]:
    """Everything that can be set on a card.

    Parameters
    ----------
    ports
        By direction and slot of the card, counted from 0, the port of each channel along it.
    """
    found: list[Switch] = []
    for setting in card.settings():
        groups: dict[tuple[int, int], list[Place]] = {}
        for (direction, part), own in sorted(ports.items()):
            if direction != setting.direction:
                continue
            for index, port in enumerate(own, 1):
                if reaches(setting, port):
                    groups.setdefault(_group(setting, part, index), []).append((part, index))
        found += [Switch(setting, tuple(places)) for _, places in sorted(groups.items())]
    return tuple(found)


def reaches(setting: CardSetting, port: Port) -> bool:
    """Whether a setting means anything to a port of its direction: phantom power only where it is fed."""
    return setting.name != PHANTOM or bool(port.phantom_ma_per_channel)


def _group(setting: CardSetting, part: int, index: int) -> tuple[int, int]:
    if setting.per == "card":
        return 0, 0
    return part, (index - 1) // (setting.bank or 1) if setting.per == "bank" else index


def met(port: Port, wanted: Iterable[Trait], choices: Mapping[str, Collection[str]]) -> frozenset[Trait]:
    """The wanted traits that a channel of a port has or can have, where its settings may have these choices.

    The latency of its card is one of them, where that has one.
    """

    def has(name: str, choice: str) -> bool:
        if name == PHANTOM and not port.phantom_ma_per_channel:
            return choice == "off"
        if (name, choice) == CONVERTED:
            return port.rate_conversion
        if name in (LATENCY, ALIKE_LEVEL):
            return choice in choices.get(LEVEL if name == ALIKE_LEVEL else name, (choice,))
        return choice in choices.get(name, ())

    return frozenset(trait for trait in wanted if has(*trait))


def sections_of(
    switches: Sequence[Switch],
    part: int,
    ports: Sequence[Port],
    heads: Sequence[int],
    wanted: Collection[Trait],
    nature: Mapping[str, Collection[str]],
) -> tuple[Section, ...]:
    """The channels along one slot of a card, in one direction, by what sets them.

    Parameters
    ----------
    switches
        Those of the card in this direction.
    ports
        The port of each channel along the slot.
    heads
        The first channel of the line that each is part of: a line is set as one.
    wanted
        The traits that needs of this direction ask for.
    nature
        What the card is, whatever is set.
    """
    at = {place: [switch for switch in switches if place in switch.places] for place in _places(part, ports)}
    groups: dict[tuple[Switch, ...], list[int]] = {}
    for index, head in enumerate(heads, 1):
        shared = [switch for switch in at[part, head] if switch.shared and len(switch.relevant(wanted)) > 1]
        groups.setdefault(tuple(shared), []).append(index)
    return tuple(
        Section(
            tuple(indices),
            tuple(
                Setup(
                    tuple(zip(shared, choices, strict=True)),
                    {
                        n: met(
                            ports[n - 1],
                            wanted,
                            {**nature, **_choices(at[part, n], dict(zip(shared, choices, strict=True)), wanted)},
                        )
                        for n in indices
                    },
                )
                for choices in product(*(switch.relevant(wanted) for switch in shared))
            ),
        )
        for shared, indices in groups.items()
    )


def _places(part: int, ports: Sequence[Port]) -> list[Place]:
    return [(part, index) for index in range(1, len(ports) + 1)]


def _choices(
    switches: Sequence[Switch], chosen: Mapping[Switch, str], wanted: Collection[Trait]
) -> dict[str, Collection[str]]:
    """The choices that a channel may have of each setting: any where it is set by itself."""
    return {
        switch.setting.name: (
            [chosen.get(switch, switch.relevant(wanted)[0])] if switch.shared else switch.setting.every
        )
        for switch in switches
    }
