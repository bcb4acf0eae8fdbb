"""Needs whose lines are to be alike, and sources without a clock, against trying all with cards and signals renamed.

Each way to be alike is a scenario of its own, in which every card at every full-scale level is a card of its own and
signals are called by what a line has of it: `mic-5-any` is a line of a card of 5 samples, or of one that does not say.
The best of these by trying everything is what the search has to find, and its build is read again channel by channel.
"""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterator
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
from solver.rules.rate_conversion import OnTheClock
from solver.rules.same_latency import SeveralLatencies
from solver.search.ask.clash import clash
from solver.search.ask.ranking import rank

LEVELS = ["+18 dBu", "+24 dBu"]
LATENCIES = [5, 9]
Document = dict[str, Any]


def _card(s: generate.Source, name: str, signals: tuple[str, ...]) -> Document:
    """A card with inputs, or with outputs, or with both, some at a full-scale level that can be set."""
    ports, settings = [], []
    both = (("in",), ("in",), ("in", "out"), ("in", "out"), ("out",))
    for direction in s.choice(both if "line" in signals else (("in",),)):
        grain = s.choice((1, 1, 1, 2))
        port = {"direction": direction, "signals": list(signals) if direction == "in" else ["line"], "grain": grain}
        if direction == "in" and s.integer(0, 3):
            port["rate_conversion"] = True
        ports.append({**port, "channels": {"48": grain * s.integer(1, 4 // grain)}})
        if s.integer(0, 2):
            choices = s.choice((LEVELS, LEVELS, LEVELS[:1], LEVELS[1:]))
            settings.append({"name": "full_scale_level", "direction": direction, "per": "card", "choices": choices})
    card = {"id": name, "price": str(10 * s.integer(2, 9)), "ports": ports, "setting": settings}
    latency = s.choice((None, *LATENCIES, *LATENCIES, *LATENCIES))
    return card if latency is None else {**card, "latency_samples": {"48": latency}}


def _offer(s: generate.Source, card: Document) -> Document:
    """One of a card, or any number; any where it can be set, since at each level it will be a card of its own."""
    several = any(len(setting["choices"]) > 1 for setting in card["setting"])
    return {"card": card["id"], **({} if several else s.choice(({}, {"at_most": 1})))}


def _documents(seed: int) -> tuple[Document, Document]:
    s = generate.Seeded(seed)
    ids = ("card-a", "card-b", "card-c")
    cards = [_card(s, name, s.choice((("line",), ("mic", "line")))) for name in ids]
    board: Document = {
        "id": "board-a",
        "limits": {"48": {"in": s.integer(8, 12), "out": 8}},
        "inputs": {"first_slot": 1, "widths": 4},
        "outputs": {"first_slot": s.integer(1, 2), "widths": 4},
    }
    frames = [{"name": n, "chassis": "crate", "board": "board-a"} for n in ("A", "B")[: s.choice((1, 1, 1, 2))]]
    needs: list[Document] = []
    for index in range(s.integer(1, 2)):
        signal = s.choice(("mic", "line", "line", "line"))
        channels = s.integer(3, 6) if index == 0 else s.integer(1, 2)
        need: Document = {"name": f"need {index}", "direction": "in", "signal": signal, "channels": channels}
        need |= s.choice(({"same_latency": True}, {"same_latency": True}, {}, {"asynchronous": True}, {"pairs": True}))
        if s.integer(0, 6) == 0:
            need["consecutive"] = True
        if need.get("pairs") and s.integer(0, 3) == 0:
            need["same_latency"] = False
        needs.append(need)
    if s.integer(0, 2) == 0:
        count = s.integer(1, 2)
        needs.append({"name": "back", "direction": "in", "signal": "line", "channels": count})
        send = {"name": "send", "direction": "out", "signal": "line", "channels": count, "returns_on": "back"}
        needs.append(send)
        for each in needs[-2:]:
            more: Document = s.choice(({}, {}, {"same_latency": False}, {"settings": {"full_scale_level": LEVELS[0]}}))
            each.update(more)
    scenario = {
        "format": 1,
        "title": "Alike",
        "hardware": ["alike.toml"],
        "currency": "GBP",
        "offer": [_offer(s, card) for card in cards],
        "frame": frames,
        "need": needs,
        "rank": [s.choice(("cost", "unused", "holes")), s.choice(("idle", "stranded"))],
    }
    chassis = {"id": "crate", "slot_count": 3 if len(frames) == 1 else 2, "boards": ["board-a"]}
    return scenario, {"format": 1, "card": cards, "board": [board], "chassis": [chassis]}


# Another reading


def _in_phase(need: Document, needs: list[Document]) -> bool:
    """Whether its channels are to be of one latency."""
    tied = need.get("pairs") or need.get("returns_on") or any(n.get("returns_on") == need["name"] for n in needs)
    return bool(need.get("same_latency", tied))


def _name(need: Document, latency: int | None, level: str | None) -> str:
    level_name = {None: "any", LEVELS[0]: "low", LEVELS[1]: "high"}[level]
    return f"{need['signal']}-{latency or 'any'}-{level_name}-{'free' if need.get('asynchronous') else 'clocked'}"


def _ways(scenario: Document) -> Iterator[tuple[dict[str, int], dict[str, str]]]:
    """Each way for needs to be alike: a latency by need, a level by need."""
    needs = scenario["need"]
    phased = [need["name"] for need in needs if _in_phase(need, needs)]
    asked = {n["name"]: n["settings"]["full_scale_level"] for n in needs if "settings" in n}
    tied = [need["name"] for need in needs if need["name"] in ("back", "send")]
    for latencies in product(LATENCIES, repeat=len(phased)):
        for level in LEVELS if tied else [""]:
            if all(own == level for own in asked.values()):
                yield dict(zip(phased, latencies, strict=True)), dict.fromkeys(tied, level)


def _fits(card: Document, port: Document, at: dict[str, str], need: Document, *way: Any) -> bool:
    """Whether channels of a port can serve a need which is alike in some way; `at` has the card's levels."""
    latency, level = way
    own = card.get("latency_samples", {}).get("48", latency)
    there = at.get(port["direction"])
    return (
        (port["direction"], latency is None or own == latency) == (need["direction"], True)
        and need["signal"] in port["signals"]
        and (level is None or there == level or (there is None and "settings" not in need))
        and (not need.get("asynchronous") or port.get("rate_conversion", False))
    )


def _plain(scenario: Document, hardware: Document, way: tuple[dict[str, int], dict[str, str]]) -> tuple[Any, Any]:
    """The same where lines are called by what they have, each card at each level by itself."""
    plain = copy.deepcopy(scenario)
    ways = [(way[0].get(need["name"]), way[1].get(need["name"])) for need in scenario["need"]]
    for need, (latency, level) in zip(plain["need"], ways, strict=True):
        need["signal"] = f"{_name(need, latency, level)}{'-set' if 'settings' in need else ''}"
        for key in ("same_latency", "asynchronous", "settings"):
            need.pop(key, None)
        need["same_latency"] = False
    cards = []
    offers: list[Document] = []
    pools: list[list[str]] = []
    for card in hardware["card"]:
        pools.append([])
        for levels in product(*(setting["choices"] for setting in card["setting"])):
            at = {setting["direction"]: level for setting, level in zip(card["setting"], levels, strict=True)}
            ports = []
            for port in card["ports"]:
                named = {
                    renamed["signal"]
                    for need, renamed, own in zip(scenario["need"], plain["need"], ways, strict=True)
                    if _fits(card, port, at, need, *own)
                }
                ports.append({**port, "signals": sorted(named) or ["nothing"], "rate_conversion": False})
            name = f"{card['id']}-{len(pools[-1])}"
            pools[-1].append(name)
            cards.append({"id": name, "price": card["price"], "ports": ports})
    for pool, offer in zip(pools, scenario["offer"], strict=True):
        offers += [{**offer, "card": name} for name in pool]
    plain["offer"] = offers
    return Scenario.model_validate(plain), Hardware.model_validate({**hardware, "card": cards})


def _read_again(scenario: Document, hardware: Document, build: Build) -> None:
    """Latencies, levels and conversion of every channel that serves, from the build file alone."""
    cards = {card["id"]: card for card in hardware["card"]}
    latencies: dict[str, set[int]] = {}
    levels: dict[str, set[str]] = {}
    for frame in build.frame:
        at = dict(frame.seats())
        for service in frame.serves or ():
            need = next(n for n in scenario["need"] if n["name"] == service.need)
            card = cards[at[service.slot]]
            latencies.setdefault(service.need, set()).update(card.get("latency_samples", {}).values())
            for setting in card["setting"]:
                if setting["direction"] == need["direction"]:
                    own = [e.to for e in frame.settings if (e.slot, e.direction) == (service.slot, need["direction"])]
                    levels.setdefault(service.need, set()).add(own[0] if own else setting["choices"][0])
            if need.get("asynchronous"):
                ports = [port for port in card["ports"] if port["direction"] == "in"]
                assert ports[0].get("rate_conversion"), service
    for need in scenario["need"]:
        if _in_phase(need, scenario["need"]):
            assert len(latencies.get(need["name"], ())) <= 1, need
    assert len(levels.get("send", set()) | levels.get("back", set())) <= 1 or "send" not in latencies


@some_or_all("seeds", range(25), range(3000))
def test_plans_are_those_of_every_way_to_be_alike(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = _documents(seed)
        survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))
        seen["alike"] += any(need.one_of for need in survey.needs)
        every = [brute_force.best(*_plain(scenario, hardware, way)) for way in _ways(scenario)]
        values = [[best.bad(criterion) for criterion in survey.rank] for best in every if best is not None]
        found = rank(survey, 1)
        if not values:
            assert found.outcome == "impossible", seed
            seen["impossible"] += 1
            continue
        assert found.outcome == "found", seed
        build = found.builds[0]
        assert build.proven
        assert [criteria.value(survey, build.figures, criterion) for criterion in survey.rank] == min(values), seed
        _read_again(scenario, hardware, build.build)
        silent = build.build.model_copy(
            update={"frame": tuple(frame.model_copy(update={"serves": None}) for frame in build.build.frame)}
        )
        for told in (build.build, silent):
            assert not audit.faults(survey, stand(survey, told)), seed
        seen["found"] += 1
        seen["matters"] += rank(_open(scenario, hardware), 1).builds[0].figures != build.figures
    assert seen["alike"] >= len(seeds) * 2 // 5, seen
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 5, seen
    assert seen["matters"] >= len(seeds) // 25, seen


def _open(scenario: Document, hardware: Document) -> Any:
    """The room in which no need asks for any of it."""
    plain = copy.deepcopy(scenario)
    for need in plain["need"]:
        need["same_latency"], need["asynchronous"] = False, False
    cards = [{**card, "setting": []} for card in hardware["card"]]
    for need in plain["need"]:
        need.pop("settings", None)
    return survey_room(Scenario.model_validate(plain), Hardware.model_validate({**hardware, "card": cards}))


def _without(scenario: Document, index: int) -> Iterator[tuple[str, Document]]:
    """The scenario with one need that asks for less of it, and what sort of wish that is."""
    need = scenario["need"][index]
    for sort, key in (("clock", "asynchronous"), ("latency", "same_latency")):
        if need.get("asynchronous") if sort == "clock" else _in_phase(need, scenario["need"]):
            less = copy.deepcopy(scenario)
            less["need"][index][key] = False
            yield sort, less


@some_or_all("seeds", (188, 3), (1, 150))
def test_a_need_that_may_give_way_alone_is_a_way_out(seeds: tuple[int, int]) -> None:
    """Those that make the scenario possible by trying everything, and no others.

    `seeds` has the first seed and how many of all three sorts together have to come up.
    """
    sorts: Counter[str] = Counter()
    seed, most = seeds
    while min(sorts["latency"], sorts["clock"], sorts["neither"]) < most // 3:
        scenario, hardware = _documents(seed)
        seed += 1
        less = [(sort, index, own) for index in range(len(scenario["need"])) for sort, own in _without(scenario, index)]
        survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))
        if not less or rank(survey, 1).outcome != "impossible":
            continue
        enough = {(sort, index) for sort, index, own in less if _possible(own, hardware)}
        if not enough and sorts["neither"] >= most // 3:
            continue
        found = clash(survey)
        assert found is not None
        assert found.complete, seed
        alone = [way.changes[0].wish for way in found.ways if len(way.changes) == 1]
        assert {(w.sort, w.index) for w in alone if isinstance(w, OnTheClock | SeveralLatencies)} == enough, seed
        sorts.update([sort for sort, _ in enough] or ["neither"])


def _possible(scenario: Document, hardware: Document) -> bool:
    return any(brute_force.best(*_plain(scenario, hardware, way)) is not None for way in _ways(scenario))
