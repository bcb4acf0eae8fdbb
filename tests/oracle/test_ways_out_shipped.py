"""Ways out of scenarios of the shipped hardware, two frames each: against planning with one need lowered at a time."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from counted import Counted

from solver.relax.board import OtherBoard
from solver.relax.frame import OneMoreFrame
from solver.relax.other import OtherWish
from solver.reports.wording import in_words
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Scenario
from solver.room.wish import Change
from solver.rules.cooling import LessMargin
from solver.rules.must_seat import FewerSeated
from solver.rules.needs import FewerChannels
from solver.rules.stock import MoreOfAnItem
from solver.search.ask.clash import Clash, Extent, clash
from solver.search.ask.ranking import rank

SHIPPED = Path(__file__).parents[2] / "scenarios"

BOOTHS = """
format = 1
title = "Gannet Quay, two booths and a drum room"
hardware = ["hardware/quay.toml"]
currency = "GBP"
rank = ["cost"]
air = { inlet_c = 24, altitude_m = 12 }

[stock]
mic-8 = 3
line-in-8 = 1
line-out-8 = 2

[[frame]]
name = "A"
chassis = "petrel-12"
board = "flint-48"

[[frame]]
name = "B"
chassis = "tern-6"
board = "slate-32"

[[need]]
name = "drum mics"
direction = "in"
signal = "mic"
channels = 20

[[need]]
name = "booth mics"
direction = "in"
signal = "mic"
channels = 8

[[need]]
name = "talkback"
direction = "in"
signal = "mic"
channels = 2

[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = 8

[[need]]
name = "foldback"
direction = "out"
signal = "line"
channels = 16
"""
"""30 microphones for the 24 inputs of three cards."""

RETURNS = 'channels = 8\n\n[[need]]\nname = "foldback"'
"""The end of the need that only line inputs serve."""

CASES: dict[str, list[tuple[str, str]]] = {
    "cards": [],
    "spare": [("channels = 2\n", "channels = 1\nspare = 1\n"), ("channels = 20", "channels = 18\nspare = 2")],
    "nice to have": [(RETURNS, RETURNS.replace("8", '24\nimportance = "nice"'))],
    "money": [
        ('rank = ["cost"]', 'rank = ["cost"]\nbudget = "1200.00"'),
        ("mic-8 = 3", "mic-8 = 2"),
        ('[[frame]]\nname = "A"', '[[offer]]\ncard = "mic-8"\nat_most = 4\n\n[[frame]]\nname = "A"'),
    ],
    "slots": [
        ("mic-8 = 3", "mic-8 = 4"),
        ("line-in-8 = 1", "line-in-8 = 2"),
        (RETURNS, RETURNS.replace("8", "16")),
        ('board = "flint-48"', 'board = "flint-48"\nkeep_empty = [1, 6]'),
        ('board = "slate-32"', 'board = "slate-32"\npins = { "1" = "line-in-8" }\nkeep_empty = [2, 3, 4]'),
    ],
    "rails": [("mic-8 = 3", "mic-8 = 4"), ('rank = ["cost"]', 'rank = ["cost"]\nlimits = { rail_reserve = "64 %" }')],
    "96 kHz": [
        ("mic-8 = 3", "mic-8 = 4"),
        ("line-in-8 = 1", "line-in-8 = 2"),
        (RETURNS, RETURNS.replace("8", "9")),
        ('rank = ["cost"]', 'rank = ["cost"]\nsample_rate = 96000'),
    ],
}

FIRST = Extent(ways=6, sets=6, amounts=2, trades=2)
"""Ways out that mean the least work; lowering one need comes before all that is more than that."""

ALL_TO_BE_BOUGHT = """
format = 1
title = "Gannet Quay, all to be bought"
hardware = ["hardware/skerry.toml"]
currency = "GBP"

[[frame]]
name = "A"
chassis = "godwit-20"
board = "gneiss-128"

[[need]]
name = "hall mics"
direction = "in"
signal = "mic"
channels = 72
"""


def hardware_of(document: dict[str, Any]) -> Hardware:
    """The shipped hardware that a scenario names."""
    (name,) = document["hardware"]
    return Hardware.model_validate(tomllib.loads((SHIPPED / name).read_text(encoding="utf-8"), parse_float=Decimal))


def edited(case: str) -> dict[str, Any]:
    """The two booths with one thing made too scarce."""
    text = BOOTHS
    for before, after in CASES[case]:
        assert before in text, before
        text = text.replace(before, after, 1)
    return tomllib.loads(text, parse_float=Decimal)


def lowered(document: dict[str, Any], place: int, by: int) -> dict[str, Any]:
    """The document with one need asking for fewer channels, the spare ones first; without it where none are left."""
    needs = [dict(need) for need in document["need"]]
    need = needs[place]
    spare = min(by, need.get("spare", 0))
    need["spare"] = need.get("spare", 0) - spare
    need["channels"] -= by - spare
    return {**document, "need": [need for need in needs if need["channels"] or need["spare"]]}


def plans(document: dict[str, Any], hardware: Hardware) -> bool:
    """Whether a plan is found; else it is proven that there is none."""
    outcome = rank(survey_room(Scenario.model_validate(document), hardware), 1).outcome
    assert outcome in ("found", "impossible")
    return outcome == "found"


def least_lowering(document: dict[str, Any], hardware: Hardware, place: int) -> int | None:
    """By how much one need alone has to ask for less, found by planning; None where without it there is no plan."""
    demand: int = document["need"][place]["channels"] + document["need"][place].get("spare", 0)
    if not plans(lowered(document, place, demand), hardware):
        return None
    low, enough = 1, demand
    while low < enough:
        middle = (low + enough) // 2
        if plans(lowered(document, place, middle), hardware):
            enough = middle
        else:
            low = middle + 1
    return enough


@pytest.mark.parametrize("case", CASES)
def test_every_need_that_alone_may_ask_for_less_is_a_way_out(case: str) -> None:
    document = edited(case)
    hardware = hardware_of(document)
    assert not plans(document, hardware)
    expected = {
        place: less
        for place, need in enumerate(document["need"])
        if need.get("importance") != "nice" and (less := least_lowering(document, hardware, place)) is not None
    }
    assert expected[1] == 6, "8 booth mics to 2 is a way out"
    found = clash(survey_room(Scenario.model_validate(document), hardware), extent=FIRST)
    alone = [way.changes[0] for way in found.ways if len(way.changes) == 1]
    assert {c.wish.index: c.amount for c in alone if isinstance(c.wish, FewerChannels)} == expected


def test_a_way_out_may_order_as_many_cards_as_the_slots_take() -> None:
    document = tomllib.loads(ALL_TO_BE_BOUGHT)
    found = clash(survey_room(Scenario.model_validate(document), hardware_of(document)))
    assert found.complete
    ways = {tuple((change.wish, change.amount) for change in way.changes) for way in found.ways}
    assert ((MoreOfAnItem("pre-12"), 6),) in ways
    assert ((MoreOfAnItem("pre-6"), 12),) in ways  # 72 / 6 cards in the 13 slots with numbers


TEN_SEATED = """
format = 1
title = "Gannet Quay, ten cards"
hardware = ["hardware/quay.toml"]
currency = "GBP"
air = { inlet_c = 20 }
must_seat = [{ card = "instrument-4", count = 10 }]
frame = [
  { name = "A", chassis = "petrel-12", board = "shale-64" },
  { name = "B", chassis = "petrel-12", board = "shale-64" },
]
"""


def test_ten_cards_that_have_to_be_seated_may_be_ordered() -> None:
    document = tomllib.loads(TEN_SEATED)
    found = clash(survey_room(Scenario.model_validate(document), hardware_of(document)))
    alone = {way.changes[0].wish: way.changes[0].amount for way in found.ways if len(way.changes) == 1}
    assert alone[MoreOfAnItem("instrument-4")] == 10
    assert set(found.because) == {FewerSeated(0), MoreOfAnItem("instrument-4")}


WARM = """
format = 1
title = "Gannet Quay, warm"
hardware = ["hardware/quay.toml"]
currency = "GBP"
air = { inlet_c = 46 }
limits = { refuse_below_k = LEAST }
stock = { line-out-8 = 1 }
frame = [{ name = "A", chassis = "wren-4", board = "flint-48" }]
need = [{ name = "amps", direction = "out", signal = "line", channels = 8 }]
"""


@pytest.mark.parametrize(("least", "amount"), [("0.5", 1), ("1", 1), ("1.5", 2)])
def test_a_margin_gives_way_by_whole_kelvin_and_at_last_by_what_is_left(least: str, amount: int) -> None:
    """What the need takes is less than half a kelvin cooler than it may be: a margin of 0 leaves it a place."""
    document = tomllib.loads(WARM.replace("LEAST", least), parse_float=Decimal)
    survey = survey_room(Scenario.model_validate(document), hardware_of(document))
    found = clash(survey)
    assert found.complete
    assert set(found.because) == {FewerChannels(0), LessMargin()}
    (change,) = (way.changes[0] for way in found.ways if way.changes[0].wish == LessMargin())
    assert change.amount == amount
    assert change.wish.values(survey, change) == (f"{least} K", "0 K")
    assert in_words(survey, change.wish.told(survey, change)) == (
        f"accept {least} K less cooling margin ({least} -> 0 K)"
    )


WIDE = """
format = 1
title = "Gannet Quay, seventy-two outputs"
hardware = ["hardware/quay.toml"]
currency = "GBP"
air = { inlet_c = 20 }
stock = { line-out-8 = 9 }
frame = [{ name = "A", chassis = "petrel-12", board = "slate-32" }]
need = [{ name = "amps", direction = "out", signal = "line", channels = 48 }]
"""


def test_a_search_that_is_ended_anywhere_names_as_tried_only_what_was() -> None:
    document = tomllib.loads(WIDE)
    survey = survey_room(Scenario.model_validate(document), hardware_of(document))
    whole = _others(clash(survey))
    assert set(whole) == {OtherBoard, OneMoreFrame}
    named = set()
    for solves in range(0, 200, 4):
        found = clash(survey, Counted(solves))
        ways = _others(found)
        for kind in found.tried_alone:
            assert ways[kind] == whole[kind], (solves, kind)
        named.add(len(found.tried_alone))
        if len(found.tried_alone) == len(whole):
            break
    assert named == {0, 1, 2}


def _others(found: Clash) -> dict[type[OtherWish], list[tuple[Change, ...]]]:
    """The ways out that loosen no limit, by their kind."""
    ways: dict[type[OtherWish], list[tuple[Change, ...]]] = {}
    for way in found.ways:
        wish = way.changes[0].wish
        if isinstance(wish, OtherWish):
            ways.setdefault(type(wish), []).append(way.changes)
    return ways
