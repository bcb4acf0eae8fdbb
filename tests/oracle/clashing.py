"""Scenarios of a few slots that mostly cannot be, with at most eight wishes that could give way."""

from __future__ import annotations

import random
from decimal import Decimal
from typing import Any

from solver.room.hardware import Hardware
from solver.room.scenario import Scenario

MOST_WISHES = 8


def _card(r: random.Random, name: str, span: int) -> dict[str, Any]:
    ports = []
    for part in range(1, span + 1):
        for _ in range(1 + (r.random() < 0.3)):
            grain = r.choice((1, 1, 2))
            ports.append(
                {
                    "direction": r.choice(("in", "in", "out")),
                    "signals": sorted(r.sample(("line", "mic", "aes3"), r.choice((1, 1, 2)))),
                    "channels": {"48": grain * r.randint(1, 4 // grain)},
                    "grain": grain,
                    "on_slot": part,
                }
            )
    card = {"id": name, "span": span, "ports": ports, "price": str(r.randint(2, 12) * 10)}
    card["heat_w"] = r.randint(4, 40)
    card["air_limit_c"] = r.choice((45, 50, 55))
    card["rails"] = {"+5": Decimal(r.randint(2, 9)) / 10}
    return card


def _widths(r: random.Random, slots: int) -> Any:
    if r.random() < 0.5:
        return r.randint(2, 5)
    cut = r.randint(1, slots)
    runs = [{"slots": f"1-{cut}", "width": r.randint(2, 6)}]
    return runs if cut == slots else [*runs, {"slots": f"{cut + 1}-{slots}", "width": r.randint(1, 5)}]


def _board(r: random.Random, name: str, slots: int) -> dict[str, Any]:
    groups = []
    for index, side in enumerate(r.sample(("inputs", "outputs"), r.choice((0, 1, 1, 2)))):
        key = r.choice(("widths", "first_slot"))
        value: Any = _widths(r, slots) if key == "widths" else r.randint(1, slots)
        straps = [f"W{index}"]
        setting = {"closed": straps, side: {key: value}}
        groups.append({"name": f"{side} strap", "kind": "links", "straps": straps, "setting": [setting]})
    return {
        "id": name,
        "limits": {"48": {"in": r.randint(3, 14), "out": r.randint(3, 14)}},
        "at_limit": r.choice(("cut", "drop")),
        "inputs": {"first_slot": 1, "widths": _widths(r, slots)},
        "outputs": {"first_slot": r.choice((1, 1, 2)), "widths": _widths(r, slots)},
        "strap_group": groups,
        "price": str(r.randint(2, 12) * 10),
    }


def pair(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario of a seed and its hardware, always the same."""
    r = random.Random(seed)
    frames = r.choice((1, 2, 2))
    slots = r.choice((2, 3, 4)) if frames == 1 else r.choice((2, 2, 3))
    names = [f"card-{x}" for x in "abc"[: r.choice((2, 3)) if slots < 4 else 2]]
    cards = [_card(r, name, 2 if r.random() < 0.15 else 1) for name in names]
    boards = [_board(r, f"board-{x}", slots) for x in "ab"[: r.choice((1, 1, 2))]]
    chassis: dict[str, Any] = {
        "id": "chassis-a",
        "slot_count": slots,
        "boards": [b["id"] for b in boards],
        "price": str(r.randint(5, 20) * 10),
    }
    if r.random() < 0.4:
        chassis["rails"] = {"+5": Decimal(r.randint(8, 25)) / 10}
    if r.random() < 0.4:
        chassis["air"] = {"path": "fan", "flow_m3_h": r.randint(6, 25), "derate": Decimal("0.8")}
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Tiny",
        "hardware": ["tiny.toml"],
        "currency": "GBP",
        "air": {"inlet_c": r.randint(22, 36)},
        "limits": {
            "rail_reserve": r.choice(("0 %", "20 %", "35 %")) if "rails" in chassis else "0 %",
            "refuse_below_k": Decimal(r.choice(("5", "3.5", "8", "0.5"))) if "air" in chassis else 0,
        },
        "frame": [],
    }
    stock: dict[str, int] = {}
    offers: list[dict[str, Any]] = []
    for sort, items in (("card", cards), ("board", boards), ("chassis", [chassis])):
        for item in items:
            if r.random() < 0.4:
                stock[item["id"]] = r.randint(1, 2)
            if r.random() < 0.75:
                offer: dict[str, Any] = {sort: item["id"]}
                if r.random() < 0.35:
                    offer["at_most"] = r.randint(0, 2)
                    if r.random() < 0.4:
                        offer["price"] = str(r.randint(1, 14) * 10)
                        offers.append({sort: item["id"], "at_most": r.randint(1, 2)})
                offers.append(offer)
    scenario |= {"stock": stock, "offer": offers}
    for name in "AB"[:frames]:
        frame: dict[str, Any] = {"name": name, "chassis": "chassis-a", "owned": r.random() < 0.75}
        if len(boards) == 1 or r.random() < 0.6:
            frame["board"] = r.choice(boards)["id"]
        groups = [g["name"] for b in boards if b["id"] == frame.get("board") for g in b["strap_group"]]
        if groups and r.random() < 0.4:
            group = r.choice(groups)
            frame["straps"] = {group: r.choice(("open", f"W{groups.index(group)}"))}
        if r.random() < 0.25:
            card = r.choice(cards)
            frame["pins"] = {str(r.randint(1, slots - card["span"] + 1)): card["id"]}
        if r.random() < 0.3:
            frame["keep_empty"] = sorted(r.sample(range(1, slots + 1), r.choice((1, 1, 2))))
        scenario["frame"].append(frame)
    ports = [port for card in cards for port in card["ports"]]
    needs = []
    for index in range(r.choice((1, 2, 2, 3))):
        port = r.choice(ports)
        spare = r.choice((0, 0, 1, 2))
        need = {
            "name": f"need {index}",
            "direction": port["direction"],
            "signal": r.choice(port["signals"]),
            "channels": r.randint(1, 8),
            "spare": spare,
        }
        if r.random() < 0.15:
            need["importance"] = "nice"
        needs.append(need)
    scenario["need"] = needs
    if r.random() < 0.25:
        scenario["must_seat"] = [{"card": r.choice(names), "count": r.randint(1, 3)}]
    if r.random() < 0.55:
        scenario["budget"] = str(r.randint(0, 30) * 10)
    if r.random() < 0.3:
        scenario["rank"] = r.sample(("cost", "unused", "holes", "cooling"), 2)
    return (
        Scenario.model_validate(scenario),
        Hardware.model_validate({"format": 1, "card": cards, "board": boards, "chassis": [chassis]}),
    )
