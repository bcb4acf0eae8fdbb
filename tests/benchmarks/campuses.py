"""Campuses of any size, always the same for a seed, on the hardware that ships with the scenarios.

Rooms are drawn from a few kinds of work with sizes that vary, so that some rooms are alike and most are not. Stock
covers about half of what the rooms take; a plain card for every signal can be bought without end, special ones are
scarce, and stock is worth most where nothing cheap replaces it.
"""

from __future__ import annotations

import random
import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

QUAY = Path(__file__).parents[2] / "scenarios" / "hardware" / "quay.toml"

Draw = random.Random


def _need(name: str, direction: str, signal: str, channels: int, spare: int = 0) -> dict[str, Any]:
    return {"name": name, "direction": direction, "signal": signal, "channels": channels, "spare": spare}


def _frame(name: str, chassis: str, board: str, owned: bool = True) -> dict[str, Any]:
    return {"name": name, "chassis": chassis, "board": board, "owned": owned}


def _booth(draw: Draw) -> dict[str, Any]:
    return {
        "frame": [_frame("A", "wren-4", draw.choice(["slate-32", "flint-48"]))],
        "need": [
            _need("voices", "in", "mic", draw.choice([2, 4, 6, 8, 10])),
            _need("headphones", "out", "line", draw.choice([4, 8])),
        ],
    }


def _edit(draw: Draw) -> dict[str, Any]:
    return {
        "frame": [_frame("A", "wren-4", "slate-32")],
        "need": [
            _need("returns", "in", "line", draw.choice([4, 8, 10])),
            _need("monitors", "out", "line", draw.choice([6, 8, 12])),
        ],
    }


def _mix(draw: Draw) -> dict[str, Any]:
    return {
        "frame": [_frame("A", "tern-6", draw.choice(["slate-32", "flint-48"]))],
        "need": [
            _need("outboard returns", "in", "line", draw.choice([8, 14, 16])),
            _need("outboard sends", "out", "line", draw.choice([8, 12, 16])),
            _need("reverb in", "in", "aes3", draw.choice([2, 4])),
            _need("reverb out", "out", "aes3", draw.choice([2, 4])),
        ],
    }


def _live(draw: Draw) -> dict[str, Any]:
    return {
        "frame": [_frame("A", "petrel-12", "shale-64")],
        "need": [
            _need("drums", "in", "mic", draw.choice([10, 14, 18]), 2),
            _need("voices", "in", "mic", draw.choice([4, 8])),
            _need("keyboards", "in", "line", draw.choice([6, 10, 14])),
            _need("guitars", "in", "instrument", draw.choice([2, 4])),
            _need("headphones", "out", "line", draw.choice([8, 12, 16])),
            _need("digital in", "in", "aes3", draw.choice([2, 4])),
        ],
    }


def _machines(draw: Draw) -> dict[str, Any]:
    return {
        "frame": [_frame("A", "tern-6", "flint-48"), _frame("B", "wren-4", "flint-48", owned=False)],
        "need": [
            _need("digital in", "in", "aes3", draw.choice([8, 12, 16])),
            _need("digital out", "out", "aes3", draw.choice([8, 16])),
            _need("tape returns", "in", "line", draw.choice([8, 16])),
            _need("tape sends", "out", "line", draw.choice([8, 16])),
        ],
    }


def _stage(draw: Draw) -> dict[str, Any]:
    return {
        "frame": [_frame("A", "petrel-12", "shale-64")],
        "need": [
            _need("stage boxes", "in", "mic", draw.choice([24, 28, 32]), 2),
            _need("foldback", "out", "line", draw.choice([8, 12])),
        ],
    }


KINDS: list[tuple[str, Callable[[Draw], dict[str, Any]]]] = [
    ("Booth", _booth),
    ("Edit", _edit),
    ("Mix", _mix),
    ("Live", _live),
    ("Booth", _booth),
    ("Machines", _machines),
    ("Edit", _edit),
    ("Stage", _stage),
]
"""Kinds of room in the order in which a campus gets them, over and over."""

STOCK = {
    "mic-8": 0.5,
    "mic-16": 0.12,
    "mic-8-hot": 0.2,
    "mic-8-cool": 0.1,
    "mic-line-8": 0.15,
    "line-in-8": 0.3,
    "line-in-8-rev1": 0.15,
    "line-in-16": 0.1,
    "line-out-8": 0.5,
    "line-out-16": 0.1,
    "line-duo-8": 0.2,
    "instrument-4": 0.08,
    "aes-8": 0.25,
    "aux-in-2": 0.15,
    "flint-48": 0.1,
}
"""Of a thing in stock for each room, on average."""

ENDLESS = ("mic-8", "mic-8-cool", "line-in-8", "line-out-8", "instrument-4", "aes-8", "wren-4", "flint-48")
SCARCE = ("mic-8-hot", "mic-16", "mic-line-8", "line-in-16", "line-out-16", "line-duo-8")


def campus(rooms: int, seed: int) -> tuple[Scenario, Hardware]:
    """A campus of so many rooms."""
    draw = random.Random(f"{rooms} rooms, seed {seed}")
    built = []
    for index in range(rooms):
        name, make = KINDS[index % len(KINDS)]
        room = make(draw)
        built.append({"name": f"{name} {index + 1}", "air": {"inlet_c": draw.choice([22, 24])}, **room})
    stock = {item: round(rooms * share * draw.uniform(0.7, 1.3)) for item, share in STOCK.items()}
    offers: list[dict[str, Any]] = [{_sort(item): item} for item in ENDLESS]
    offers += [{"card": item, "at_most": max(1, round(rooms * draw.uniform(0.03, 0.1)))} for item in SCARCE]
    scenario = {
        "format": 1,
        "title": f"Gannet Quay, {rooms} rooms, seed {seed}",
        "hardware": ["quay.toml"],
        "currency": "GBP",
        "rank": ["cost", "unused"],
        "stock": {item: count for item, count in stock.items() if count},
        "offer": offers,
        "room": built,
    }
    return Scenario.model_validate(scenario), quay()


def quay() -> Hardware:
    """The hardware of Gannet Quay."""
    return Hardware.model_validate(tomllib.loads(QUAY.read_text(encoding="utf-8"), parse_float=Decimal))


def _sort(item: str) -> str:
    return {"wren-4": "chassis", "flint-48": "board"}.get(item, "card")
