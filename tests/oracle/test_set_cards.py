"""Needs that ask for settings of cards: plans against trying all, where each card in each setting is a card of its own.

A card that can be set in several ways is written as so many cards without settings, bought for the same price, whose
channels take names of what they can serve as they are set; needs ask for these names. What such a scenario comes to by
trying everything is what the search has to find, and each channel of its build is read again as it is set there.
"""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import product
from typing import Any

import brute_force
import generate
from amounts import some_or_all

from solver.fitted.standing import stand
from solver.judge import audit, criteria
from solver.room.build import Build
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.words import parse_ranges
from solver.search.ask.ranking import rank

LEVELS = ["+18 dBu", "+24 dBu"]
Document = dict[str, Any]
Unit = tuple[str, int]
"""A setting and the place of what is set together: of the card, the bank or the channel."""


def _card(s: generate.Source, name: str) -> Document:
    """A card of at most two slots, with what can be set on it in eight ways at most beside single channels."""
    grain, span = s.choice((1, 1, 2)), s.choice((1, 1, 1, 2))
    ports = []
    for slot in range(1, span + 1):
        for _ in range(s.choice((1, 1, 2)) if span == 1 else 1):
            signals = s.choice((["mic"], ["line"], ["mic", "line"], ["mic", "line"]))
            port = {"direction": "in", "signals": signals, "grain": grain, "on_slot": slot}
            port["channels"] = {"48": grain * s.integer(1, 4 // grain if span == 1 else 2)}
            if s.integer(0, 3):
                port["phantom_ma_per_channel"] = 10
            ports.append(port)
    settings: list[Document] = []
    if any("phantom_ma_per_channel" in port for port in ports) and s.integer(0, 4):
        settings.append({"name": "phantom", "direction": "in", **_per(s), **s.choice(({}, {"default": "on"}))})
    if s.integer(0, 5):
        choices = s.choice((LEVELS, LEVELS, LEVELS, LEVELS[:1]))
        settings.append({"name": "level", "direction": "in", **_per(s), "choices": choices})
    card = {"id": name, "price": str(10 * s.integer(2, 9)), "span": span, "ports": ports, "setting": settings}
    return card if len(list(_ways(card))) <= 8 else {**card, "setting": settings[:1]}


def _per(s: generate.Source) -> Document:
    per = s.choice(("card", "bank", "bank", "channel"))
    return {"per": per, "bank": s.choice((2, 4))} if per == "bank" else {"per": per}


def _documents(seed: int) -> tuple[Document, Document]:
    s = generate.Seeded(seed)
    cards = [_card(s, name) for name in ("card-a", "card-b")[: s.integer(1, 2)]]
    board: Document = {
        "id": "board-a",
        "limits": {"48": {"in": s.integer(6, 12), "out": 4}},
        "at_limit": s.choice(("cut", "drop")),
        "inputs": {"first_slot": 1, "widths": s.integer(3, 6)},
        "outputs": {"first_slot": 1, "widths": 0},
    }
    if s.integer(0, 2) == 0:
        group = {"name": "W", "kind": "links", "straps": ["W1"]}
        board["strap_group"] = [{**group, "setting": [{"closed": ["W1"], "inputs": {"widths": s.integer(1, 6)}}]}]
    frames = [{"name": n, "chassis": "crate", "board": "board-a"} for n in ("A", "B")[: s.choice((1, 1, 1, 2))]]
    needs = []
    for index in range(s.integer(1, 4)):
        signal = s.choice(("mic", "mic", "line"))
        need = {"name": f"need {index}", "direction": "in", "signal": signal, "channels": s.integer(1, 2)}
        if s.integer(0, 2):
            need["phantom"] = s.choice(("wanted", "forbidden", "any"))
        if s.integer(0, 1) == 0:
            need["settings"] = {"level": s.choice(LEVELS)}
        kind = s.integer(0, 9)
        if kind == 0:
            need["consecutive"] = True
        elif kind == 1:
            need["pairs"] = True
        needs.append(need)
    scenario = {
        "format": 1,
        "title": "Settings",
        "hardware": ["settings.toml"],
        "currency": "GBP",
        "offer": [{"card": card["id"]} for card in cards],
        "frame": frames,
        "need": needs,
        "rank": [s.choice(("cost", "unused", "holes")), s.choice(("idle", "stranded"))],
    }
    chassis = {"id": "crate", "slot_count": 2, "boards": ["board-a"]}
    return scenario, {"format": 1, "card": cards, "board": [board], "chassis": [chassis]}


# Another reading of what is set


def _channels(card: Document) -> Iterator[tuple[int, int, Document]]:
    """Slot of the card, place along it from 1 and port of each channel."""
    places: Counter[int] = Counter()
    for port in card["ports"]:
        for _ in range(port["channels"]["48"]):
            places[port["on_slot"]] += 1
            yield port["on_slot"], places[port["on_slot"]], port


def _unit(setting: Document, slot: int, place: int) -> int:
    """Which of the things that are set together a channel is part of."""
    if setting["per"] == "card":
        return 0
    return 100 * slot + ((place - 1) // setting["bank"] if setting["per"] == "bank" else place)


def _choices(setting: Document) -> list[str]:
    return list(setting.get("choices", ["off", "on"]))


def _ways(card: Document) -> Iterator[dict[Unit, str]]:
    """Every way to set what several channels share."""
    units = {
        (setting["name"], _unit(setting, slot, place)): _choices(setting)
        for setting in card["setting"]
        if setting["per"] != "channel"
        for slot, place, port in _channels(card)
        if setting["name"] != "phantom" or "phantom_ma_per_channel" in port
    }
    for chosen in product(*units.values()):
        yield dict(zip(units, chosen, strict=True))


def _asked(need: Mapping[str, Any]) -> dict[str, str]:
    """What a need asks of settings: phantom power is kept from lines unless the need says otherwise."""
    phantom = need.get("phantom") or ("forbidden" if need["signal"] == "line" else "any")
    found = dict(need.get("settings", {}))
    if phantom != "any":
        found["phantom"] = "on" if phantom == "wanted" else "off"
    return found


def _name(need: Mapping[str, Any]) -> str:
    """A signal for what a need asks of its lines."""
    levels = {None: "", LEVELS[0]: "-low", LEVELS[1]: "-high"}
    asked = _asked(need)
    return f"{need['signal']}{levels[asked.get('level')]}-{asked.get('phantom', 'any')}"


def _can_be(card: Document, way: Mapping[Unit, str], slot: int, place: int, port: Document, name: str) -> set[str]:
    """What a channel is at, or may be set to by itself."""
    if name == "phantom" and "phantom_ma_per_channel" not in port:
        return {"off"}
    for setting in card["setting"]:
        if setting["name"] == name:
            own = way.get((name, _unit(setting, slot, place)))
            return set(_choices(setting)) if own is None else {own}
    return {"off", "on"} if name == "phantom" else set()


def _as_plain_cards(scenario: Document, hardware: Document) -> tuple[Scenario, Hardware]:
    """The same without settings."""
    plain, names = copy.deepcopy(scenario), {}
    for need in plain["need"]:
        names[_name(need)] = need["signal"], _asked(need)
        need["signal"] = _name(need)
        need.pop("settings", None)
        need.pop("phantom", None)
    cards = []
    for card in hardware["card"]:
        for number, way in enumerate(_ways(card)):
            ports = []
            for slot, place, port in _channels(card):
                if (place - 1) % port["grain"]:
                    continue
                line = [(slot, place + n) for n in range(port["grain"])]
                takes = [
                    name
                    for name, (signal, asked) in names.items()
                    if signal in port["signals"]
                    and all(c in _can_be(card, way, *at, port, s) for s, c in asked.items() for at in line)
                ]
                own = {"direction": "in", "signals": takes or ["nothing"], "grain": port["grain"], "on_slot": slot}
                ports.append({**own, "channels": {"48": port["grain"]}})
            cards.append({"id": f"{card['id']}-{number}", "price": card["price"], "span": card["span"], "ports": ports})
    plain["offer"] = [{"card": card["id"]} for card in cards]
    return Scenario.model_validate(plain), Hardware.model_validate({**hardware, "card": cards})


def _is_set(card: Document, sets: Mapping[tuple[int, int, str], str], slot: int, place: int, name: str) -> str | None:
    """What a channel of a card in a build is at."""
    port = next(own for at, n, own in _channels(card) if (at, n) == (slot, place))
    if name == "phantom" and "phantom_ma_per_channel" not in port:
        return "off"
    for setting in card["setting"]:
        if setting["name"] == name:
            usual = setting.get("default", _choices(setting)[0])
            units = [u for u in sets if u[2] == name and _unit(setting, u[0], u[1]) == _unit(setting, slot, place)]
            return sets[units[0]] if units else usual
    return sets.get((slot, place, name), "off") if name == "phantom" else None


def _read_again(scenario: Document, hardware: Document, build: Build) -> None:
    """Each channel that serves a need is at what it asks for, by the build file alone."""
    cards = {card["id"]: card for card in hardware["card"]}
    needs = {need["name"]: need for need in scenario["need"]}
    for frame in build.frame:
        for service in frame.serves or ():
            first, card = max((slot, cards[name]) for slot, name in frame.seats() if slot <= service.slot)
            sets = {}
            for entry in frame.settings:
                if first <= entry.slot < first + card["span"]:
                    at = entry.slot - first + 1
                    every = [n for slot, n, _ in _channels(card) if slot == at]
                    for n in every if entry.channels is None else parse_ranges(entry.channels):
                        sets[at, n, entry.setting] = entry.to
            for n in parse_ranges(service.channels):
                for name, choice in _asked(needs[service.need]).items():
                    assert _is_set(card, sets, service.slot - first + 1, n, name) == choice, (service, name)


@some_or_all("seeds", range(120), range(5000))
def test_plans_are_those_of_every_way_to_set_the_cards(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = _documents(seed)
        survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))
        seen["several ways"] += survey.switched
        best = brute_force.best(*_as_plain_cards(scenario, hardware))
        found = rank(survey, 1)
        if best is None:
            assert found.outcome == "impossible", seed
            seen["impossible"] += 1
            continue
        assert found.outcome == "found", seed
        build = found.builds[0]
        assert build.proven
        figures = [criteria.value(survey, build.figures, criterion) for criterion in survey.rank]
        assert figures == [best.bad(criterion) for criterion in survey.rank], seed
        _read_again(scenario, hardware, build.build)
        assert not audit.faults(survey, stand(survey, build.build)), seed
        seen["found"] += 1
        seen["set"] += any(frame.settings for frame in build.build.frame)
    assert min(seen["several ways"], seen["found"], seen["set"]) >= len(seeds) // 5, seen
    assert seen["impossible"] >= len(seeds) // 20, seen
