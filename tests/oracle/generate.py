"""Scenarios of a few slots, small enough to try every build, yet with every rule in play."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Protocol, TypeVar

from hypothesis import strategies as st

from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.out_of_service import OutOfService
from solver.room.scenario import Scenario
from solver.room.words import write_ranges

T = TypeVar("T")
CRITERIA = ("cost", "unused", "stranded", "holes", "idle", "cooling")
MOVING = ("cards_moved", "straps_moved", "lids_off", "renumbered")
"""Criteria of scenarios in which something stands."""
SIGNALS = ("line", "mic", "aes3")
DERATES = (Decimal(1), Decimal("0.8"), Decimal("0.6"))


class Source(Protocol):
    """Where the choices come from."""

    def integer(self, least: int, most: int) -> int:
        """A whole number, both ends included."""
        ...

    def choice(self, among: Sequence[T]) -> T:
        """One of these."""
        ...


class Seeded:
    """Choices from a seed."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def integer(self, least: int, most: int) -> int:
        """A whole number, both ends included."""
        return self._random.randint(least, most)

    def choice(self, among: Sequence[T]) -> T:
        """One of these."""
        return among[self.integer(0, len(among) - 1)]


class Drawn:
    """Choices that hypothesis makes, and makes simpler when a case fails: the first of a choice is the simplest."""

    def __init__(self, draw: Any) -> None:
        self._draw = draw

    def integer(self, least: int, most: int) -> int:
        """A whole number, both ends included."""
        return int(self._draw(st.integers(least, most)))

    def choice(self, among: Sequence[T]) -> T:
        """One of these."""
        return among[self.integer(0, len(among) - 1)]


def _chance(s: Source, per_cent: int) -> bool:
    return s.integer(0, 99) >= 100 - per_cent


def _tenths(s: Source, least: int, most: int) -> Decimal:
    return Decimal(s.integer(least, most)) / 10


def _some(s: Source, among: Sequence[T], least: int, most: int) -> list[T]:
    """Different members in random order."""
    left = list(among)
    return [left.pop(s.integer(0, len(left) - 1)) for _ in range(min(len(left), s.integer(least, most)))]


def _port(s: Source, span: int) -> dict[str, Any]:
    grain = s.choice((1, 1, 2))
    count = grain * s.integer(1, 4 // grain)
    channels = {"48": count}
    if not _chance(s, 10):
        channels["96"] = max(grain, count // 2 // grain * grain) if _chance(s, 50) else count
    return {
        "direction": s.choice(("in", "in", "out")),
        "signals": _some(s, SIGNALS, 1, 1 + _chance(s, 45)),
        "channels": channels,
        "grain": grain,
        "on_slot": s.integer(1, span),
    }


def _card(s: Source, name: str, span: int) -> dict[str, Any]:
    card: dict[str, Any] = {
        "id": name,
        "span": span,
        "ports": [_port(s, span) for _ in range(1 + _chance(s, 40) + (span > 1))],
    }
    if not _chance(s, 8):
        card["price"] = str(10 * s.integer(2, 12))
    if not _chance(s, 8):
        card["heat_w"] = s.integer(2, 19)
    if not _chance(s, 8):
        card["air_limit_c"] = s.choice((60, 55, 50, 45))
    if not _chance(s, 8):
        card["rails"] = {"+5": _tenths(s, 1, 9)}
        if _chance(s, 15):
            card["rails"]["+17"] = _tenths(s, 0, 4)
    return card


def _widths(s: Source, slots: int) -> Any:
    if _chance(s, 50):
        return s.integer(4, 8)
    cut = s.integer(1, slots)
    runs = [{"slots": f"1-{cut}", "width": s.integer(3, 8)}]
    if cut < slots and not _chance(s, 20):
        runs.append({"slots": f"{cut + 1}-{slots}", "width": s.integer(2, 6)})
    return runs


def _blocks(s: Source, slots: int, late: int) -> dict[str, Any]:
    return {"first_slot": 2 if _chance(s, late) else 1, "widths": _widths(s, slots)}


def _groups(s: Source, slots: int, most: int) -> list[dict[str, Any]]:
    """Strap groups that override different things, so that every combination makes sense."""
    things = _some(s, [(side, key) for side in ("inputs", "outputs") for key in ("widths", "first_slot")], 0, most)
    groups: list[dict[str, Any]] = []
    for index, (side, key) in enumerate(things):
        values = [
            {side: {key: _widths(s, slots) if key == "widths" else s.integer(1, slots)}}
            for _ in range(1 + _chance(s, 40) * (len(things) == 1))
        ]
        if _chance(s, 35):
            settings = [{"position": str(i + 1), **v} for i, v in enumerate(values)]
            # One position keeps the board's own numbers.
            settings.insert(0, {"position": "0"})
            groups.append({"name": f"switch {index}", "kind": "switch", "setting": settings})
        else:
            straps = [f"W{index}{letter}" for letter in "ab"]
            closed: list[list[str]] = [straps[:1], straps]
            if _chance(s, 40):
                closed = [straps, straps[:1]]
            settings = [{"closed": c, **v} for c, v in zip(closed, values, strict=False)]
            named = [x for x in straps if any(x in setting["closed"] for setting in settings)]
            group: dict[str, Any] = {"name": f"links {index}", "kind": "links", "straps": named, "setting": settings}
            if _chance(s, 20):
                group["open_is_legal"] = False
            groups.append(group)
    if _chance(s, 25):
        clock = [{"position": p} for p in ("1", "2")]
        groups.append({"name": "clock", "kind": "switch", "setting": clock, "wanted": s.choice(("1", "2"))})
    return groups


def _names(group: dict[str, Any]) -> list[str]:
    names = [x.get("position") or "+".join(x["closed"]) for x in group["setting"]]
    return names if group["kind"] == "switch" or not group.get("open_is_legal", True) else ["open", *names]


def _board(s: Source, name: str, slots: int, groups: int) -> dict[str, Any]:
    limits = {"48": {"in": s.integer(6, 20), "out": s.integer(6, 20)}}
    if not _chance(s, 6):
        limits["96"] = {"in": s.integer(4, 14), "out": s.integer(4, 14)}
    board: dict[str, Any] = {
        "id": name,
        "limits": limits,
        "at_limit": s.choice(("cut", "drop")),
        "inputs": _blocks(s, slots, 8),
        "outputs": _blocks(s, slots, 25),
        "strap_group": _groups(s, slots, groups),
    }
    if not _chance(s, 10):
        board["heat_w"] = s.integer(0, 12)
    if not _chance(s, 10):
        board["rails"] = {"+5": _tenths(s, 0, 4)}
    if not _chance(s, 10):
        board["price"] = str(10 * s.integer(2, 12))
    if len(board["strap_group"]) > 1 and _chance(s, 40):
        pair = _some(s, board["strap_group"], 2, 2)
        board["never_together"] = [{g["name"]: s.choice(_names(g)) for g in pair}]
    if _chance(s, 12):
        board["reserved"] = [s.integer(1, slots)]
    return board


def _chassis(s: Source, name: str, slots: int, boards: list[str], cards: list[str]) -> dict[str, Any]:
    chassis: dict[str, Any] = {"id": name, "slot_count": slots, "boards": boards, "price": str(10 * s.integer(5, 20))}
    if not _chance(s, 15):
        chassis["rails"] = {"+5": _tenths(s, 16, 45), "+17": _tenths(s, 2, 9)}
    air = s.integer(0, 9)
    if air < 5:
        chassis["air"] = {"path": "fan", "flow_m3_h": s.integer(8, 40), "derate": s.choice(DERATES)}
    elif air < 9:
        chassis["air"] = {
            "path": "draught",
            "gap_area_cm2": s.integer(25, 50),
            "opening_below_cm2": s.integer(30, 70),
            "opening_above_cm2": s.integer(30, 70),
            "stack_mm": s.integer(120, 300),
        }
    if _chance(s, 50):
        chassis["supply"] = {"external": _chance(s, 30), "loss_w": s.integer(0, 15)}
    if _chance(s, 25):
        refused = {"slots": str(s.integer(1, slots)), "cards": _some(s, cards, 1, 2)}
        chassis["refuses"] = [refused]
    return chassis


def _frame(
    s: Source, name: str, slots: int, hardware: dict[str, Any], sketch: list[dict[str, Any]], board: str | None
) -> dict[str, Any]:
    frame: dict[str, Any] = {"name": name, "chassis": "chassis-a", "owned": not _chance(s, 25)}
    if board:
        frame["board"] = board
    if _chance(s, 25):
        groups = [g for b in hardware["board"] if board in (None, b["id"]) for g in b["strap_group"]]
        if groups:
            group = s.choice(groups)
            frame["straps"] = {group["name"]: s.choice(_names(group))}
    if _chance(s, 18):
        card = s.choice(sketch if _chance(s, 80) else hardware["card"])
        frame["pins"] = {str(s.integer(1, max(1, slots - card["span"] + 1))): card["id"]}
    if _chance(s, 22):
        slot = s.integer(1, slots)
        if str(slot) not in frame.get("pins", {}):
            frame["keep_empty"] = [slot]
    if _chance(s, 10):
        frame["inlet_rise_k"] = s.integer(1, 4)
    if _chance(s, 15):
        frame["vents"] = {"below_cm2": s.integer(60, 200)}
    return frame


def _sketch(s: Source, cards: list[dict[str, Any]], slots: int) -> list[dict[str, Any]]:
    """Cards that would fit, whatever their numbers: needs and supplies are drawn around them."""
    found: list[dict[str, Any]] = []
    for _ in range(s.integer(1, slots)):
        card = s.choice(cards)
        if sum(c["span"] for c in found) + card["span"] <= slots:
            found.append(card)
    return found or cards[:1]


def _needs(s: Source, cards: list[dict[str, Any]], sketch: list[dict[str, Any]], family: str) -> list[dict[str, Any]]:
    """Mostly what the sketched cards carry and the needs before have left of it."""
    left = [[p, p["channels"].get(family, 0)] for c in sketch for p in c["ports"]]
    needs = []
    for index in range(s.choice((1, 2, 2, 1, 3, 1, 2, 0))):
        open_ports = [entry for entry in left if entry[1] > 0]
        if open_ports and not _chance(s, 4):
            entry = s.choice(open_ports)
            port = entry[0]
            channels = s.integer(1, entry[1])
            entry[1] -= -(-channels // port["grain"]) * port["grain"]
        else:
            port = s.choice(s.choice(cards)["ports"])
            channels = s.integer(1, 3)
        spare = min(s.integer(1, 2), channels) if _chance(s, 25) else 0
        need = {"name": f"need {index}", "direction": port["direction"], "signal": s.choice(port["signals"])}
        # Spare is part of what is asked for, but for the odd need that asks for more than was sketched.
        need["channels"] = channels - (0 if _chance(s, 10) else spare)
        if spare:
            need["spare"] = spare
        needs.append(need)
    return needs


def _supplies(
    s: Source, hardware: dict[str, Any], sketch: list[dict[str, Any]]
) -> tuple[dict[str, int], list[dict[str, Any]]]:
    """Stock and offers; the sketched cards can mostly be had."""
    stock: dict[str, int] = {}
    offers: list[dict[str, Any]] = []
    for group in ("card", "board", "chassis"):
        for item in hardware[group]:
            wanted = sketch.count(item)
            owned = s.integer(0, max(wanted, 1)) if group == "card" else s.integer(1, 2)
            if owned:
                stock[item["id"]] = owned
            if _chance(s, 96 if wanted > owned else 45):
                offer: dict[str, Any] = {group: item["id"]}
                if _chance(s, 30):
                    offer["price"] = str(5 * s.integer(2, 30))
                if _chance(s, 50):
                    offer["at_most"] = s.integer(1, 2) if wanted <= owned else wanted - owned
                offers.append(offer)
                if _chance(s, 30):
                    offers.append({group: item["id"], "price": str(5 * s.integer(2, 30)), "at_most": 1})
    return stock, offers


def pair_from(s: Source) -> tuple[Scenario, Hardware]:
    """One scenario and its hardware."""
    scenario, hardware = _documents(s)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _documents(s: Source) -> tuple[dict[str, Any], dict[str, Any]]:
    """One scenario and its hardware, as files have them."""
    two = _chance(s, 20)
    slots = 2 if two else s.choice((3, 4, 3, 4, 4, 2))
    names = [f"card-{x}" for x in "abcd"[: s.integer(2, 3 if two else 4)]]
    cards = [_card(s, n, 2 if _chance(s, 22) else 1) for n in names]
    boards = [f"board-{x}" for x in "ab"[: 1 + _chance(s, 15 if two else 30)]]
    most = 1 if two or len(boards) > 1 else 2
    hardware: dict[str, Any] = {
        "format": 1,
        "card": cards,
        "board": [_board(s, b, slots, most) for b in boards],
        "chassis": [_chassis(s, "chassis-a", slots, boards, names)],
    }
    sketch = _sketch(s, cards, slots * (1 + two))
    stock, offers = _supplies(s, hardware, sketch)
    rate = s.choice((48000, 44100, 96000))
    # Now and then two frames that nothing but their names tells apart.
    board = None if len(boards) > 1 and not _chance(s, 30) else s.choice(boards)
    frames = [_frame(s, "A", slots, hardware, sketch, board)]
    if two:
        frames.append({**frames[0], "name": "B"} if _chance(s, 40) else _frame(s, "B", slots, hardware, sketch, board))
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Tiny",
        "hardware": ["tiny.toml"],
        "currency": s.choice(("GBP", "EUR", "JPY")),
        "sample_rate": rate,
        "stock": stock,
        "offer": offers,
        "frame": frames,
        "need": _needs(s, cards, sketch, "96" if rate == 96000 else "48"),
        "rank": _some(s, CRITERIA, 1, 4),
        "limits": {
            "rail_reserve": s.choice(("20 %", "0 %", "10 %", "35 %")),
            "refuse_below_k": s.choice((5, 3, 8)),
            "enough_k": s.choice((15, 12, 20)),
            "step_k": s.choice((2, 1, 3)),
        },
    }
    if not _chance(s, 10):
        scenario["air"] = {"inlet_c": s.integer(20, 33), "altitude_m": s.choice((0, 0, 800, 2000))}
    if _chance(s, 55):
        scenario["budget"] = str(10 * s.integer(2, 28))
    if _chance(s, 25):
        card = s.choice(sketch if _chance(s, 70) else cards)
        scenario["must_seat"] = [{"card": card["id"], "count": 1 + _chance(s, 30)}]
    if _chance(s, 30):
        slack = {"cost": f"{s.integer(5, 60)} %", "cooling": s.integer(1, 5)}
        scenario["slack"] = {c: slack.get(c, s.integer(1, 3)) for c in _some(s, scenario["rank"], 1, 2)}
    return scenario, hardware


def _silent_group(s: Source, name: str) -> dict[str, Any]:
    """A group that changes no number: a switch, or links that are closed one by one or together."""
    if _chance(s, 50):
        group: dict[str, Any] = {"kind": "switch", "setting": [{"position": p} for p in "123"[: s.integer(2, 3)]]}
    else:
        links = [f"{name}{letter}" for letter in "ab"]
        closed = _some(s, [links[:1], links[1:], links], 1, 3)
        straps = [x for x in links if any(x in own for own in closed)]
        group = {"kind": "links", "straps": straps, "setting": [{"closed": own} for own in closed]}
        group["open_is_legal"] = not _chance(s, 30)
    group["name"] = name
    if _chance(s, 50):
        group["wanted"] = s.choice(_names(group))
    return group


def banning_from(s: Source) -> tuple[Scenario, Hardware]:
    """The same with groups that change no number and bans that name them, and now and then asked settings of theirs."""
    scenario, hardware = _documents(s)
    _add_bans(s, scenario, hardware)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _add_bans(s: Source, scenario: dict[str, Any], hardware: dict[str, Any]) -> None:
    for board in hardware["board"]:
        groups = board["strap_group"]
        silent = [_silent_group(s, f"T{n}") for n in range(s.integer(1, 3))]
        for group in silent:
            groups.insert(s.integer(0, len(groups)), group)
        bans = board.setdefault("never_together", [])
        for _ in range(s.integer(1, 4)):
            members = {g["name"]: g for g in [s.choice(silent), *_some(s, groups, 0, 2)]}
            bans.append({name: s.choice(_names(g)) for name, g in members.items()})
    for frame in scenario["frame"]:
        # Like the board in the frame, if it names one, or any other.
        boards = [b for b in hardware["board"] if frame.get("board") in (None, b["id"])]
        for group in (g for b in boards for g in b["strap_group"]):
            if _chance(s, 20):
                frame.setdefault("straps", {})[group["name"]] = s.choice(_names(group))


def nice_from(s: Source) -> tuple[Scenario, Hardware]:
    """The same with more asked for than there mostly is, and needs that are nice to have among it."""
    scenario, hardware = _documents(s)
    family = "96" if scenario["sample_rate"] == 96000 else "48"
    needs = scenario["need"]
    for index in range(s.integer(0, 2)):
        port = s.choice(s.choice(hardware["card"])["ports"])
        needs.append(
            {
                "name": f"wish {index}",
                "direction": port["direction"],
                "signal": s.choice(port["signals"]),
                "channels": s.integer(1, max(1, port["channels"].get(family, 0))),
            }
        )
    for need in needs:
        if _chance(s, 65):
            need["importance"] = "nice"
            need["channels"] += s.integer(0, 3)
            if _chance(s, 25):
                need["spare"] = s.integer(1, 2)
    if _chance(s, 15):
        _add_bans(s, scenario, hardware)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


WISHES = ("numbers", "from", "consecutive", "bank_of", "one_card", "pairs")


def _ask_for_numbers(s: Source, need: dict[str, Any], frames: Sequence[str], kind: str) -> None:
    """Make a need ask for certain numbers, which some cards may have."""
    demand = need["channels"] + need.get("spare", 0)
    if kind == "numbers":
        numbers = _some(s, range(1, max(8, demand) + 1), demand, demand)
        listed = sorted(numbers) if _chance(s, 60) else numbers
        text = ", ".join(map(str, listed))
        one = len(frames) == 1 and _chance(s, 60)
        need["numbers"] = text if one else {"frame": s.choice(frames), "list": text}
    elif kind == "from":
        need["numbers"] = {"frame": s.choice(frames), "from": s.integer(1, 5)}
    elif kind == "pairs":
        need["pairs"] = True
    else:
        need["consecutive"] = True
        if kind != "consecutive" or _chance(s, 20):
            need["bank_of" if kind == "bank_of" else "one_card"] = s.choice((2, 4)) if kind == "bank_of" else True


def _tight_documents(s: Source) -> tuple[dict[str, Any], dict[str, Any]]:
    """Few cards of two signals that share lines, and needs that take most of what can stand: numbers are scarce."""
    two = _chance(s, 35)
    slots = 2 if two else s.choice((3, 3, 4))
    cards = []
    for name in ("card-a", "card-b", "card-c")[: s.integer(2, 3)]:
        span = 2 if _chance(s, 20) else 1
        ports = []
        for on_slot in range(1, span + 1):
            for _ in range(1 + (_chance(s, 35) and span == 1)):
                grain = s.choice((1, 1, 1, 2))
                signals = s.choice((["line"], ["line"], ["mic"], ["line", "mic"], ["line", "mic"]))
                port = {"direction": "in", "signals": signals, "grain": grain, "on_slot": on_slot}
                ports.append({**port, "channels": {"48": grain * s.integer(1, 3 // grain)}})
        cards.append({"id": name, "price": str(10 * s.integer(2, 9)), "span": span, "ports": ports})
    board: dict[str, Any] = {
        "id": "board-a",
        "limits": {"48": {"in": s.integer(7, 12), "out": 4}},
        "at_limit": s.choice(("cut", "drop")),
        "inputs": {"first_slot": 1, "widths": s.integer(2, 4)},
        "outputs": {"first_slot": 1, "widths": 0},
    }
    if _chance(s, 50):
        values = s.choice(({"widths": s.integer(1, 4)}, {"first_slot": 2}))
        board["strap_group"] = [
            {"name": "W", "kind": "links", "straps": ["W1"], "setting": [{"closed": ["W1"], "inputs": values}]}
        ]
    chassis = {"id": "chassis-a", "slot_count": slots, "boards": ["board-a"]}
    frames = [{"name": n, "chassis": "chassis-a", "board": "board-a"} for n in ("A", "B")[: 1 + two]]
    sketch = _sketch(s, cards, slots * (1 + two))
    left = [[p["signals"], p["channels"]["48"]] for c in sketch for p in c["ports"]]
    needs = []
    for index in range(s.choice((1, 2, 2, 3))):
        entry = s.choice(left)
        signal = s.choice(entry[0])
        most = sum(count for signals, count in left if signal in signals)
        channels = s.integer(1, min(4, max(1, most // (1 + (index > 0)))))
        needs.append({"name": f"need {index}", "direction": "in", "signal": signal, "channels": channels})
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Tight",
        "hardware": ["tight.toml"],
        "currency": "GBP",
        "offer": [{"card": card["id"]} for card in cards],
        "frame": frames,
        "need": needs,
        "rank": _some(s, CRITERIA[:-1], 1, 3),
    }
    return scenario, {"format": 1, "card": cards, "board": [board], "chassis": [chassis]}


def _rig_documents(s: Source) -> tuple[dict[str, Any], dict[str, Any]]:
    """Few cards of either direction or both, and needs of both that take most of what can stand."""
    two = _chance(s, 25)
    slots = 2 if two else s.choice((3, 3, 4))
    cards: list[dict[str, Any]] = []
    for name in ("card-a", "card-b", "card-c")[: s.integer(2, 3)]:
        span = 2 if _chance(s, 15) else 1
        ports = []
        ways = s.choice((("in",), ("out",), ("in", "out"), ("in", "out"), ("in", "in"), ("out", "out")))
        for place, direction in enumerate(ways):
            grain = s.choice((1, 1, 1, 2))
            signals = s.choice((["line"], ["line"], ["mic", "line"]))
            sort = {"direction": direction, "signals": signals, "grain": grain, "on_slot": min(span, 1 + place)}
            ports.append({**sort, "channels": {"48": grain * s.integer(1, 3 // grain)}})
        cards.append({"id": name, "price": str(10 * s.integer(2, 9)), "span": span, "ports": ports})
    board: dict[str, Any] = {
        "id": "board-a",
        "limits": {"48": {"in": s.integer(5, 9), "out": s.integer(5, 9)}},
        "at_limit": s.choice(("cut", "drop")),
        "inputs": {"first_slot": 1, "widths": s.integer(2, 4)},
        "outputs": {"first_slot": s.choice((1, 1, 2)), "widths": s.integer(2, 4)},
    }
    if _chance(s, 60):
        values = s.choice(({"widths": s.integer(1, 4)}, {"first_slot": 2}))
        side = s.choice(("inputs", "outputs", "outputs"))
        board["strap_group"] = [
            {"name": "W", "kind": "links", "straps": ["W1"], "setting": [{"closed": ["W1"], side: values}]}
        ]
    chassis = {"id": "chassis-a", "slot_count": slots, "boards": ["board-a"]}
    frames = [{"name": n, "chassis": "chassis-a", "board": "board-a"} for n in ("A", "B")[: 1 + two]]
    sketch = _sketch(s, cards, slots * (1 + two))
    left = {d: [c for card in sketch for c in card["ports"] if c["direction"] == d] for d in ("in", "out")}
    most = min(sum(port["channels"]["48"] for port in own) for own in left.values())
    needs: list[dict[str, Any]] = [
        {"name": "sends", "direction": "out", "signal": "line", "channels": s.integer(1, max(1, min(4, most)))},
        {"name": "back", "direction": "in", "signal": "line", "channels": 1},
    ]
    for index in range(s.choice((0, 1, 1, 2))):
        port: dict[str, Any] = s.choice(s.choice(sketch)["ports"])
        own = {"direction": port["direction"], "signal": s.choice(port["signals"])}
        needs.append({"name": f"need {index}", **own, "channels": s.integer(1, port["channels"]["48"])})
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Rig",
        "hardware": ["rig.toml"],
        "currency": "GBP",
        "offer": [{"card": card["id"]} for card in cards],
        "frame": frames,
        "need": needs,
        "rank": _some(s, CRITERIA[:-1], 1, 3),
    }
    return scenario, {"format": 1, "card": cards, "board": [board], "chassis": [chassis]}


def random_returning(seed: int) -> tuple[Scenario, Hardware]:
    """A scenario with needs that come back on others, alone or with one more wish of their numbers or of others."""
    s = Seeded(seed)
    scenario, hardware = _rig_documents(s)
    frames = [frame["name"] for frame in scenario["frame"]]
    sends, back, *others = scenario["need"]
    sends["returns_on"], back["channels"] = "back", sends["channels"]
    if _chance(s, 60):
        asking = s.choice((sends, back, *others))
        _ask_for_numbers(s, asking, frames, s.choice(WISHES))
    for need in others:
        if not {"numbers", "consecutive", "pairs"} & need.keys() and _chance(s, 15):
            need["importance"] = "nice"
    _let_split(s, scenario)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _let_split(s: Source, scenario: dict[str, Any]) -> None:
    """Let some of what is to be in one frame be split, where there are several."""
    for need in scenario["need"] if len(scenario["frame"]) > 1 else ():
        if ("returns_on" in need or need.get("pairs")) and _chance(s, 40):
            need["may_split"] = True


def random_on_cards(seed: int) -> tuple[Scenario, Hardware]:
    """A scenario in which needs ask for few channels on a card, or for other cards than some other need.

    Every other one has a wish of numbers too, or a need that comes back on another.
    """
    s = Seeded(seed)
    scenario, hardware = _rig_documents(s) if seed % 2 else _tight_documents(s)
    frames = [frame["name"] for frame in scenario["frame"]]
    needs = scenario["need"]
    sends = next((need for need in needs if need["name"] == "sends"), None)
    if sends is not None:
        back = next(need for need in needs if need["name"] == "back")
        back["channels"] = sends["channels"] if _chance(s, 50) else back["channels"]
        if back["channels"] == sends["channels"] and _chance(s, 30):
            sends["returns_on"] = "back"
    for kind in ("max_per_card", "apart_from")[_chance(s, 30) : 2 - _chance(s, 30)]:
        need = s.choice(needs)
        others = [other["name"] for other in needs if other is not need]
        if kind == "max_per_card" or not others:
            need["max_per_card"] = s.integer(1, 2)
        else:
            need["apart_from"] = _some(s, others, 1, 2 if len(others) > 1 else 1)
    if _chance(s, 50):
        need = s.choice(needs)
        kind = s.choice([kind for kind in WISHES if kind != "one_card" or "max_per_card" not in need])
        if not (kind == "pairs" and need.get("max_per_card") == 1):
            _ask_for_numbers(s, need, frames, kind)
    bound = {name for need in needs for name in (need["name"], *need.get("apart_from", ())) if len(need) > 4}
    for need in needs:
        if need["name"] not in bound | {"sends", "back"} and _chance(s, 15):
            need["importance"] = "nice"
    _let_split(s, scenario)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_numbered(seed: int) -> tuple[Scenario, Hardware]:
    """A scenario in which needs ask for certain numbers: one wish, or two of one need or of two."""
    s = Seeded(seed)
    scenario, hardware = _documents(s) if seed % 3 == 0 else _tight_documents(s)
    frames = [frame["name"] for frame in scenario["frame"]]
    wishes = [s.choice(WISHES)] if _chance(s, 50) else _some(s, WISHES, 2, 2)
    for kind in wishes:
        asking = [n for n in scenario["need"] if n["channels"] + n.get("spare", 0) <= 4]
        if asking:
            _ask_for_numbers(s, s.choice(asking), frames, kind)
    asked = {"numbers", "consecutive", "pairs"}
    for need in scenario["need"]:
        if len(asked & need.keys()) > 1 and "numbers" in need:  # a list that is no run, or no pairs, is refused
            step = max(2 if "pairs" in need else 1, need.get("bank_of", 1))
            need["numbers"] = {"frame": s.choice(frames), "from": 1 + step * s.integer(0, 2)}
        if not asked & need.keys() and _chance(s, 10):
            need["importance"] = "nice"
    _let_split(s, scenario)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


ASKING = {"numbers", "consecutive", "pairs", "max_per_card", "apart_from"}


def random_nice_numbered(seed: int) -> tuple[Scenario, Hardware]:
    """The same, or with wishes about cards, where needs that ask for certain numbers are nice to have."""
    scenario, hardware = (random_numbered if seed % 2 else random_on_cards)(seed)
    s = Seeded(seed)
    tied = {need.returns_on for need in scenario.need}
    needs = [need.model_dump(exclude_unset=True, by_alias=True) for need in scenario.need]
    for need in needs:
        if ASKING & need.keys() and "returns_on" not in need and need["name"] not in tied and _chance(s, 70):
            need["importance"] = "nice"
            if "list" not in need.get("numbers", {}):
                need["channels"] += s.integer(0, 2)
    return Scenario.model_validate({**scenario.model_dump(exclude_unset=True, by_alias=True), "need": needs}), hardware


def add_companions(s: Source, scenario: dict[str, Any], hardware: dict[str, Any]) -> None:
    """Cards that need and exclude others, and mostly a feed among them that serves nothing."""
    cards = hardware["card"]
    feed = {"id": "card-f", "span": 1 + _chance(s, 12), "price": str(10 * s.integer(1, 4)), "ports": []}
    if not _chance(s, 10):
        feed |= {"heat_w": s.integer(0, 6), "rails": {"+5": _tenths(s, 0, 3)}}
    if not _chance(s, 15):
        cards.append(feed)
        if _chance(s, 60):
            scenario["stock"]["card-f"] = s.integer(1, 2)
        if _chance(s, 80):
            scenario["offer"].append({"card": "card-f"} if _chance(s, 70) else {"card": "card-f", "at_most": 1})
    for card in cards:
        others = [c["id"] for c in cards if c is not card]
        liked = "card-f" if cards[-1] is feed and card is not feed and _chance(s, 80) else s.choice(others)
        if _chance(s, 60 if card is not feed else 5):
            card["needs"] = [{"card": liked, "per": s.integer(1, 3), "within": s.choice(("next", "frame"))}]
            if _chance(s, 10):
                other = {"card": s.choice(others), "per": 1, "within": "next"}
                card["needs"] += [other] if other["card"] != liked else []
        if _chance(s, 25):
            banned = s.choice([c["id"] for c in cards])
            if all(need["card"] != banned for need in card.get("needs", [])):
                card["excludes"] = [{"card": banned, "within": s.choice(("next", "frame"))}]


def add_supply_cables(s: Source, scenario: dict[str, Any], hardware: dict[str, Any]) -> None:
    """Some cards with supply cables of two sorts, mostly few sockets for them, and now and then a newer revision."""
    for card in list(hardware["card"]):
        if _chance(s, 50):
            if len(hardware["card"]) < 5 and _chance(s, 85):
                hardware["card"].append({**card, "id": f"{card['id']}-b", "price": str(10 * s.integer(1, 30))})
                scenario["offer"].append({"card": f"{card['id']}-b"})
            card["supply_cables"] = [s.choice(("aux", "aux", "ring")) for _ in range(1 + _chance(s, 30))]
    for chassis in hardware["chassis"]:
        if not _chance(s, 10):
            chassis["supply_sockets"] = {"aux": s.integer(0, 2)} | ({"ring": s.integer(0, 1)} if _chance(s, 70) else {})


def random_hot_at(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario of a seed in which most cards say where along them their heat is, always the same."""
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    for card in hardware["card"]:
        if _chance(s, 70):
            card["hot_at"] = _tenths(s, 0, 10)
    for chassis in hardware["chassis"]:
        if chassis.get("air", {}).get("path") == "draught" and _chance(s, 60):
            chassis["air"]["card_mm"] = int(chassis["air"]["stack_mm"]) * 2 // 3
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_open(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario of a seed whose frames have no blanks, with fans and what open slots let by, always the same."""
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    for chassis in hardware["chassis"]:
        if chassis.get("air", {}).get("path") == "draught" and _chance(s, 70):
            chassis["air"] = {"path": "fan", "flow_m3_h": s.integer(8, 40), "derate": s.choice(DERATES)}
        if chassis.get("air", {}).get("path") == "fan":
            chassis["air"] |= {"gap_area_cm2": s.integer(20, 40), "leak_cm2": s.integer(5, 60)}
    for frame in scenario["frame"]:
        frame["blanks"] = _chance(s, 10)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_cabled(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario of a seed with cards that take sockets of the supply, always the same."""
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    add_supply_cables(s, scenario, hardware)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def cabled_campus(seed: int) -> tuple[Scenario, Hardware]:
    """The campus of a seed with cards that take sockets of the supply, always the same."""
    s = Seeded(seed)
    scenario, hardware = _campus_documents(s)
    add_supply_cables(s, scenario, hardware)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def companioned_from(s: Source) -> tuple[Scenario, Hardware]:
    """The same with cards that need others beside them or in their frame, and such that exclude others."""
    scenario, hardware = _documents(s)
    add_companions(s, scenario, hardware)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_companioned(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario with companions of a seed, always the same."""
    return companioned_from(Seeded(seed))


def companioned_campus(seed: int) -> tuple[Scenario, Hardware]:
    """The campus of a seed with companions, always the same."""
    source = Seeded(seed)
    scenario, hardware = _campus_documents(source)
    add_companions(source, scenario, hardware)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _what_stands(s: Source, hardware: dict[str, Any], frame: dict[str, Any]) -> dict[str, Any]:
    """Cards wherever they happen to be, as somebody left them, and straps as they were set."""
    board = s.choice([b for b in hardware["board"] if frame.get("board", b["id"]) == b["id"]])
    slots = next(c["slot_count"] for c in hardware["chassis"] if c["id"] == frame["chassis"])
    cards: dict[str, str] = {}
    slot = 1
    while slot <= slots:
        card = s.choice(hardware["card"])
        if _chance(s, 60) and slot + card["span"] - 1 <= slots:
            cards[str(slot)] = card["id"]
            slot += card["span"] - 1
        slot += 1
    straps = {g["name"]: s.choice(_names(g)) for g in board["strap_group"] if not _chance(s, 10)}
    return {"name": frame["name"], "board": board["id"], "straps": straps, "cards": cards}


def _serving(s: Source, hardware: dict[str, Any], scenario: dict[str, Any], frames: list[dict[str, Any]]) -> None:
    """Let channels of what stands serve needs here and there, each one need and none more than it asks for."""
    left = {need["name"]: need["channels"] + need.get("spare", 0) for need in scenario["need"]}
    family = "96" if scenario["sample_rate"] == 96000 else "48"
    cards = {card["id"]: card for card in hardware["card"]}
    for frame in frames:
        served: dict[tuple[str, int], list[int]] = {}
        for slot, card in ((int(n), cards[i]) for n, i in frame["cards"].items()):
            counts: Counter[tuple[str, int]] = Counter()
            for port in card["ports"]:
                at, part = port["on_slot"] + slot - 1, (port["direction"], port["on_slot"])
                able = [
                    need["name"]
                    for need in scenario["need"]
                    if need["direction"] == port["direction"] and need["signal"] in port["signals"]
                ]
                for _ in range(port["channels"].get(family, 0)):
                    counts[part] += 1
                    name = s.choice(able) if able and _chance(s, 90) else ""
                    if left.get(name):
                        left[name] -= 1
                        served.setdefault((name, at), []).append(counts[part])
        frame["serves"] = [
            {"need": name, "slot": slot, "channels": write_ranges(own)} for (name, slot), own in sorted(served.items())
        ]


def random_standing(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario of a seed from something that stands already, always the same: ranked by what is moved too."""
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    frames = [_what_stands(s, hardware, f) for f in scenario["frame"] if not _chance(s, 15)]
    _serving(s, hardware, scenario, frames)
    standing = Counter(card for frame in frames for card in frame["cards"].values())
    stock = scenario["stock"]
    scenario["stock"] = {item: max(stock.get(item, 0), standing[item]) for item in sorted({*stock, *standing})}
    rank = [*_some(s, MOVING, 1, 3), *_some(s, list(scenario["rank"]), 0, 2)]
    scenario["rank"] = _some(s, rank, len(rank), len(rank))
    scenario["slack"] = dict.fromkeys(_some(s, scenario["rank"], 0, 1), 1) if _chance(s, 30) else {}
    scenario["installed"] = {"format": 1, "frame": frames}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_out_of_service(seed: int) -> tuple[Scenario, Hardware]:
    """The same with one to three things out of service: cards, channels, numbers, and what is in stock."""
    scenario, hardware = random_standing(seed)
    s = Seeded(seed + 10**6)
    installed = scenario.installed.frame if isinstance(scenario.installed, Build) else ()
    seats = [f"{frame.name}:{slot}" for frame in installed for slot, _ in frame.seats()]
    frames = [frame.name for frame in scenario.frame]
    stock = [item for item, count in scenario.stock.items() if count > sum(item in f.cards.values() for f in installed)]
    entries: list[dict[str, str]] = []
    for _ in range(s.integer(1, 3)):
        side = s.choice(["", "in:", "out:"])
        ways = [{"number": f"{s.choice(frames)}:{side}{s.integer(1, 10)}"}]
        if seats:
            frame, _, slot = s.choice(seats).partition(":")
            ways += [{"slot": f"{frame}:{slot}"}, *[{"channel": f"{frame}:{side}{slot}.{s.integer(1, 4)}"}] * 3]
        ways += [{"stock": s.choice(stock)}] if stock else []
        entries.append(s.choice(ways))
    told = {"date": "2026-11-20", "symptom": "hum", "found_by": "house technician"}
    distinct = [entry for n, entry in enumerate(entries) if entry not in entries[:n]]
    out = tuple(OutOfService.model_validate({**entry, **told}) for entry in distinct)
    return scenario.model_copy(update={"out_of_service": out}), hardware


def random_unsure(seed: int) -> tuple[Scenario, Hardware]:
    """One to three prices that are not sure, of offers that are mostly plenty; cost is ranked somewhere."""
    s = Seeded(seed)
    scenario, hardware = _tight_documents(s) if _chance(s, 40) else _documents(s)
    scenario.pop("slack", None)
    if "cost" not in scenario["rank"]:
        scenario["rank"].insert(s.integer(0, 1), "cost")
    elif _chance(s, 60):
        scenario["rank"] = ["cost", *(c for c in scenario["rank"] if c != "cost")]
    listed = {i["id"]: i.get("price", "0") for group in ("card", "board", "chassis") for i in hardware[group]}
    for card in hardware["card"]:
        if _chance(s, 50) and not any(offer.get("card") == card["id"] for offer in scenario["offer"]):
            scenario["offer"].append({"card": card["id"]})
    for offer in scenario["offer"]:
        if _chance(s, 60):
            offer.pop("at_most", None)
    told: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for offer in scenario["offer"]:
        (key, item), *_ = [(k, v) for k, v in offer.items() if k in ("card", "board", "chassis")]
        price = offer.setdefault("price", listed[item])
        told.setdefault((item, price), []).append({key: item, "now": price})
    ranges = []
    for entries in _some(s, [entries for entries in told.values() if len(entries) == 1], 1, 3):
        now = int(entries[0]["now"])
        low, high = max(0, now - 5 * s.integer(0, 16)), now + 5 * s.integer(0, 16)
        ranges.append({**entries[0], "from": str(low), "to": str(high + (low == high))})
    scenario["tolerance"] = {"price": ranges}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_graded(seed: int) -> tuple[Scenario, Hardware]:
    """A need, the air and heat that may come to be more; cost is ranked first."""
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    scenario.pop("slack", None)
    scenario["rank"] = ["cost", *(c for c in scenario["rank"] if c != "cost")]
    for offer in scenario["offer"]:
        if _chance(s, 70):
            offer.pop("at_most", None)
    heat = {"from": f"{100 - s.integer(0, 40)} %", "to": f"{101 + s.integer(0, 80)} %"}
    tolerance: dict[str, Any] = {"heat": heat}
    for need in _some(s, scenario["need"], 1, 1):
        low, high = max(1, need["channels"] - s.integer(0, 3)), need["channels"] + s.integer(0, 4)
        tolerance["need"] = [{"name": need["name"], "from": low, "to": max(low + 1, high)}]
    if "air" in scenario:
        inlet = scenario["air"]["inlet_c"]
        tolerance["inlet_c"] = {"from": inlet - s.integer(0, 6), "to": inlet + s.integer(1, 12)}
    scenario["tolerance"] = tolerance
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _days_documents(s: Source) -> tuple[dict[str, Any], dict[str, Any]]:
    """A rig whose straps give either direction more numbers, and needs each of which takes most of what there is."""
    scenario, hardware = _rig_documents(s)
    board = hardware["board"][0]
    board["inputs"]["widths"], board["outputs"]["widths"] = s.integer(1, 2), s.integer(1, 2)
    board["strap_group"] = [
        {
            "name": "W",
            "kind": "switch",
            "setting": [
                {"position": "0"},
                {"position": "1", "inputs": {"widths": 4}, "outputs": {"widths": s.integer(0, 2)}},
                {"position": "2", "inputs": {"widths": s.integer(0, 2)}, "outputs": {"widths": 4}},
            ],
        }
    ]
    hardware["chassis"][0]["air"] = {"path": "fan", "flow_m3_h": s.integer(8, 20), "derate": s.choice(DERATES)}
    scenario["air"] = {"inlet_c": 25}
    for card in hardware["card"]:
        card |= {"heat_w": s.integer(4, 14), "air_limit_c": s.choice((55, 50, 45))}
    scenario["rank"].insert(s.choice((0, 1, len(scenario["rank"]))), "cooling")
    ports = [port for card in hardware["card"] for port in card["ports"]]
    scenario["need"] = [
        {
            "name": f"need {n}",
            "direction": port["direction"],
            "signal": s.choice(port["signals"]),
            "channels": port["channels"]["48"] + s.integer(0, 2),
        }
        for n, port in enumerate(_some(s, ports, 2, 4))
    ]
    return scenario, hardware


def random_setups(seed: int) -> tuple[Scenario, Hardware]:
    """Two or three kinds of day on one seating, some at another rate, with some of the needs each."""
    s = Seeded(seed)
    scenario, hardware = _days_documents(s) if _chance(s, 70) else _documents(s)
    scenario.pop("slack", None)
    scenario.pop("sample_rate", None)
    names = [need["name"] for need in scenario["need"]] or ["none"]
    if names == ["none"]:
        scenario["need"] = [{"name": "none", "direction": "in", "signal": "line", "channels": 1}]
    for offer in scenario["offer"]:
        if _chance(s, 60):
            offer.pop("at_most", None)
    for n in range(s.choice((2, 2, 3))):
        setup = {"name": f"day {n}", "needs": _some(s, names, 1, 1 + _chance(s, 40)), "share": s.integer(1, 3)}
        if _chance(s, 25):
            setup["sample_rate"] = s.choice((44100, 96000))
        scenario.setdefault("setup", []).append(setup)
    scenario |= {"straps": s.choice(("per setup", "same")), "over_setups": s.choice(("sum", "worst"))}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_surviving(seed: int, how: str = "repatch") -> tuple[Scenario, Hardware]:
    """One or two needs of the scenario are critical, and more is on offer, always the same.

    Where nothing is patched anew they have something to spare.
    """
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    for need in _some(s, [need for need in scenario["need"] if need["channels"]], 1, 2):
        need["critical"] = True
        need["channels"] = max(1, need["channels"] - s.integer(0, 2))
    for need in scenario["need"]:
        if not need.get("critical") and _chance(s, 15):
            need["importance"] = "nice"
    for offer in scenario["offer"]:
        if _chance(s, 80):
            offer.pop("at_most", None)
    if _chance(s, 70):
        scenario.pop("budget", None)
    for need in scenario["need"] if how == "nothing" else ():
        if need.get("critical"):
            need["spare"] = s.integer(1, 2)
    scenario["survive"] = {"cards": 1, "with": how}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_supplied(seed: int) -> tuple[Scenario, Hardware]:
    """Frames are to survive any one of their two or three supplies, now and then of their only one, always the same."""
    s = Seeded(seed)
    scenario, hardware = _documents(s)
    for chassis in hardware["chassis"]:
        count = s.choice((1, 2, 2, 2, 3))
        chassis["supply"] = {**chassis.get("supply", {}), "count": count}
        if "rails" in chassis and count > 1 and not _chance(s, 15):
            chassis["supply"]["rails"] = {
                rail: -(-int(10 * amperes) // count) / Decimal(10) + _tenths(s, 0, 2)
                for rail, amperes in chassis["rails"].items()
            }
    scenario["survive"] = {"supplies": 1}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_phases(seed: int) -> tuple[Scenario, Hardware]:
    """Two phases of buying, or three, with some of the needs each, budgets and prices of their own."""
    s = Seeded(seed)
    scenario, hardware = _days_documents(s) if _chance(s, 75) else _documents(s)
    for key in ("slack", "must_seat"):
        scenario.pop(key, None)
    names = [need["name"] for need in scenario["need"]] or ["none"]
    if names == ["none"]:
        scenario["need"] = [{"name": "none", "direction": "in", "signal": "line", "channels": 1}]
    offers = [offer for offer in scenario["offer"] if offer.get("at_most") != 0]
    for offer in offers:
        if _chance(s, 60):
            offer.pop("at_most", None)
    for card in {card["id"] for card in hardware["card"]} - {offer.get("card") for offer in offers}:
        if _chance(s, 70):
            offers.append({"card": card, "price": str(5 * s.integer(2, 30))})
    for need in scenario["need"]:
        if _chance(s, 50):
            need["channels"] = s.integer(1, max(1, need["channels"]))
    for frame in scenario["frame"]:
        frame["pins"] = {}
    offers.sort(key=lambda offer: (offer.get("card", ""), str(offer)))
    scenario["offer"] = offers
    items = [offer.get("card") or offer.get("board") or offer.get("chassis") for offer in offers]
    single = [item for item in items if items.count(item) == 1]
    served = sorted(names, key=lambda _: s.integer(0, 99))
    count = 2 + _chance(s, 12)
    for n in range(count):
        grown = served[: n + 1]
        own = _some(s, names, 1, 2) if _chance(s, 20) else [name for name in names if name in grown]
        phase: dict[str, Any] = {"name": f"phase {n}", "needs": own}
        if _chance(s, 35):
            phase["budget"] = str(5 * s.integer(5, 50))
        priced = {item: str(5 * s.integer(2, 40)) for item in single if _chance(s, 40)}
        if priced:
            phase["prices"] = priced
        scenario.setdefault("phase", []).append(phase)
    if _chance(s, 85):
        scenario.pop("budget", None)
    scenario |= {"moves": s.choice(("once", "never")), "cost_of": s.choice(("all phases", "first phase"))}
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def random_nice(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario with needs that are nice to have of a seed, always the same."""
    return nice_from(Seeded(seed))


def random_banning(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario with bans of a seed, always the same."""
    return banning_from(Seeded(seed))


def campus_from(s: Source) -> tuple[Scenario, Hardware]:
    """Two or three rooms of a frame each that share stock, offers and budget, and their hardware."""
    scenario, hardware = _campus_documents(s)
    return Scenario.model_validate(scenario), Hardware.model_validate(hardware)


def _campus_documents(s: Source) -> tuple[dict[str, Any], dict[str, Any]]:
    rooms = s.choice((2, 2, 3))
    slots = 2 if rooms > 2 else s.choice((2, 3))
    names = [f"card-{x}" for x in "abcd"[: s.integer(2, 4)]]
    cards = [_card(s, n, 2 if _chance(s, 22) else 1) for n in names]
    if _chance(s, 50):
        # A card that numbers cannot tell from another one.
        twin = s.choice(cards)
        cards.append({**_card(s, "card-e", twin["span"]), "ports": twin["ports"]})
        names.append("card-e")
    boards = [f"board-{x}" for x in "ab"[: 1 + _chance(s, 20)]]
    hardware: dict[str, Any] = {
        "format": 1,
        "card": cards,
        "board": [_board(s, b, slots, 1) for b in boards],
        "chassis": [_chassis(s, "chassis-a", slots, boards, names)],
    }
    sketches: list[list[dict[str, Any]]] = []
    drawn: list[dict[str, Any]] = []
    for index in range(rooms):
        if drawn and _chance(s, 35):
            sketches.append(sketches[-1])
            drawn.append({**drawn[-1], "name": f"room {index}"})
            continue
        sketches.append(_sketch(s, cards, slots))
        board = None if len(boards) > 1 and not _chance(s, 30) else s.choice(boards)
        rate = s.choice((48000, 48000, 96000))
        room: dict[str, Any] = {
            "name": f"room {index}",
            "sample_rate": rate,
            "frame": [_frame(s, "A", slots, hardware, sketches[-1], board)],
            "need": _needs(s, cards, sketches[-1], "96" if rate == 96000 else "48"),
        }
        if _chance(s, 60):
            room["air"] = {"inlet_c": s.integer(20, 33)}
        if _chance(s, 15):
            room["must_seat"] = [{"card": s.choice(sketches[-1])["id"]}]
        drawn.append(room)
    stock, offers = _supplies(s, hardware, [card for sketch in sketches for card in sketch])
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Tiny campus",
        "hardware": ["tiny.toml"],
        "currency": s.choice(("GBP", "EUR", "JPY")),
        "stock": stock,
        "offer": offers,
        "room": drawn,
        "rank": _some(s, CRITERIA, 1, 3) if _chance(s, 50) else ["cost", "unused", "cooling"],
        "air": {"inlet_c": s.integer(20, 30)},
    }
    if _chance(s, 55):
        scenario["budget"] = str(10 * s.integer(2, 20 * rooms))
    if _chance(s, 20):
        scenario["slack"] = {c: s.integer(1, 3) for c in _some(s, scenario["rank"], 1, 2)}
    return scenario, hardware


def random_campus(seed: int) -> tuple[Scenario, Hardware]:
    """The campus of a seed, always the same."""
    return campus_from(Seeded(seed))


def random_pair(seed: int) -> tuple[Scenario, Hardware]:
    """The scenario of a seed, always the same."""
    return pair_from(Seeded(seed))


@st.composite
def tiny_scenarios(draw: Any) -> tuple[Scenario, Hardware]:
    """A strategy of pairs of a scenario and its hardware."""
    return pair_from(Drawn(draw))
