"""Defaults that decide an answer are said where the scenario leaves them out, on every screen and in every document."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from inside import strapwork

from solver.files.reading import load_scenario
from solver.reports.assumed import assumed, assumed_of_racks
from solver.room.scenario import RoomAir

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"
ALL = (
    "48 kHz; ranked by cost, unused, cooling; 20 % of each rail is kept in reserve; refused under 5 K of cooling "
    "margin; warned under 10 K; margins are compared in steps of 2 K; 15 K are enough; 0 m above the sea, "
    "since the scenario does not say"
)
BARE = """\
format = 1
title = "Gannet Quay, little said"
hardware = ["HARDWARE"]
currency = "GBP"
air = { inlet_c = 24 }
stock = { line-in-8 = 1 }
[[frame]]
name = "A"
chassis = "tern-6"
board = "slate-32"
[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = CHANNELS
"""


def bare(folder: Path, channels: int) -> Path:
    path = folder / "bare.toml"
    text = BARE.replace("HARDWARE", (SCENARIOS / "hardware" / "quay.toml").as_posix())
    path.write_text(text.replace("CHANNELS", str(channels)), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("command", "options", "channels"),
    [
        ("plan", (), 8),
        ("plan", (), 80),
        ("front", (), 8),
        ("front", ("--show", "1"), 8),
        ("why", (), 80),
        ("why-not", ("--card", "line-out-8"), 8),
        ("reach", (), 8),
        ("explain", (), 8),
    ],
)
def test_every_screen_says_once_what_it_assumes(
    command: str, options: tuple[Any, ...], channels: int, tmp_path: Path
) -> None:
    said = " ".join(strapwork(command, bare(tmp_path, channels), *options).stdout.split())
    assert said.count(f"Assumed {ALL}") == 1
    assert said.count("Assumed") == 1


def test_a_check_says_it_too_and_the_document_has_it(tmp_path: Path) -> None:
    scenario, build = bare(tmp_path, 8), tmp_path / "build.toml"
    document = json.loads(strapwork("plan", scenario, "--save", build, "--format", "json").stdout)
    assert "; ".join(document["assumed"]) + ", since the scenario does not say" == ALL
    assert f"Assumed {ALL}" in " ".join(strapwork("check", scenario, build).stdout.split())


def test_nothing_is_assumed_where_the_scenario_says_all() -> None:
    for name in ("quay-live-room", "quay-mix-rig"):
        loaded = load_scenario(SCENARIOS / f"{name}.toml")
        assert assumed(loaded.scenario, loaded.hardware) == [], name


def test_rooms_with_air_of_their_own_leave_no_altitude_to_assume_where_the_scenario_says_it() -> None:
    loaded = load_scenario(SCENARIOS / "quay-campus.toml")
    assert loaded.scenario.air is not None
    assert "altitude_m" in loaded.scenario.air.model_fields_set
    assert any(room.air is not None and "altitude_m" not in room.air.model_fields_set for room in loaded.scenario.room)
    assert assumed(loaded.scenario, loaded.hardware) == []


def test_what_decides_nothing_is_not_told(tmp_path: Path) -> None:
    path = bare(tmp_path, 8)
    path.write_text(
        path.read_text(encoding="utf-8").replace("air = { inlet_c = 24 }\n", 'rank = ["cost"]\n'), encoding="utf-8"
    )
    loaded = load_scenario(path)
    assert assumed(loaded.scenario, loaded.hardware) == ["48 kHz", "20 % of each rail is kept in reserve"]


def test_a_room_with_air_of_its_own_stands_at_the_altitude_of_the_scenario(tmp_path: Path) -> None:
    """A house stands at one height however warm its rooms are, so nothing is assumed; a room may still say its own."""
    text = (SCENARIOS / "quay-campus.toml").read_text(encoding="utf-8")
    assert "air = { inlet_c = 24, altitude_m = 12 }" in text
    scenario = load_scenario(SCENARIOS / "quay-campus.toml").scenario
    room = scenario.room[0]
    for own, altitude_m in (({"inlet_c": 31}, 12), ({"inlet_c": 31, "altitude_m": 400}, 400)):
        air = scenario.air_in(room.model_copy(update={"air": RoomAir.model_validate(own)}))
        assert air is not None
        assert (air.inlet_c, air.altitude_m) == (Decimal(31), Decimal(altitude_m))
        assert "altitude_m" in air.model_fields_set
    assert scenario.air_in(room.model_copy(update={"air": None})) == scenario.air


def test_defaults_of_racks_are_said_below_them() -> None:
    """The shipped rack leaves out its rank, spare cable, the foot, the ears, and the air of items."""
    room, drawn = SCENARIOS / "quay-live-room.toml", SCENARIOS / "quay-live-room-drawn.toml"
    said = " ".join(strapwork("rack", room, drawn).stdout.split())
    assert "Assumed ranked by cables, reserve, inlet; 300 mm of each cable beside its way up or down; unit 1 is" in said
    assert "100 mm above the floor; things above 15 kg on rails; line bay, level meter: air from below, since" in said
    assert "filled from the foot up, as drawn" in said
    loaded = load_scenario(room).scenario
    (rack,) = loaded.rack
    told = rack.model_copy(update={"foot_mm": Decimal(50), "rank": ("inlet",), "item": ()})
    assert assumed_of_racks(loaded.model_copy(update={"rack": (rack, told)}))[0].startswith("rack R1: ranked by")
