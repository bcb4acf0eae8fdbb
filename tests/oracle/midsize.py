"""Scenarios of one frame with twelve slots: far too large to try every build, small enough for a second solver.

Each is drawn around a sketch: cards in slots under one combination of settings, from which needs, supplies, money,
rails and air follow, so that most can be met. About a third are squeezed in one respect. Whether a scenario can be
met is not known here; nor is it promised that a squeezed one cannot.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from brute_force import Numbering, answers, numberings

from solver.room.hardware import Board, Card, Hardware
from solver.room.scenario import Scenario
from solver.room.words import Family

SLOTS = 12
SQUEEZES = ("budget", "slots", "numbers", "rails", "heat", "supplies")
"""What may be made too tight."""

ROLES: dict[str, tuple[tuple[str, tuple[str, ...]], ...]] = {
    "mic": (("in", ("mic",)),),
    "line-in": (("in", ("line",)),),
    "mic-line": (("in", ("mic", "line")),),
    "instrument": (("in", ("instrument",)),),
    "line-out": (("out", ("line",)),),
    "duo": (("in", ("line",)), ("out", ("line",))),
    "aes": (("in", ("aes3",)), ("out", ("aes3",))),
}
"""Kinds of work that cards do: their ports as direction and signals. All figures below are invented."""

GRADES = {"": (100, 100, 55), "hot": (75, 140, 50), "cool": (140, 65, 60)}
"""Price and heat in per cent of the plain card's, and the usual air limit in degrees Celsius."""

TRADED = (
    *((role, n, g) for n, g in ((8, ""), (8, "hot"), (8, "cool")) for role in ("mic", "line-in", "line-out")),
    ("aes", 8, "hot"),
    ("aes", 8, ""),
    *((role, n, g) for n, g in ((16, "hot"), (16, ""), (4, "")) for role in ("mic", "line-in", "line-out")),
)
"""Cards of `trade_off` in the order in which they are taken: the same work wide or narrow, hot and cheap or cool and
dear."""

SHAPES = ((4, 4), (3, 4), (2, 4, 2), (3, 3), (2, 2, 2), (5, 3))
"""How many settings each strap group has, `open` included."""


@dataclass(frozen=True)
class Midsize:
    """A scenario, its hardware, and what was squeezed, if anything."""

    scenario: Scenario
    hardware: Hardware
    squeezed: str | None


@dataclass(frozen=True)
class _Sketch:
    """Cards at their first slots, and the lines that have numbers: direction, signals, channels."""

    cards: dict[int, dict[str, Any]]
    lines: tuple[tuple[str, tuple[str, ...], int], ...]

    def counts(self) -> Counter[str]:
        return Counter(card["id"] for card in self.cards.values())


def _card(r: random.Random, role: str, channels: int, grade: str) -> dict[str, Any]:
    price, heat, limit = GRADES[grade]
    span = 2 if channels == 16 and r.random() < 0.35 else 1
    halves = span == 2 and r.random() < 0.6
    ports = []
    for direction, signals in ROLES[role]:
        for on_slot in (1, 2) if halves else (1,):
            count = channels // 2 if halves else channels
            ports.append(
                {
                    "direction": direction,
                    "signals": list(signals),
                    "channels": {"48": count, "96": count if r.random() < 0.6 else count // 2},
                    "grain": 2 if role == "aes" else 1,
                    "on_slot": on_slot,
                }
            )
    work = channels * len(ROLES[role])
    # Wide cards cost less for a channel, and warm less.
    return {
        "id": "-".join(x for x in (role, str(channels), grade) if x),
        "price": str(price * r.randint(40 + 7 * work, 60 + 9 * work) // 100 * 10),
        "heat_w": Decimal(heat * r.randint(25 + 7 * work, 45 + 8 * work) // 100) / 10,
        "air_limit_c": limit + r.choice((0, 0, 0, -5, 5)),
        "rails": {"+5": Decimal(r.randint(20, 30) + 4 * work) / 100, "+17": Decimal(r.randint(5, 12) + work) / 100},
        "span": span,
        "ports": ports,
    }


def _cards(r: random.Random, kinds: int) -> list[dict[str, Any]]:
    """So many different kinds; what they do between them is never all one thing."""
    every = [(role, n, grade) for role in ROLES for n in (4, 8, 16) for grade in GRADES]
    r.shuffle(every)
    every.sort(key=lambda k: k[1] == 4 and k[0] != "instrument")
    chosen = [next(k for k in every if k[0] == role) for role in ("mic", "line-in", "line-out", "aes")]
    chosen += [k for k in every if k not in chosen][: kinds - len(chosen)]
    return [_card(r, *kind) for kind in sorted(chosen)]


def _input_widths(r: random.Random) -> Any:
    cut = r.randint(2, 5)
    head, tail = r.choice(((16, 8), (16, 4), (8, 16), (12, 8), (8, 4), (4, 8)))
    return [{"slots": f"1-{cut}", "width": head}, {"slots": f"{cut + 1}-{SLOTS}", "width": tail}]


def _settings(r: random.Random, side: str, key: str, count: int) -> list[dict[str, Any]]:
    values: list[Any] = []
    while len(values) < count:
        if key == "first_slot":
            value: Any = r.randint(4, 10) if side == "outputs" else r.randint(2, 4)
        elif side == "outputs":
            value = r.choice((4, 12, 16))
        else:
            value = r.choice((16, 12, _input_widths(r), _input_widths(r)))
        if value not in values:
            values.append(value)
    return [{side: {key: value}} for value in values]


def _groups(r: random.Random, shape: Sequence[int]) -> list[dict[str, Any]]:
    things = [
        ("inputs", "widths"),
        ("outputs", "first_slot"),
        r.choice((("outputs", "widths"), ("inputs", "first_slot"))),
    ]
    groups: list[dict[str, Any]] = []
    for index, ((side, key), count) in enumerate(zip(things, shape, strict=False)):
        values = _settings(r, side, key, count - 1)
        if r.random() < 0.3:
            settings = [{"position": "0"}, *({"position": str(i), **v} for i, v in enumerate(values, start=1))]
            groups.append({"name": f"{side} {key}", "kind": "switch", "setting": settings})
            continue
        names = [f"W{index}{letter}" for letter in "abc"]
        closed = [names[:1], names[1:2], names[:2], names[2:], names][: count - 1]
        straps = [n for n in names if any(n in c for c in closed)]
        settings = [{"closed": c, **v} for c, v in zip(closed, values, strict=True)]
        groups.append({"name": f"{side} {key}", "kind": "links", "straps": straps, "setting": settings})
    if r.random() < 0.25:
        groups.append({"name": "clock", "kind": "switch", "setting": [{"position": p} for p in "12"], "wanted": "2"})
    return groups


def _board(r: random.Random, name: str, shape: Sequence[int]) -> dict[str, Any]:
    inputs, outputs = r.choice((40, 48, 56, 64)), r.choice((24, 32, 40, 48))
    board: dict[str, Any] = {
        "id": name,
        "price": str(10 * r.randint(40, 90)),
        "heat_w": r.randint(5, 12),
        "rails": {"+5": Decimal(r.randint(30, 90)) / 100},
        "limits": {
            "48": {"in": inputs + r.choice((0, 0, -3)), "out": outputs},
            "96": {"in": inputs * 3 // 4, "out": outputs * 3 // 4},
        },
        "at_limit": r.choice(("cut", "drop")),
        "inputs": {"first_slot": 1, "widths": 8},
        "outputs": {"first_slot": r.randint(5, 8), "widths": 8},
        "strap_group": _groups(r, shape),
    }
    if r.random() < 0.3 and len(shape) < 3:
        pair = board["strap_group"][:2]
        board["never_together"] = [{g["name"]: _last(g) for g in pair}]
    return board


def _last(group: dict[str, Any]) -> str:
    last = group["setting"][-1]
    return str(last["position"]) if "position" in last else "+".join(last["closed"])


def _seat(r: random.Random, numbering: Numbering, cards: list[dict[str, Any]], family: Family, empty: float) -> _Sketch:
    """Fill slots with cards that their blocks suit, now and then with one that strands channels."""
    seated: dict[int, dict[str, Any]] = {}
    lines: list[tuple[str, tuple[str, ...], int]] = []
    slot = 1
    while slot <= SLOTS:
        card = r.choice(cards)
        noun = Card.model_validate(card)
        if r.random() < empty or slot + noun.span - 1 > SLOTS:
            slot += 1
            continue
        found = {d: answers(noun, family, slot, d, b) for d, b in numbering.blocks.items()}
        numbered = sum(len(a.numbers) for a in found.values())
        # Of a card that works both ways one half may well have no numbers.
        most = numbered if len(noun.ports) > 1 or r.random() < 0.1 else 0
        if numbered and sum(a.stranded for a in found.values()) <= most:
            seated[slot] = card
            for direction, own in found.items():
                lines += [(direction, tuple(sorted(signals)), size) for _, size, signals in own.lines]
            slot += card["span"]
        elif r.random() < 0.05:
            slot += 1
    return _Sketch(seated, tuple(lines))


def _needs(r: random.Random, sketch: _Sketch, least: float) -> list[dict[str, Any]]:
    """What the sketch can carry, less a little; a line that takes several signals is counted with one of them."""
    carried: Counter[tuple[str, str]] = Counter()
    for (direction, signals), channels in _by_port(sketch).items():
        carried[direction, r.choice(signals)] += channels
    chosen = [key for key, _ in carried.most_common(5)]
    needs = []
    for direction, signal in sorted(chosen):
        channels = max(1, round(carried[direction, signal] * r.uniform(least, 1)))
        need = {"name": f"{signal} {direction}", "direction": direction, "signal": signal, "channels": channels}
        if channels > 4 and r.random() < 0.3:
            need |= {"channels": channels - 2, "spare": 2}
        needs.append(need)
    return needs


def _by_port(sketch: _Sketch) -> Counter[tuple[str, tuple[str, ...]]]:
    found: Counter[tuple[str, tuple[str, ...]]] = Counter()
    for direction, signals, size in sketch.lines:
        found[direction, signals] += size
    return found


def _air(r: random.Random, sketch: _Sketch, cool: float = 1) -> dict[str, Any]:
    """A fan or draught that suits the cards of the sketch, times a factor."""
    gap_w = float(sum(card["heat_w"] for card in sketch.cards.values())) / len(sketch.cards)
    if r.random() < 0.5:
        # About 1.2 W for each m3/h gives 3.6 K; a rise of 8 to 16 K in a gap between two such cards.
        flow = cool * gap_w * 3 * (SLOTS + 1) / r.uniform(8, 16)
        return {"path": "fan", "flow_m3_h": Decimal(round(flow)), "derate": Decimal("0.9")}
    area = max(8, round(cool * gap_w * r.uniform(2.6, 4.2)))
    return {
        "path": "draught",
        "gap_area_cm2": area,
        "opening_below_cm2": r.randint(area, 2 * area),
        "opening_above_cm2": r.randint(area, 2 * area),
        "stack_mm": r.randint(170, 230),
    }


def _amperes(r: random.Random, sketch: _Sketch, board: dict[str, Any], least: float, most: float) -> dict[str, Decimal]:
    """Rails that carry the sketch with the usual reserve, times something between two factors."""
    rails = {}
    for rail in ("+5", "+17"):
        load = sum((c["rails"][rail] for c in sketch.cards.values()), board["rails"].get(rail, Decimal(0)))
        rails[rail] = Decimal(round(float(load) / 0.8 * r.uniform(least, most), 2)).quantize(Decimal("0.01"))
    return rails


def _supplies(
    r: random.Random, cards: list[dict[str, Any]], sketch: _Sketch, scarce: bool
) -> tuple[dict[str, int], list[dict[str, Any]], int]:
    """Stock, offers, and what the sketch costs in whole money."""
    counts = sketch.counts()
    stock: dict[str, int] = {}
    offers: list[dict[str, Any]] = []
    cost = 0
    for card in cards:
        wanted = counts[card["id"]]
        owned = r.randint(0, wanted) if r.random() < 0.6 else r.choice((0, 0, 1))
        if owned:
            stock[card["id"]] = owned
        short = max(0, wanted - owned)
        cost += short * int(card["price"])
        if short or r.random() < 0.75:
            offer: dict[str, Any] = {"card": card["id"]}
            if r.random() < 0.2:
                offer["price"] = str(int(card["price"]) * r.randint(8, 12) // 10)
            if scarce or r.random() < 0.4:
                offer["at_most"] = max(0, short - 1) if scarce else max(1, short)
            offers.append(offer)
    return stock, offers, cost


def midsize(seed: int) -> Midsize:
    """The scenario of a seed, always the same."""
    r = random.Random(seed)
    squeezed = r.choice(SQUEEZES) if r.random() < 0.4 else None
    two_boards = r.random() < 0.15
    names = ["board-a", "board-b"] if two_boards else ["board-a"]
    boards = [_board(r, name, (2, 2, 2) if two_boards else r.choice(SHAPES)) for name in names]
    cards = _cards(r, r.randint(10, 20))
    rate = r.choice((48000, 48000, 44100, 96000))
    family: Family = "96" if rate == 96000 else "48"
    board = boards[0]
    numbering = _some_numbering(r, board, family)
    while True:
        sketch = _seat(r, numbering, cards, family, r.uniform(0.05, 0.3))
        needs = _needs(r, sketch, 0.7)
        if len(needs) >= 3 and {n["direction"] for n in needs} == {"in", "out"}:
            break
        numbering = _some_numbering(r, board, family)
    frame: dict[str, Any] = {"name": "A", "chassis": "chassis-a"}
    stock, offers, cost = _supplies(r, cards, sketch, squeezed == "supplies")
    if two_boards:
        stock["board-a"] = 1
        offers.append({"board": "board-b"})
    else:
        frame["board"] = "board-a"
    free = [s for s in range(1, SLOTS + 1) if s not in _covered(sketch)]
    frame["keep_empty"] = r.sample(free, min(len(free), r.choice((0, 0, 1, 2))))
    if squeezed == "slots":
        frame["keep_empty"] = r.sample(range(1, SLOTS + 1), r.randint(4, 6))
    elif r.random() < 0.3:
        slot = r.choice(sorted(sketch.cards))
        frame["pins"] = {str(slot): sketch.cards[slot]["id"]}
    if squeezed == "numbers":
        for limits in board["limits"].values():
            for direction in ("in", "out"):
                asked = sum(n["channels"] for n in needs if n["direction"] == direction)
                limits[direction] = min(limits[direction], round(asked * r.uniform(0.8, 1.1)))
    tight = (0.45, 0.75) if squeezed == "rails" else (0.95, 1.4)
    chassis = {
        "id": "chassis-a",
        "slot_count": SLOTS,
        "boards": names,
        "rails": _amperes(r, sketch, board, *tight),
        "supply": {"external": r.random() < 0.6, "loss_w": r.randint(0, 20)},
        "air": _air(r, sketch),
    }
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Midsize",
        "hardware": ["midsize.toml"],
        "currency": "GBP",
        "sample_rate": rate,
        "stock": stock,
        "offer": offers,
        "frame": [frame],
        "need": needs,
        "limits": {
            "rail_reserve": "20 %",
            "refuse_below_k": r.choice((3, 5, 5)),
            "enough_k": r.choice((15, 18)),
            "step_k": r.choice((1, 2, 3)),
        },
        "air": {"inlet_c": r.randint(24, 30) + (9 if squeezed == "heat" else 0), "altitude_m": r.choice((0, 0, 900))},
    }
    if squeezed == "budget":
        scenario["budget"] = str(round(cost * r.uniform(0.2, 0.7)))
    elif r.random() < 0.8:
        scenario["budget"] = str(round(cost * r.uniform(0.95, 1.5)))
    if r.random() < 0.15:
        scenario["must_seat"] = [{"card": r.choice(sorted(sketch.counts()))}]
    return Midsize(_scenario(scenario), _hardware(cards, boards, chassis), squeezed)


def trade_off(seed: int, kinds: int = 20, shape: Sequence[int] = (4, 4)) -> Midsize:
    """A scenario for measuring the front: everything on offer, nothing owned, money, channels and heat at odds.

    `shape` has the settings of each strap group: (4, 4) gives 16 combinations and (4, 3) gives 12, or one fewer
    where two exclude each other; some may number alike. Fronts vary; that of seed 3 with (4, 3) has 10 points.
    """
    r = random.Random(f"trade-off {seed}")
    board = _board(r, "board-a", shape)
    cards = [_card(r, *kind) for kind in TRADED[:kinds]]
    while True:
        numbering = _some_numbering(r, board, "48")
        sketch = _seat(r, numbering, cards, "48", 0.1)
        needs = _needs(r, sketch, 0.7)
        if len(needs) >= 3 and {n["direction"] for n in needs} == {"in", "out"}:
            break
    chassis = {
        "id": "chassis-a",
        "slot_count": SLOTS,
        "boards": ["board-a"],
        "rails": _amperes(r, sketch, board, 1.2, 1.6),
        "supply": {"external": True},
        "air": _air(r, sketch, 0.7),
    }
    scenario: dict[str, Any] = {
        "format": 1,
        "title": "Trade-off",
        "hardware": ["midsize.toml"],
        "currency": "GBP",
        "offer": [{"card": card["id"]} for card in cards],
        "frame": [{"name": "A", "chassis": "chassis-a", "board": "board-a"}],
        "need": needs,
        "limits": {"refuse_below_k": 5, "enough_k": 15, "step_k": 3},
        "air": {"inlet_c": r.randint(21, 24)},
    }
    return Midsize(_scenario(scenario), _hardware(cards, [board], chassis), None)


def _some_numbering(r: random.Random, board: dict[str, Any], family: Family) -> Numbering:
    return r.choice([n for n in numberings(Board.model_validate(board), SLOTS, family, {}) if n.legal])


def _covered(sketch: _Sketch) -> set[int]:
    return {s for slot, card in sketch.cards.items() for s in range(slot, slot + card["span"])}


def _scenario(scenario: dict[str, Any]) -> Scenario:
    return Scenario.model_validate(scenario)


def _hardware(cards: list[dict[str, Any]], boards: list[dict[str, Any]], chassis: dict[str, Any]) -> Hardware:
    return Hardware.model_validate({"format": 1, "card": cards, "board": boards, "chassis": [chassis]})
