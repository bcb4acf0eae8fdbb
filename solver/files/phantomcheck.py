"""Phantom power: where it is fed, how much a channel draws, and whether a card's +48 V rail has it for all at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from solver.room.faults import Fault, Path, quote
from solver.room.hardware import Card
from solver.room.rail_names import PHANTOM_VOLTS, is_phantom
from solver.room.scenario import Need

PHANTOM_MA = 10
"""The most that one channel of P48 may draw (IEC 61938, from memory)."""


def check_phantom_ports(file: str, card: Card) -> Iterator[Fault]:
    """Outputs feed no phantom power; warn of more than the standard lets a channel draw."""
    for n, port in enumerate(card.ports, 1):
        each_ma = port.phantom_ma_per_channel
        if each_ma is None:
            continue
        path = ("card", card.id, "ports", n, "phantom_ma_per_channel")
        if port.direction != "in":
            yield Fault(file, path, "only inputs feed phantom power, and these are outputs", str(each_ma))
        elif each_ma > PHANTOM_MA:
            message = f"{each_ma} mA is above the {PHANTOM_MA} mA that P48 of IEC 61938 lets one channel draw"
            yield Fault(file, path, message, str(each_ma), severity="warning")


def check_phantom(file: str, card: Card) -> Iterator[Fault]:
    """Warn of a figure below what all channels with phantom may draw at the rate that has most of them.

    A card without rail figures is told as not checked elsewhere; one without a rail of 48 V draws nothing there.
    """
    if card.rails is None:
        return
    fed = [
        (port, port.phantom_ma_per_channel)
        for port in card.ports
        if port.direction == "in" and port.phantom_ma_per_channel
    ]
    asked = {
        family: sum((port.channels.get(family, 0) * each_ma for port, each_ma in fed), Decimal(0))
        for family in sorted({family for port, _ in fed for family in port.channels}, key=int)
    }
    if not any(asked.values()):
        return
    most = max(asked, key=lambda family: asked[family])
    rail = min((name for name in card.rails if is_phantom(name)), default=f"+{PHANTOM_VOLTS}")
    drawn_a = card.rails.get(rail, Decimal(0))
    if drawn_a * 1000 < asked[most]:
        counted = " and ".join(
            f"{port.channels[most]} channels at {each_ma.normalize():f} mA"
            for port, each_ma in fed
            if port.channels.get(most)
        )
        needed_a = (asked[most] / 1000).normalize()
        so = "; the greater is counted" if rail in card.rails else ""
        message = f"{drawn_a} A is below the {needed_a:f} A of phantom power for {counted}{so}"
        yield Fault(file, ("card", card.id, "rails", rail), message, str(drawn_a), severity="warning")


def check_phantom_wanted(file: str, path: Path, need: Need, cards: Mapping[str, Card]) -> Iterator[Fault]:
    """A need that wants phantom power, or forbids it, where there is none."""
    if need.phantom is None:
        return
    if need.direction != "in":
        yield Fault(file, (*path, "phantom"), "only inputs feed phantom power, and this need is out", need.phantom)
        return
    ports = [port for card in cards.values() for port in card.ports if need.signal in port.signals]
    if need.phantom == "wanted" and not any(port.phantom_ma_per_channel for port in ports):
        message = f"no port that takes {quote(need.signal)} feeds phantom power (phantom_ma_per_channel)"
        yield Fault(file, (*path, "phantom"), message, need.phantom)
