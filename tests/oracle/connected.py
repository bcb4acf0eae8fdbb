"""Connectors made up from a seed for cards that have none."""

from __future__ import annotations

import random

from solver.room.connectors import Carried, Connector, Pinout
from solver.room.hardware import Card, Hardware

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
