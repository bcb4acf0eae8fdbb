"""Connectors made up from a seed for cards that have none, and bays for what they take."""

from __future__ import annotations

import random

from two_builds import Pair

from solver.room.bays import Bay, Rear
from solver.room.connectors import Carried, Connector, Pinout
from solver.room.hardware import Card, Hardware
from solver.room.scenario import Scenario

HOUSE = Pinout.model_validate(
    {
        "id": "house",
        "type": "multi",
        "pins": ["1-40"],
        "unused": [str(n) for n in range(25, 41)],
        "lines": [{"line": n, "hot": f"{n}", "cold": f"{n + 12}", "shield": "shell"} for n in range(1, 13)],
    }
)


def with_connectors(draw: random.Random, card: Card) -> Card:
    """A card with connectors made up: runs of channels of each port, some of them left without pins or at all."""
    made: list[Connector] = []
    for number, port in enumerate(card.ports, 1):
        most = max(port.channels.values(), default=0)
        first = 1
        while first <= most and draw.random() < 0.9:
            kind = draw.choice(["house", "aes59", "bare"])
            size = draw.randint(1, {"house": 12, "aes59": 8, "bare": 5}[kind])
            last = min(most, first + size - 1)
            made.append(
                Connector(
                    id=f"p{number}-{first}",
                    type={"house": "multi", "aes59": "db25", "bare": "screws"}[kind],
                    gender=draw.choice([None, "male", "female"]),
                    carries=(Carried(port=number, channels=f"{first}-{last}"),),
                    pinout=None if kind == "bare" else kind,
                )
            )
            first = last + 1
    return card.model_copy(update={"connector": tuple(made)})


def connected(seed: int, hardware: Hardware) -> Hardware:
    """Hardware whose cards have connectors made up from a seed."""
    draw = random.Random(seed)
    cards = tuple(with_connectors(draw, card) for card in hardware.card)
    return hardware.model_copy(update={"card": cards, "pinout": (HOUSE,)})


def with_bays(seed: int, pair: Pair) -> Scenario:
    """The scenario of a pair with bays made up from a seed."""
    draw = random.Random(seed)
    signals = sorted({signal for card in pair.hardware.card for port in card.ports for signal in port.signals})
    block = draw.choice([1, 8, 8, 12])
    bays = [
        Bay(
            name=f"P{n}",
            signals=tuple(draw.sample(signals, draw.randint(1, len(signals)))),
            direction=draw.choice([None, None, "in", "out"]),
            rows=draw.choice([2, 2, 4]),
            points=draw.choice([4, 12, 24]),
            gauge="bantam",
            phantom=draw.choice(["allowed", "allowed", "forbidden"]),
            rear=None if block == 1 else Rear(connector="multi", block=block),
        )
        for n in range(1, draw.randint(2, 4))
    ]
    return pair.scenario.model_copy(update={"bay": tuple(bays)})
