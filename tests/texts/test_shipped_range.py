"""The hardware and the scenarios that ship: how wide they range, that they load clean, and what their heads say."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from inside import strapwork
from samples import change
from test_cooling_thresholds import DRAUGHT, FAN

import solver
from solver.files.reading import load_hardware, load_scenario
from solver.reports.report import Report
from solver.room.hardware import Hardware, Supply

ROOT = Path(__file__).parents[2]
SCENARIOS = sorted(p for p in (ROOT / "scenarios").glob("*.toml") if not p.stem.endswith("-drawn"))
LISTED = (ROOT / "scenarios/README.md").read_text(encoding="utf-8")


@cache
def _shipped() -> Hardware:
    hardware, warnings = load_hardware(sorted((ROOT / "scenarios/hardware").glob("*.toml")))
    assert not warnings
    return hardware


@cache
def _planned(name: str) -> Report:
    ran = strapwork("plan", f"scenarios/{name}.toml", "--format", "json")
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""
    return Report.model_validate_json(ran.stdout)


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_scenario_loads_without_a_warning_and_is_listed_with_its_command(path: Path) -> None:
    assert load_scenario(path).warnings == ()
    row = re.search(rf"^\| `{path.name}` \|.*\| `strapwork \w+ scenarios/{path.name}[^`]*` \|$", LISTED, re.MULTILINE)
    assert row is not None


def test_the_frames_range_as_wide_as_the_trade() -> None:
    chassis = {each.id: each for each in _shipped().chassis}
    assert sorted(each.slot_count for each in chassis.values()) == [4, 6, 8, 9, 12, 14, 20]
    assert {each.cards for each in chassis.values()} == {"upright", "flat"}
    assert {each.slot_1 for each in chassis.values()} == {"left", "right", "top"}
    paths = [each.air.path for each in chassis.values() if each.air is not None]
    assert sorted(paths) == ["draught", *["fan"] * 6]
    assert {(each.supply.external, each.supply.count) for each in chassis.values()} == {
        (True, 1),
        (False, 1),
        (False, 2),
    }
    rails = {rail for each in chassis.values() for rail in each.rails or {}}
    assert rails == {"+48", "+24", "+17", "-17", "+15", "+12", "+5", "+3.3"}


def test_the_boards_range_in_numbers_straps_and_rates() -> None:
    boards = {board.id: board for board in _shipped().board}
    assert sorted(board.limits["48"].inputs for board in boards.values()) == [24, 32, 40, 48, 56, 64, 72, 128]
    assert [b for b, board in boards.items() if not board.strap_group] == ["flint-48", "basalt-72", "tuff-24"]
    kinds = {group.kind for board in boards.values() for group in board.strap_group}
    assert kinds == {"links", "switch"}
    assert max(len(group.setting) for board in boards.values() for group in board.strap_group) == 5
    halving = [b for b, board in boards.items() if 2 * board.limits["96"].inputs == board.limits["48"].inputs]
    assert halving == ["shale-64", "slate-32", "flint-48"]


def test_the_van_turns_its_dial_for_money_and_gaps() -> None:
    builds = _planned("quay-van").builds
    dials = [(b.frames[0].straps["block dial"], b.cost, b.unused.holes) for b in builds[:3]]
    assert dials == [("0", "2970.00", 4), ("2", "2970.00", 4), ("2", "3710.00", 0)]
    rail = next(load for load in builds[0].frames[0].loads if load.what == "rail +3.3")
    assert (rail.used, rail.limit) == ("5.50", "5.95")


def test_the_archive_has_twelve_more_gaps_with_blocks_of_twelve() -> None:
    tens, twelves, *_ = _planned("quay-archive").builds
    assert (tens.frames[0].straps["input blocks"], tens.unused.holes) == ("open", 6)
    assert (twelves.frames[0].straps["input blocks"], twelves.unused.holes) == ("B1", 18)


def test_the_theatre_keeps_a_slot_free_and_leaves_gaps_at_96_kilohertz() -> None:
    best = _planned("quay-theatre").builds[0]
    assert "7" not in best.frames[0].cards
    assert best.unused.holes == 10


def test_the_scoring_stage_orders_a_card_for_want_of_a_socket(tmp_path: Path) -> None:
    """Three cards with cables are owned and enough for 24 channels; with a third socket none is ordered for them."""
    best = _planned("quay-scoring").builds[0]
    ordered = best.orders.cards
    cards = sorted(card for card in best.frames[0].cards.values() if card.startswith("mic"))
    assert (ordered, cards) == ({"line-out-8": 1, "mic-8": 1}, ["mic-8", "mic-8-fed", "mic-8-fed"])
    for name in ("quay.toml", "cards/unst.toml"):
        text = (ROOT / "scenarios/hardware" / name).read_text(encoding="utf-8")
        (tmp_path / "hardware" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "hardware" / name).write_text(
            change(text, '-feed" = 2', '-feed" = 3') if name == "quay.toml" else text
        )
    room = tmp_path / "room.toml"
    room.write_text((ROOT / "scenarios/quay-scoring.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert solver.plan(room).builds[0].orders.cards == {"line-out-8": 1}


def test_the_scoring_stage_is_handed_over_with_its_recorder_clock_and_cables(tmp_path: Path) -> None:
    scenario, build = "scenarios/quay-scoring.toml", str(tmp_path / "build.toml")
    assert strapwork("plan", scenario, "--save", build).returncode == 0
    numbers = {row.number: row.host for row in solver.channels(scenario, build).rows if row.direction == "in"}
    assert (numbers[28], numbers[29], numbers[32]) == (28, 33, 36)
    steps = [step.text for section in solver.work_order(scenario, build).sections for step in section.steps]
    assert [step for step in steps if "phantom-feed" in step] == [
        f'Seat mic-8-fed in slot {slot}; plug its supply cable into "phantom-feed"' for slot in (2, 4)
    ]
    assert any("word clock from house clock to S, then recorder, all ends alike: 96 kHz" in step for step in steps)
    packed = solver.pack(scenario, build)
    assert packed.outcome == "clean"
    assert packed.clock is not None
    (tree,) = packed.clock.trees
    told = [(line.devices, line.ended_by) for line in tree.lines]
    assert (tree.reference, tree.converted) == ("house clock", ["picture player"])
    assert told == [(["S", "recorder"], "switch"), (["meter"], "terminator")]
    assert {row.number: row.host for row in packed.recorder if row.direction == "in"}[29] == 33


def _chassis(supply: dict[str, object], air: dict[str, object]) -> Decimal:
    from solver.room.ready import survey_room
    from solver.room.scenario import Scenario

    hardware = {
        "format": 1,
        "board": [
            {
                "id": "board",
                "heat_w": 3,
                "limits": {"48": {"in": 16, "out": 0}},
                "inputs": {"first_slot": 1, "widths": 8},
                "outputs": {"first_slot": 1, "widths": 0},
            }
        ],
        "chassis": [{"id": "chassis", "slot_count": 2, "boards": ["board"], "air": air, "supply": supply}],
    }
    scenario = {
        "format": 1,
        "title": "Two supplies",
        "hardware": ["x.toml"],
        "currency": "GBP",
        "air": {"inlet_c": 27, "altitude_m": 0},
        "frame": [{"name": "A", "chassis": "chassis", "board": "board"}],
    }
    survey = survey_room(Scenario.model_validate(scenario), Hardware.model_validate(hardware))
    return Decimal(survey.frames[0].shared_mw["board"]) / 1000


@pytest.mark.parametrize("air", [FAN, DRAUGHT], ids=["fan", "draught"])
def test_two_supplies_inside_heat_the_frame_with_the_loss_of_both(air: dict[str, Any]) -> None:
    assert _chassis({"loss_w": Decimal("7.5")}, air) == Decimal("10.5")
    assert _chassis({"loss_w": Decimal("7.5"), "count": 2}, air) == 18
    assert _chassis({"loss_w": Decimal("7.5"), "count": 2, "external": True}, air) == 3


def test_the_archive_draws_the_loss_of_both_supplies_from_the_mains() -> None:
    # By hand, rails at their maxima: one digital-12 12 x 0.12 + 3.3 x 1.10 = 5.07 W; two pre-12 48 x 0.12 + 24 x 0.44
    # + 3.3 x 0.60 = 18.30 W; five return-10 12 x 0.45 + 3.3 x 0.50 = 7.05 W; four send-10 12 x 0.60 + 3.3 x 0.45
    # = 8.685 W; the board 3.3 x 3.40 = 11.22 W; two supplies of 24 W.
    hand = 5.07 + 2 * 18.30 + 5 * 7.05 + 4 * 8.685 + 11.22 + 2 * 24
    assert _planned("quay-archive").builds[0].frames[0].mains_w == pytest.approx(hand, abs=0.01)


def test_a_supply_is_one_unless_said() -> None:
    assert Supply().count == 1
    assert Supply(loss_w=Decimal(9), count=2).all_loss_w == 18
