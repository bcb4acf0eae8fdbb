"""Tiny scenarios by seed, as the files that a user would write; and builds of them, drawn and changed at random."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

from solver.files.reading import Loaded, load_scenario
from solver.room.build import Build, BuiltFrame, Service
from solver.room.words import write_ranges

Raw = dict[str, Any]
SIGNALS = ("line", "mic", "aes3")


def toml(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(v) for v in value) + "]"
    return json.dumps(value)


def text(raw: Raw) -> str:
    return "".join(f"{key} = {toml(value)}\n" for key, value in raw.items())


def write(folder: Path, hardware: Raw, scenario: Raw) -> Path:
    (folder / "hardware.toml").write_text(text(hardware), encoding="utf-8")
    path = folder / "scenario.toml"
    path.write_text(text(scenario), encoding="utf-8")
    return path


def load(folder: Path, seed: int) -> Loaded:
    return load_scenario(write(folder, *scenario(Random(seed))))


def price(random: Random) -> str:
    return f"{random.choice((60, 100, 150, 200, 250, 300, 450))}.{random.choice(('00', '50'))}"


def scenario(random: Random) -> tuple[Raw, Raw]:
    many = random.choice((1, 1, 1, 1, 1, 2, 2, 2, 2, 3))
    two = many > 1
    slots = 2 if many == 3 else random.randint(2, 3) if two else random.randint(2, 4)
    family, rate = random.choice((("48", 48000), ("48", 44100), ("96", 96000), ("192", 192000)))
    rails = random.sample(["+17", "-17", "+5"], random.randint(0, 2))
    cards = [_card(random, n, family, rails, slots) for n in range(random.randint(2, max(2, 5 - many)))]
    ids = [card["id"] for card in cards]
    boards = [_board(random, n, family, rails, slots) for n in range(random.randint(1, 2))]
    several = [
        chassis
        for n in range(random.randint(1, 2 if two else 1))
        if (chassis := _chassis(random, n, rails, slots, ids))
    ]
    for chassis in several:
        chassis["boards"] = [b["id"] for b in boards] if random.random() < 0.7 else [boards[0]["id"]]
    _leave_out(random, cards, several)
    hardware = {"format": 1, "card": cards, "board": boards, "chassis": several}

    signals = sorted({(p["direction"], s) for c in cards for p in c["ports"] for s in p["signals"]})
    needs = []
    for n, (way, signal) in enumerate(random.choices(signals, k=random.choice((1, 1, 2, 2, 3)))):
        need = {"name": f"need {n}", "direction": way, "signal": signal, "channels": random.choice((1, 1, 2, 2, 3, 4))}
        if random.random() < 0.25:
            need["spare"] = random.randint(1, 2)
        if random.random() < 0.3:
            need["importance"] = "nice"
        needs.append(need)
    frames = [_frame(random, name, several, boards, ids) for name in "ABC"[:many]]
    parts = ["stranded", "holes", "idle"] if random.random() < 0.25 else ["unused"]
    rank = ["cost", *parts, "cooling"]
    random.shuffle(rank)
    rank = rank[: random.choice((2, 3, 3, 5, 5))]
    asked: Raw = {
        "format": 1,
        "title": "Gannet Quay, tiny",
        "hardware": ["hardware.toml"],
        "currency": "GBP",
        "sample_rate": rate,
        "rank": rank,
        "frame": frames,
        "need": needs,
        "stock": {i: random.randint(1, 3) for i in ids if random.random() < 0.5},
        "offer": [],
        "limits": {
            "rail_reserve": random.choice(("0 %", "20 %", "33 %")),
            "refuse_below_k": random.choice((0, 0, 5, 8)),
            "warn_below_k": 10,
            "enough_k": random.choice((10, 20, 40, 60)),
            "step_k": random.choice((1, 2, 3)),
        },
        "air": {"inlet_c": random.choice((20, 22.5, 30)), "altitude_m": random.choice((0, 500))},
    }
    for kind, things in (("card", cards), ("board", boards), ("chassis", several)):
        for thing in things:
            for _ in range(random.choice((0, 1, 1, 1, 1, 1, 2)) if kind == "card" else random.choice((0, 1, 1, 1))):
                offer: Raw = {kind: thing["id"], "price": price(random)}
                if random.random() < 0.5:
                    offer["at_most"] = random.randint(1, 2)
                asked["offer"].append(offer)
            if kind != "card" and random.random() < 0.7:
                asked["stock"][thing["id"]] = 1
    if random.random() < 0.25:
        asked["budget"] = f"{random.choice((300, 450, 600, 900, 1500))}.00"
    if random.random() < 0.2:
        seated = random.sample(ids, random.choice((1, 1, 2)))
        asked["must_seat"] = [{"card": i, "count": random.choice((1, 1, 2))} for i in seated]
    if random.random() < 0.5:
        slack = {"cost": random.choice(("10 %", "50 %", "100 %")), "cooling": random.randint(1, 6)}
        asked["slack"] = {one: slack.get(one, random.randint(1, 4)) for one in rank[: random.choice((1, 1, 2))]}
    if random.random() < 0.4:
        line: Raw = {"frames": [f["name"] for f in random.sample(frames, random.randint(1, len(frames)))]}
        if random.random() < 0.3:
            line["terminator"] = True
        asked["clock_line"] = [line]
        left = [f["name"] for f in frames if f["name"] not in line["frames"]]
        if left and random.random() < 0.5:
            asked["clock_line"].append({"frames": left})
    if random.random() < 0.5:
        _company(random, cards, asked)
    return hardware, asked


def _company(random: Random, cards: list[Raw], asked: Raw) -> None:
    """Cards that need others or exclude them, at times one without a port that nothing but a need brings in."""
    own = list(cards)
    if random.random() < 0.5:
        feed: Raw = {"id": "feed", "price": price(random), "heat_w": random.choice((1, 3)), "air_limit_c": 55}
        cards.append(feed | {"rails": {}, "span": random.choice((1, 1, 1, 2))})
        asked["stock"]["feed"] = random.choice((0, 1, 1, 2))
        asked["offer"] += [{"card": "feed", "price": price(random)}] if random.random() < 0.7 else []
    for _ in range(random.choice((1, 2, 3))):
        card, within = random.choice(own), random.choice(("frame", "next"))
        needs = random.random() < (0.8 if cards[-1]["id"] == "feed" else 0.4)
        other = cards[-1] if needs and random.random() < 0.6 else random.choice(cards)
        entry: Raw = {"card": other["id"], "within": within}
        if any(entry.items() <= before.items() for key in ("needs", "excludes") for before in card.get(key, ())):
            continue
        if not needs:
            card.setdefault("excludes", []).append(entry)
        elif other is not card:
            card.setdefault("needs", []).append(entry | {"per": random.choice((1, 1, 2, 3))})


def _leave_out(random: Random, cards: list[Raw], several: list[Raw]) -> None:
    """Figures that are not known."""
    if random.random() < 0.08:
        del random.choice(cards)[random.choice(("heat_w", "air_limit_c", "rails"))]
    if random.random() < 0.04:
        del random.choice(several)[random.choice(("air", "rails"))]


def _card(random: Random, n: int, family: str, rails: list[str], slots: int) -> Raw:
    span = 2 if random.random() < 0.15 else 1
    ports = []
    for _ in range(random.choice((1, 1, 2))):
        grain = random.choice((1, 1, 1, 2))
        count = grain * random.randint(1, 4 // grain)
        if grain == 1 and random.random() < 0.06:
            count = 5
        channels = {family: count}
        if random.random() < 0.06:
            channels = {"48" if family != "48" else "96": count}
        port: Raw = {
            "direction": random.choice(("in", "out")),
            "signals": random.sample(SIGNALS, random.choice((1, 2, 2))),
            "channels": channels,
            "grain": grain,
        }
        if span > 1 and random.random() < 0.5:
            port["on_slot"] = 2
        ports.append(port)
    return {
        "id": f"card-{n}",
        "price": price(random),
        "heat_w": random.choice((2, 4, 7.5, 12.3)),
        "rails": {rail: random.choice((0.1, 0.25, 0.305, 0.4, 0.2004)) for rail in rails if random.random() < 0.8},
        "air_limit_c": random.choice((45, 50, 55)),
        "span": span,
        "ports": ports,
    }


def _blocks(random: Random, slots: int) -> Raw:
    return {"first_slot": random.choice((1, 1, 2)), "widths": _widths(random, slots)}


def _widths(random: Random, slots: int) -> Any:
    if random.random() < 0.6:
        return random.randint(2, 5)
    return [
        {"slots": str(slot) if slot < slots else f"{slot}-12", "width": random.randint(0, 5)}
        for slot in range(1, slots + 1)
        if random.random() < 0.85
    ] or 3


def _board(random: Random, n: int, family: str, rails: list[str], slots: int) -> Raw:
    board: Raw = {
        "id": f"board-{n}",
        "price": price(random),
        "heat_w": random.choice((2, 5.5, 9)),
        "rails": {rail: random.choice((0.05, 0.2)) for rail in rails if random.random() < 0.5},
        "limits": {
            family if random.random() < 0.97 else "48": {"in": random.randint(4, 14), "out": random.randint(4, 14)}
        },
        "at_limit": random.choice(("cut", "drop")),
        "inputs": _blocks(random, slots),
        "outputs": _blocks(random, slots),
    }
    groups = []
    free = [(way, key) for way in ("inputs", "outputs") for key in ("first_slot", "widths")]
    random.shuffle(free)
    for g in range(random.choice((0, 0, 1, 1, 2))):
        groups.append(_group(random, f"loud {g}", [free.pop() for _ in range(random.randint(1, 2))], slots))
    for g in range(random.choice((0, 1, 1, 2))):
        groups.append(_group(random, f"quiet {g}", [], slots))
    random.shuffle(groups)
    board["strap_group"] = groups
    names = {g["name"]: _names(g) for g in groups}
    if len(groups) > 1:
        board["never_together"] = [
            {g: random.choice(names[g]) for g in random.sample(sorted(names), random.randint(2, min(3, len(names))))}
            for _ in range(random.choice((0, 1, 2, 3)))
        ]
    if random.random() < 0.15:
        board["reserved"] = [random.randint(1, slots)]
    quiet = [g for g in groups if g["name"].startswith("quiet")]
    how = random.choice((None, "fixed", "none", "switched", "switched"))
    if how == "switched" and quiet:
        group = random.choice(quiet)
        name = random.choice([n for n in _names(group) if n != "open"] or ["open"])
        if name != "open":
            board["clock_input"] = {"termination": how, "strap_group": group["name"], "setting": name}
    elif how in ("fixed", "none"):
        board["clock_input"] = {"termination": how}
    return board


def _names(group: Raw) -> list[str]:
    names = [s.get("position") or "+".join(s["closed"]) or "open" for s in group["setting"]]
    return names if group["kind"] == "switch" or not group["open_is_legal"] else ["open", *names]


def _group(random: Random, name: str, changes: list[tuple[str, str]], slots: int) -> Raw:
    kind = random.choice(("links", "switch"))
    straps = [f"{name[0].upper()}{name[-1]}{n}" for n in "ab"]
    sets = random.sample([[straps[0]], [straps[1]], straps], random.randint(1, 3))
    settings: list[Raw] = [{"closed": s} for s in sets]
    if kind == "switch":
        settings = [{"position": str(p)} for p in random.sample(range(1, 4), random.randint(2, 3))]
    for setting in settings:
        for way, key in changes:
            if random.random() < 0.8:
                value = random.randint(1, slots) if key == "first_slot" else _widths(random, slots)
                setting.setdefault(way, {})[key] = value
    if changes and not any(set(s) & {"inputs", "outputs"} for s in settings):
        settings[0]["inputs" if changes[0][0] == "inputs" else "outputs"] = {changes[0][1]: 2}
    group: Raw = {"name": name, "kind": kind, "setting": settings}
    group["straps"] = straps if kind == "links" else []
    group["open_is_legal"] = kind == "switch" or random.random() < 0.7
    if random.random() < 0.5 and not changes:
        group["wanted"] = random.choice(_names(group))
    return group


def _chassis(random: Random, n: int, rails: list[str], slots: int, ids: list[str]) -> Raw:
    air: Raw = {"path": "fan", "flow_m3_h": random.choice((12, 20, 30)), "derate": 0.8}
    if random.random() < 0.5:
        air = {
            "path": "draught",
            "gap_area_cm2": random.choice((30, 60)),
            "opening_below_cm2": 60,
            "opening_above_cm2": 60,
            "stack_mm": random.choice((190, 400)),
        }
        if random.random() < 0.4:
            air["card_mm"] = 150
    chassis: Raw = {
        "id": f"chassis-{n}",
        "price": price(random),
        "slot_count": slots,
        "boards": [],
        "rails": {rail: random.choice((0.8, 1.4, 2.0)) for rail in rails if random.random() < 0.95},
        "supply": {
            "external": random.random() < 0.5,
            "count": random.randint(1, 2),
            "loss_w": random.choice((0, 4, 9.5)),
        },
        "air": air,
    }
    if random.random() < 0.3:
        chassis["refuses"] = [{"slots": str(random.randint(1, slots)), "cards": [random.choice(ids)]}]
    return chassis


def _frame(random: Random, name: str, several: list[Raw], boards: list[Raw], ids: list[str]) -> Raw:
    chassis = random.choice(several)
    frame: Raw = {"name": name, "chassis": chassis["id"], "owned": random.random() < 0.65}
    own = [b for b in boards if b["id"] in chassis["boards"]]
    if random.random() < 0.6:
        board = random.choice(own)
        frame["board"] = board["id"]
        if random.random() < 0.35 and board["strap_group"]:
            group = random.choice(board["strap_group"])
            frame["straps"] = {group["name"]: random.choice(_names(group))}
    if random.random() < 0.15:
        frame["pins"] = {str(random.randint(1, chassis["slot_count"] - 1)): random.choice(ids)}
    if random.random() < 0.15:
        frame["keep_empty"] = [random.randint(1, chassis["slot_count"])]
    if random.random() < 0.2:
        frame["inlet_rise_k"] = random.choice((2, 3.5))
    if random.random() < 0.1:
        frame["measured"] = {"gap_w": 8, "rise_k": random.choice((6, 9, 12.5))}
    if random.random() < 0.2:
        frame["vents"] = {"below_cm2": 200, "above_cm2": random.choice((150, 300))}
    return frame


def draw(random: Random, loaded: Loaded) -> Build:
    """A build as somebody might draw it who has read half of the rules."""
    boards = {b.id: b for b in loaded.hardware.board}
    chassis = {c.id: c for c in loaded.hardware.chassis}
    frames = []
    for frame in loaded.scenario.frame:
        if random.random() < 0.1:
            continue
        fit = chassis[frame.chassis].boards
        board = boards[frame.board if frame.board and random.random() < 0.95 else random.choice(fit)]
        if random.random() < 0.03:
            board = boards[random.choice(sorted(boards))]
        straps = {g.name: random.choice([s.name for s in g.settings()]) for g in board.strap_group}
        straps |= {g: s for g, s in frame.straps.items() if g in straps and random.random() < 0.9}
        straps = {g: s for g, s in straps.items() if random.random() < 0.85}
        cards: dict[str, str] = {}
        slot = 1
        while slot <= chassis[frame.chassis].slot_count:
            card = random.choice(loaded.hardware.card)
            pinned = frame.pins.get(str(slot))
            if pinned or random.random() < 0.6:
                cards[str(slot)] = pinned or card.id
                slot += card.span - 1 if random.random() < 0.9 else 0
            slot += 1
        frames.append(BuiltFrame(name=frame.name, board=board.id, straps=straps, cards=cards))
    return Build(frame=tuple(frames))


def changed(random: Random, loaded: Loaded, build: Build) -> Build:
    """A build with one thing changed: a card, a strap, a service, a board."""
    frames = list(build.frame)
    if not any(frame.cards for frame in frames):
        return draw(random, loaded)
    n = random.choice([n for n, frame in enumerate(frames) if frame.cards])
    frame = frames[n]
    slots = {c.id: c.slot_count for c in loaded.hardware.chassis}[
        next(f.chassis for f in loaded.scenario.frame if f.name == frame.name)
    ]
    board = next(b for b in loaded.hardware.board if b.id == frame.board)
    cards, straps, serves = dict(frame.cards), dict(frame.straps), list(frame.serves or ())
    kind = random.choice(
        ("add", "take", "move", "other", "strap", "strap", "no strap", "serve", "serve", "serve", "board")
    )
    any_slot = str(random.randint(1, slots + (random.random() < 0.1)))
    if kind == "add":
        cards[any_slot] = random.choice(loaded.hardware.card).id
    elif kind == "take":
        gone = random.choice(sorted(cards))
        del cards[gone]
        if random.random() < 0.8:
            serves = [s for s in serves if s.slot != int(gone)]
    elif kind == "move":
        card = cards.pop(random.choice(sorted(cards)))
        cards[any_slot] = card
    elif kind == "other":
        cards[random.choice(sorted(cards))] = random.choice(loaded.hardware.card).id
    elif kind == "strap" and board.strap_group:
        group = random.choice(board.strap_group)
        straps[group.name] = random.choice([s.name for s in group.settings()])
    elif kind == "no strap" and straps:
        del straps[random.choice(sorted(straps))]
    elif kind == "board":
        other = random.choice(loaded.hardware.board)
        straps = {g.name: random.choice([s.name for s in g.settings()]) for g in other.strap_group}
        frame = frame.model_copy(update={"board": other.id})
    elif kind == "serve" and loaded.scenario.need and frame.serves is not None:
        _change_service(random, loaded, serves, sorted(cards))
    keep = frame.serves is not None and (random.random() < 0.6 or kind == "serve")
    frames[n] = BuiltFrame(
        name=frame.name, board=frame.board, straps=straps, cards=cards, serves=tuple(serves) if keep else None
    )
    if (not keep or kind == "serve") and random.random() < 0.5:
        frames = [f.model_copy(update={"serves": None}) if m != n or not keep else f for m, f in enumerate(frames)]
    return Build(frame=tuple(frames))


def _change_service(random: Random, loaded: Loaded, serves: list[Service], slots: list[str]) -> None:
    needs = [need.name for need in loaded.scenario.need]
    how = random.choice(("less", "more", "need", "slot", "new", "gone"))
    if how == "new" or not serves:
        first = random.randint(1, 4)
        run = write_ranges(list(range(first, first + random.randint(1, 2))))
        serves.append(Service(need=random.choice(needs), slot=int(random.choice(slots)), channels=run))
        return
    n = random.randrange(len(serves))
    one = serves[n]
    channels = list(one.indices())
    if how == "gone":
        del serves[n]
    elif how == "less" and len(channels) > 1:
        channels.remove(random.choice(channels))
        serves[n] = one.model_copy(update={"channels": write_ranges(channels)})
    elif how == "more":
        serves[n] = one.model_copy(update={"channels": write_ranges([*channels, max(channels) + 1])})
    elif how == "need":
        serves[n] = one.model_copy(update={"need": random.choice([*needs, *needs, "none such"])})
    elif how == "slot":
        serves[n] = one.model_copy(update={"slot": int(random.choice(slots))})
