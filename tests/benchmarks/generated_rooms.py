"""Invented rooms of any size, always the same for a seed: so many frames, slots, settings, kinds of card and needs.

Run as ``python tests/benchmarks/generated_rooms.py FOLDER --frames 2 --slots 12 --settings 16 --seed 1`` to write
``room.toml`` and ``room-hardware.toml``.

Needs fill about 70 % of the slots, half of what they take is in stock, and all else is on offer: wide and narrow, hot
and cheap or cool and dear, so that cost, unused capacity and cooling pull apart.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import tomlkit

from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

SIGNALS = (
    ("in", ("mic",)),
    ("in", ("line",)),
    ("in", ("instrument",)),
    ("in", ("aes3",)),
    ("in", ("mic", "line")),
    ("out", ("line",)),
    ("out", ("headphone",)),
    ("out", ("aes3",)),
    ("out", ("talkback",)),
    ("out", ("line", "headphone")),
)
"""What ports take, by direction."""

GRADES = ((100, 100, 55), (75, 140, 50), (140, 65, 60))
"""Price and heat in per cent, and the air limit in degrees Celsius: plain, hot and cheap, cool and dear."""

ASKED = tuple((direction, signals[0]) for direction, signals in SIGNALS if len(signals) == 1)

GROUP_SIDES = (("inputs", "widths"), ("outputs", "first_slot"), ("outputs", "widths"), ("inputs", "first_slot"))


def _card(draw: random.Random, index: int) -> dict[str, Any]:
    direction, signals = SIGNALS[index % len(SIGNALS)]
    channels = (8, 4, 16, 8, 2, 12)[index // len(SIGNALS) % 6]
    price, heat, limit = GRADES[(index + index // len(SIGNALS)) % 3]
    span = 2 if channels == 16 and draw.random() < 0.3 else 1
    sides = [direction, "out" if direction == "in" else "in"] if draw.random() < 0.15 else [direction]
    ports = [
        {
            "direction": side,
            "signals": list(signals) if side == direction else ["line"],
            "channels": {"48": channels, "96": max(2, channels // 2)},
            "grain": 2 if signals == ("aes3",) else 1,
        }
        for side in sides
    ]
    return {
        "id": f"k{index:02}-{signals[0]}-{direction}-{channels}",
        "price": str(price * draw.randint(40 + 7 * channels, 60 + 9 * channels) // 100 * 10),
        "heat_w": heat * draw.randint(25 + 7 * channels, 45 + 8 * channels) // 100 / 10,
        "air_limit_c": limit + draw.choice((0, 0, 0, -5, 5)),
        "rails": {"+5": round(draw.randint(40, 60) / 100 + channels / 12, 2), "+17": round(0.1 + channels / 60, 2)},
        "span": span,
        "ports": ports,
    }


def _runs(draw: random.Random, slots: int) -> list[dict[str, Any]]:
    cut = draw.randint(2, max(2, slots // 2))
    head, tail = draw.choice(((16, 8), (8, 16), (12, 8), (8, 12)))
    return [{"slots": f"1-{cut}", "width": head}, {"slots": f"{cut + 1}-{slots}", "width": tail}]


def _value(draw: random.Random, side: str, key: str, slots: int) -> Any:
    if key == "first_slot":
        half = slots // 2
        return draw.randint(slots // 3, slots * 2 // 3) if side == "outputs" else draw.randint(2, max(4, half))
    if side == "outputs" and draw.random() < 0.4:
        return draw.choice((12, 16, 10))
    return _runs(draw, slots) if draw.random() < 0.8 else draw.choice((10, 12, 16))


def _groups(draw: random.Random, settings: int, slots: int) -> list[dict[str, Any]]:
    """Groups of up to four settings each while that is enough, of more where it is not; as many as asked for in all."""
    groups: list[dict[str, Any]] = []
    left, most = settings, 4 if settings <= 4 ** len(GROUP_SIDES) else round(settings ** (1 / len(GROUP_SIDES)))
    for side, key in GROUP_SIDES:
        count = min(most, left)
        if count < 2:
            break
        left = -(-left // count)
        values: list[Any] = []
        for _ in range(1000):
            value = _value(draw, side, key, slots)
            if value not in values:
                values.append(value)
            if len(values) == count - 1:
                break
        own = [{"position": "0"}, *({"position": str(n), side: {key: v}} for n, v in enumerate(values, start=1))]
        groups.append({"name": f"{side} {key}", "kind": "switch", "setting": own})
    return groups


def _board(draw: random.Random, name: str, settings: int, slots: int) -> dict[str, Any]:
    limits = {"in": 8 * slots * 8 // 10, "out": 8 * slots * 6 // 10}
    return {
        "id": name,
        "price": str(10 * draw.randint(40, 90)),
        "heat_w": draw.randint(5, 12),
        "rails": {"+5": draw.randint(30, 90) / 100},
        "limits": {"48": limits, "96": {side: most // 2 for side, most in limits.items()}},
        "inputs": {"first_slot": 1, "widths": 8},
        "outputs": {"first_slot": slots // 2 + 1, "widths": 8},
        "strap_group": _groups(draw, settings, slots),
    }


def _needs(draw: random.Random, frames: int, slots: int, count: int) -> list[dict[str, Any]]:
    """So many needs, which together fill about 70 % of the slots with cards of 8 channels."""
    chosen = [ASKED[n % len(ASKED)] for n in range(count)]
    taken = [1] * count
    for _ in range(max(0, round(slots * frames * 0.7) - count)):
        taken[draw.randrange(count)] += 1
    found = []
    for index, ((direction, signal), own) in enumerate(zip(chosen, taken, strict=True)):
        channels = 8 * own - draw.choice((0, 0, 2, 3, 4))
        need = {"name": f"need {index}", "direction": direction, "signal": signal, "channels": channels}
        if channels > 6 and draw.random() < 0.3:
            need |= {"channels": channels - 2, "spare": 2}
        found.append(need)
    return found


def _stock(draw: random.Random, cards: Sequence[dict[str, Any]], needs: Sequence[dict[str, Any]]) -> dict[str, int]:
    """About half of what the needs take."""
    stock: dict[str, int] = {}
    for need in needs:
        takers = [
            (card, port["channels"]["48"])
            for card in cards
            for port in card["ports"]
            if port["direction"] == need["direction"] and need["signal"] in port["signals"]
        ]
        left = (need["channels"] + need.get("spare", 0)) / 2
        while left > 0 and takers:
            card, channels = draw.choice(takers)
            stock[card["id"]] = stock.get(card["id"], 0) + 1
            left -= channels
    return dict(sorted(stock.items()))


def documents(
    seed: int,
    *,
    frames: int = 2,
    slots: int = 12,
    settings: int = 16,
    kinds: int = 20,
    needs: int = 8,
    boards: int = 1,
) -> tuple[dict[str, Any], dict[str, Any]]:
    """The scenario and the hardware of a seed, as files have them; frames take the boards in turn."""
    draw = random.Random(f"generated room {seed}")
    cards = [_card(draw, index) for index in range(kinds)]
    main_boards = [_board(draw, f"main-{n}", settings, slots) for n in range(boards)]
    asked = _needs(draw, frames, slots, needs)
    gap_w = sum(card["heat_w"] for card in cards) / len(cards)
    chassis = {
        "id": "rack",
        "slot_count": slots,
        "boards": [board["id"] for board in main_boards],
        "rails": {
            rail: round(slots * 1.1 * sum(card["rails"][rail] for card in cards) / len(cards), 2)
            for rail in ("+5", "+17")
        },
        "supply": {"external": True},
        "air": {"path": "fan", "flow_m3_h": round(gap_w * 3 * (slots + 1) / draw.uniform(8, 12)), "derate": 0.9},
    }
    scenario = {
        "format": 1,
        "title": f"Generated room {seed}",
        "hardware": ["room-hardware.toml"],
        "currency": "GBP",
        "stock": _stock(draw, cards, asked),
        "offer": [{"card": card["id"]} for card in cards],
        "frame": [
            {"name": f"F{n + 1:02}", "chassis": "rack", "board": main_boards[n % boards]["id"]} for n in range(frames)
        ],
        "need": asked,
        "rank": ["cost", "unused", "cooling"],
        "limits": {"refuse_below_k": 3, "enough_k": 15, "step_k": 2},
        "air": {"inlet_c": draw.randint(22, 26)},
    }
    return scenario, {"format": 1, "card": cards, "board": main_boards, "chassis": [chassis]}


def _exact(value: Any) -> Any:
    """Numbers as a file is read: never as floats."""
    if isinstance(value, dict):
        return {key: _exact(own) for key, own in value.items()}
    if isinstance(value, list):
        return [_exact(own) for own in value]
    return Decimal(str(value)) if isinstance(value, float) else value


def generated(seed: int, **shape: int) -> tuple[Scenario, Hardware]:
    """The same as nouns."""
    scenario, hardware = documents(seed, **shape)
    return Scenario.model_validate(_exact(scenario)), Hardware.model_validate(_exact(hardware))


def write(folder: Path, seed: int, **shape: int) -> Path:
    """The same as files in a folder; the scenario's path."""
    scenario, hardware = documents(seed, **shape)
    folder.mkdir(parents=True, exist_ok=True)
    for name, document in (("room-hardware.toml", hardware), ("room.toml", scenario)):
        (folder / name).write_text(tomlkit.dumps(document), encoding="utf-8")
    return folder / "room.toml"


def main() -> None:
    """Write one room."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    for name, usual in (("frames", 2), ("slots", 12), ("settings", 16), ("kinds", 20), ("needs", 8), ("boards", 1)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--seed", type=int, default=1)
    asked = vars(parser.parse_args())
    sys.stdout.write(f"{write(asked.pop('folder'), asked.pop('seed'), **asked)}\n")


if __name__ == "__main__":
    main()
