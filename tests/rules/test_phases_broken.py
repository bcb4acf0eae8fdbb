"""What builds of several phases break together: for each fault a change that breaks exactly that one."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from samples import HARDWARE, write

from solver.files.reading import load_scenario
from solver.judge.phases import broken, read_orders
from solver.room.build import Build, BuiltFrame, Ordered
from solver.room.phases import Bought, Phases, phases_of

ROOM = """\
format = 1
title = "Three years"
hardware = ["quay.toml"]
currency = "GBP"
budget = "2400.00"
moves = "{moves}"
[stock]
line-in-8 = 1
shale-64 = 1
[[offer]]
card = "mic-4"
price = "500.00"
at_most = 4
[[frame]]
name = "A"
chassis = "petrel-12"
board = "shale-64"
[[frame]]
name = "B"
chassis = "petrel-12"
[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = 8
"""
PHASE = '[[phase]]\nname = "{name}"\nbudget = "1600.00"\nneeds = ["returns"]\n'
NAMES = ("this year", "next year", "the year after")


def _phases(folder: Path, moves: str) -> Phases:
    text = ROOM.format(moves=moves) + "".join(PHASE.format(name=name) for name in NAMES)
    loaded = load_scenario(write(folder, text, HARDWARE))
    return phases_of(loaded.scenario, loaded.hardware)


def _build(*frames: tuple[str, str, dict[str, str]]) -> Build:
    return Build(frame=tuple(BuiltFrame(name=name, board=board, cards=cards) for name, board, cards in frames))


GOOD: tuple[Build, ...] = (
    _build(("A", "shale-64", {"3": "line-in-8"})),
    _build(("A", "shale-64", {"3": "line-in-8", "5": "mic-4"})),
    _build(("A", "shale-64", {"3": "line-in-8", "5": "mic-4", "6": "mic-4"})),
)
BUYING = ((1, 1), (2, 1))
"""How many mic-4 are ordered in which phase."""

Broken = tuple[str, int | None, str | None, str | None, int, int]


def _found(phases: Phases, builds: Sequence[Build], buying: Sequence[tuple[int, int]]) -> list[Broken]:
    (offer,) = phases.first.offers["mic-4"]
    bought = [Bought(at, offer, count) for at, count in buying]
    return [(b.rule, b.phase, b.frame, b.subject, b.used, b.bound) for b in broken(phases, builds, bought)]


@pytest.mark.parametrize("moves", ["once", "never"])
def test_what_is_good_breaks_nothing(tmp_path: Path, moves: str) -> None:
    assert _found(_phases(tmp_path, moves), GOOD, BUYING) == []


MOVED = (GOOD[0], _build(("A", "shale-64", {"4": "line-in-8", "5": "mic-4"})), GOOD[2])
"""The card of lines goes to slot 4 and comes back: what comes to 4 has to leave it again."""

ONCE = tuple(
    _build(("A", "shale-64", {slot: "line-in-8", **cards}))
    for slot, cards in (("3", {}), ("4", {"5": "mic-4"}), ("4", {"5": "mic-4", "6": "mic-4"}))
)


@pytest.mark.parametrize(
    ("moves", "builds", "buying", "expected"),
    [
        ("once", GOOD, ((1, 4),), ("budget", 1, None, None, 200000, 160000)),
        ("once", (*GOOD[:2], _build()), BUYING, ("stays", 2, "A", "shale-64", 1, 0)),
        (
            "once",
            (
                *GOOD[:2],
                GOOD[2].model_copy(update={"frame": (GOOD[2].frame[0].model_copy(update={"board": "other"}),)}),
            ),
            BUYING,
            ("stays", 2, "A", "shale-64", 1, 0),
        ),
        ("never", ONCE, BUYING, ("stays", 1, "A", "line-in-8", 1, 0)),
        ("once", ONCE, BUYING, None),
        ("once", MOVED, BUYING, ("stays", 1, None, "line-in-8", 1, 0)),
    ],
)
def test_each_change_breaks_exactly_one(tmp_path: Path, moves: str, builds: Any, buying: Any, expected: Any) -> None:
    found = _found(_phases(tmp_path, moves), builds, buying)
    assert found == ([] if expected is None else [expected])


@pytest.mark.parametrize(
    ("budget", "at_most", "expected"),
    [
        ("2000.00", 5, ("budget", None, None, None, 250000, 200000)),
        ("3000.00", 4, ("stock", None, None, "mic-4", 5, 4)),
        ("2500.00", 5, None),
    ],
)
def test_money_and_offers_of_all_phases_break_one_by_one(
    tmp_path: Path, budget: str, at_most: int, expected: Broken | None
) -> None:
    text = ROOM.format(moves="once").replace("2400.00", budget).replace("at_most = 4", f"at_most = {at_most}")
    text += "".join(PHASE.format(name=name) for name in NAMES)
    loaded = load_scenario(write(tmp_path, text, HARDWARE))
    found = _found(phases_of(loaded.scenario, loaded.hardware), GOOD, ((0, 1), (1, 2), (2, 2)))
    assert found == ([] if expected is None else [expected])


@pytest.mark.parametrize(("price", "wrong"), [("500.00", []), ("499.99", [("stock", 1, "mic-4", 1, 0)])])
def test_what_is_ordered_at_a_price_of_no_offer_is_told(tmp_path: Path, price: str, wrong: list[Any]) -> None:
    order = Ordered(phase=NAMES[1], card="mic-4", count=1, price=Decimal(price))
    bought, found = read_orders(_phases(tmp_path, "once"), Build(order=(order,)))
    assert [(b.rule, b.phase, b.subject, b.used, b.bound) for b in found] == wrong
    assert [(own.phase, own.count, own.cost) for own in bought] == [(1, 1, int(Decimal(price) * 100))]
