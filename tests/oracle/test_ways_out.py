"""Every way out of an impossible scenario is found, with every list of least amounts: against judging every build."""

from __future__ import annotations

import os
from collections import Counter
from dataclasses import astuple
from decimal import Decimal
from pathlib import Path

import clashing
import pytest
import ways_out

from cli.main import run
from solver.relax.other import OtherWish
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.scenario import Need, Scenario
from solver.rules.stock import MoreOfAnItem
from solver.search.ask.clash import Extent, clash

EVERYTHING = Extent(ways=10**6, sets=10**6, amounts=10**6, trades=10**6, patience=None)
SCENARIOS = int(os.environ.get("STRAPWORK_CLASHES", "500"))
"""So many impossible scenarios are tried by the slow test."""


def impossible(seed: int) -> tuple[Scenario, Hardware, set[ways_out.Way]] | None:
    """The scenario of a seed and its ways out; None where it is possible or has too many wishes."""
    scenario, hardware = clashing.pair(seed)
    if len(ways_out.Bench(scenario, hardware).wishes) > clashing.MOST_WISHES:
        return None
    expected = ways_out.ways_out(scenario, hardware)
    return None if frozenset() in expected else (scenario, hardware, expected)


def found(scenario: Scenario, hardware: Hardware) -> set[ways_out.Way]:
    """The ways out that the search finds, those apart that loosen no limit."""
    answer = clash(survey_room(scenario, hardware), extent=EVERYTHING)
    assert answer.searched
    assert answer.complete
    return {
        frozenset(((change.wish.sort, *astuple(change.wish)), change.amount) for change in way.changes)
        for way in answer.ways
        if not isinstance(way.changes[0].wish, OtherWish)
    }


def compare(seeds: range, most: int) -> Counter[str]:
    """Compare the ways out of so many impossible scenarios; what they had."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        case = impossible(seed)
        if case is None:
            continue
        scenario, hardware, expected = case
        assert found(scenario, hardware) == expected, seed
        sets = {frozenset(wish for wish, _ in way) for way in expected}
        seen["scenarios"] += 1
        seen["ways out"] += len(expected)
        seen["two frames"] += len(scenario.frame) == 2
        seen["amounts that trade"] += len(expected) > len(sets)
        seen["two needs give way together"] += any(sum(wish[0] == "need" for wish in keys) > 1 for keys in sets)
        seen["spare"] += any(need.spare for need in scenario.need)
        seen["nice to have"] += any(need.importance == "nice" for need in scenario.need)
        seen.update({str(wish[0]) for keys in sets for wish in keys})
        if seen["scenarios"] == most:
            break
    return seen


def test_every_way_out_is_found_with_all_its_least_amounts() -> None:
    seen = compare(range(300), 60)
    assert seen["scenarios"] == 60
    assert seen["two frames"] >= 20
    assert seen["amounts that trade"] >= 5
    assert seen["spare"] >= 5
    assert seen["nice to have"] >= 5
    for wish in ("budget", "need", "item", "must_seat", "pin", "empty", "strap", "margin", "reserve"):
        assert seen[wish], wish


@pytest.mark.slow
def test_every_way_out_of_many_scenarios_is_found() -> None:
    seen = compare(range(10**6), SCENARIOS)
    print(dict(seen))
    assert seen["scenarios"] == SCENARIOS
    assert seen["strap"]


HARDWARE = """
format = 1

[[card]]
id = "mic-4"
price = "400.00"
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 4 } }]

[[card]]
id = "line-4"
price = "300.00"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]

[[board]]
id = "eight"
limits = { "48" = { in = 8, out = 1 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 0 }

[[chassis]]
id = "three-slots"
slot_count = 3
boards = ["eight"]
"""

SCENARIO = """
format = 1
title = "Gannet Quay, two booths"
hardware = ["booths.toml"]
currency = "GBP"
sample_rate = 48000
budget = "800.00"
rank = ["cost", "unused"]

[stock]
mic-4 = 2

[[offer]]
card = "mic-4"
at_most = 3

[[frame]]
name = "A"
chassis = "three-slots"
board = "eight"
keep_empty = [1]

[[frame]]
name = "B"
chassis = "three-slots"
board = "eight"
keep_empty = [3]

[[need]]
name = "booth mics"
direction = "in"
signal = "mic"
channels = 8

[[need]]
name = "hall mics"
direction = "in"
signal = "mic"
channels = 8

[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = 4
importance = "nice"
"""

SCREEN = """\
Impossible, proven: Gannet Quay, two booths, 48 kHz

Ways out, the least work first; each smallest set of things to change is listed
     work        lid  change                                      least cost GBP
  1  give up     on   drop 4 of 8 mic inputs on "booth mics"; 4           400.00
     channels         left
  2  give up     on   drop 4 of 8 mic inputs on "hall mics"; 4            400.00
     channels         left
  3  lid off:    off  frame A: let slot 1 be used                         800.00
     move cards
     or straps
  4  buy         off  buy one more frame, three-slots with eight          800.00

These cannot all be kept, whatever else gives way
  "booth mics" asks for 8 mic inputs
  "hall mics" asks for 8 mic inputs
  frame A: slot 1 is kept empty
  Frames, boards and sample rate stay as they are in that; all but any one can
  be kept if all else that could gives way.

Before you open a frame: disconnect the mains and wait; beware of static, hot
surfaces and weight (two to lift); keep air paths free. The maker's manual wins
over this plan. Mains and fixed wiring are for licensed people under local code.
"""


def two_booths(importance: str) -> tuple[Scenario, Hardware]:
    """Two frames of two slots, the first with 4 and 1 numbers, the second with 4 and a slot that is kept empty."""
    return (
        Scenario.model_validate(
            {
                "format": 1,
                "title": "Gannet Quay, two booths",
                "hardware": ["booths.toml"],
                "currency": "GBP",
                "limits": {"rail_reserve": "0 %", "refuse_below_k": 0},
                "stock": {"mic-4": 3, "line-4": 1},
                "frame": [
                    {"name": "A", "chassis": "two-slots", "board": "eight"},
                    {"name": "B", "chassis": "two-slots", "board": "eight", "keep_empty": [2]},
                ],
                "need": [
                    {"name": "booth mics", "direction": "in", "signal": "mic", "channels": 8},
                    {"name": "tie lines", "direction": "in", "signal": "line", "channels": 8, "importance": importance},
                    {"name": "talkback", "direction": "in", "signal": "mic", "channels": 2, "spare": 1},
                ],
            }
        ),
        Hardware.model_validate(
            {
                "format": 1,
                "card": [
                    {"id": "mic-4", "ports": [{"direction": "in", "signals": ["mic"], "channels": {"48": 4}}]},
                    {"id": "line-4", "ports": [{"direction": "in", "signals": ["line"], "channels": {"48": 4}}]},
                ],
                "board": [
                    {
                        "id": "eight",
                        "limits": {"48": {"in": 5, "out": 1}},
                        "inputs": {"widths": 4},
                        "outputs": {"widths": 0},
                    }
                ],
                "chassis": [{"id": "two-slots", "slot_count": 2, "boards": ["eight"]}],
            }
        ),
    )


def test_what_is_nice_to_have_is_no_part_of_a_way_out() -> None:
    scenario, hardware = two_booths("nice")
    expected = {frozenset({(("need", 0), 2)}), frozenset({(("need", 2), 2)})}  # 11 mics, and 4 + 1 + 4 numbers
    assert ways_out.ways_out(scenario, hardware) == expected
    assert found(scenario, hardware) == expected


def test_a_board_that_is_not_to_be_had_may_be_ordered_for_a_frame_that_names_none() -> None:
    scenario, hardware = two_booths("must")
    frames = (scenario.frame[0], scenario.frame[1].model_copy(update={"board": None}))
    scenario = scenario.model_copy(update={"frame": frames, "need": (scenario.need[0],)})
    assert found(scenario, hardware) == {
        frozenset({(("need", 0), 3)}),
        frozenset({(("item", "eight"), 1)}),
    }


def test_a_board_that_costs_more_than_any_card_is_bought_with_more_money() -> None:
    scenario, hardware = two_booths("must")
    (board,) = hardware.board
    hardware = hardware.model_copy(update={"board": (board.model_copy(update={"price": Decimal(70)}),)})
    frames = (scenario.frame[0], scenario.frame[1].model_copy(update={"board": None}))
    needs = (scenario.need[0],)
    scenario = scenario.model_copy(update={"frame": frames, "need": needs, "budget": Decimal(10)})
    expected = {frozenset({(("need", 0), 3)}), frozenset({(("item", "eight"), 1), (("budget",), 6000)})}
    assert ways_out.ways_out(scenario, hardware) == expected
    assert found(scenario, hardware) == expected


def test_an_item_gives_way_by_as_many_as_the_frames_can_take() -> None:
    """Two frames of two slots: four cards, or two of those that take two slots; two boards."""
    scenario, hardware = two_booths("must")
    wide = hardware.card[0].model_copy(update={"id": "wide", "span": 2})
    survey = survey_room(scenario, hardware.model_copy(update={"card": (*hardware.card, wide)}))
    most = {item: MoreOfAnItem(item).most(survey) for item in ("line-4", "wide", "eight", "two-slots")}
    assert most == {"line-4": 4, "wide": 2, "eight": 2, "two-slots": 2}


def test_more_money_than_a_file_can_hold_is_no_budget_at_all(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two more mic-4 at nine hundred thousand million each; a budget ends at a million million."""
    hardware = HARDWARE.replace('"400.00"', '"900000000000.00"')
    (tmp_path / "booths.toml").write_text(hardware, encoding="utf-8")
    path, richer = tmp_path / "two.toml", tmp_path / "richer.toml"
    path.write_text(SCENARIO.replace("keep_empty = [1]", ""), encoding="utf-8")
    assert run(["why", str(path), "--apply", "3", "--to", str(richer)]) == 0
    told = capsys.readouterr().out
    assert "spend 1799999999200.00 more" in told
    assert "1800000000000.00" in told
    assert "budget" not in richer.read_text(encoding="utf-8")
    assert run(["plan", str(richer)]) == 0


def test_amounts_that_trade_are_all_found() -> None:
    scenario, hardware = two_booths("must")
    needs = tuple(Need(name=name, direction="in", signal="mic", channels=6) for name in ("booth", "hall"))
    scenario = scenario.model_copy(update={"frame": scenario.frame[:1], "need": needs})
    expected = {frozenset({(("need", 0), less), (("need", 1), 7 - less)}) for less in range(1, 7)}  # 12 for 5 numbers
    assert ways_out.ways_out(scenario, hardware) == expected
    assert found(scenario, hardware) == expected


def test_the_screen_of_two_frames_lists_the_least_work_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    (tmp_path / "booths.toml").write_text(HARDWARE, encoding="utf-8")
    (tmp_path / "two.toml").write_text(SCENARIO, encoding="utf-8")
    assert run(["why", str(tmp_path / "two.toml")]) == 1
    assert capsys.readouterr().out == SCREEN
