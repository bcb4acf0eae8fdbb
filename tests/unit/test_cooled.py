"""Frames without blanks and without a fan: what is told of them, worked by hand, and the faults of their files."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import change, texts_of

import solver

AIR = 'air = { path = "fan", flow_m3_h = 20, gap_area_cm2 = 30, leak_cm2 = 45, fans = 2 }\n'
STILL = "still = { gap_area_cm2 = 30, opening_below_cm2 = 20, opening_above_cm2 = 20, stack_mm = 150 }"
HARDWARE = """\
format = 1
[[card]]
id = "line-in-4"
heat_w = 20
air_limit_c = 50
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[board]]
id = "gull-8"
heat_w = 0
limits = { "48" = { in = 8, out = 8 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
[[chassis]]
id = "cairn-2"
slot_count = 2
boards = ["gull-8"]
"""
ROOM = """\
format = 1
title = "Gannet Quay, one frame"
hardware = ["hardware.toml"]
currency = "GBP"
air = { inlet_c = 25, altitude_m = 0 }
limits = { refuse_below_k = 1, warn_below_k = 2, enough_k = 40, step_k = 1 }
[stock]
line-in-4 = 2
[[frame]]
name = "A"
chassis = "cairn-2"
board = "gull-8"
blanks = false
[[need]]
name = "tape"
direction = "in"
signal = "line"
channels = 4
"""

KELVIN = 20 / 2 / (1.1839 * 1006 / 3600)
"""Kelvin times m3/h that 20 W on one card, half of it in each gap, give air of 1.1839 kg/m3, that of 25 C."""


def _room(folder: Path, air: str = AIR, room: str = ROOM) -> Path:
    (folder / "hardware.toml").write_text(HARDWARE + air, encoding="utf-8")
    (folder / "room.toml").write_text(room, encoding="utf-8")
    return folder / "room.toml"


def _margin_k(folder: Path, air: str = AIR, room: str = ROOM) -> float:
    margin = solver.plan(_room(folder, air, room)).builds[0].cooling.margin_k
    assert margin is not None
    return margin


def test_one_open_slot_takes_its_share_of_the_fan(tmp_path: Path) -> None:
    """One of two slots is open: 45 cm2 are as 1.5 gaps of 30 cm2 beside the 3 that there are."""
    assert _margin_k(tmp_path) == pytest.approx(25 - KELVIN / (20 / 4.5), abs=0.01)
    assert _margin_k(tmp_path, room=change(ROOM, "blanks = false\n", "")) == pytest.approx(
        25 - KELVIN / (20 / 3), abs=0.01
    )
    assert _margin_k(tmp_path, change(AIR, "leak_cm2 = 45", "leak_cm2 = 0")) == pytest.approx(
        25 - KELVIN / (20 / 3), abs=0.01
    )


def test_a_full_frame_is_told_beside_what_is_counted(tmp_path: Path) -> None:
    """Both slots are taken, so nothing is open; counted is one, since builds with one card would leave it."""
    path = _room(tmp_path, room=change(ROOM, "channels = 4", "channels = 8"))
    air = solver.plan(path).builds[0].air
    between = 2 * KELVIN / (20 / 3)
    assert f"the worst that can be; with the 0 that this build leaves open, {int(25 - between)} K to spare" in air[0]
    assert "frame A has no blanks: cooling is counted with 1 of 2 slots open" in air[0]


def test_what_is_counted_stands_with_the_limit_that_it_breaks(tmp_path: Path) -> None:
    room = change(ROOM, "refuse_below_k = 1", "refuse_below_k = 20").replace("warn_below_k = 2", "warn_below_k = 20")
    told = "builds under 20 K of cooling margin are refused, counted with all slots but one open in A"
    assert told in " ".join(strapwork("plan", str(_room(tmp_path, room=room))).stdout.split())


def test_two_fans_survive_one_and_one_fan_what_rises_by_itself(tmp_path: Path) -> None:
    """Half of 20 m3/h over 4.5 gaps leaves 13 K; through 20 cm2 above and below the air warms by far more than 25 K."""
    path, build = _room(tmp_path), tmp_path / "build.toml"
    assert strapwork("plan", str(path), "--save", str(build)).returncode == 0
    left = int(25 - KELVIN / (10 / 4.5))
    told = f"about {left} K to spare, so that it runs on; have the fan seen to soon"
    assert solver.plan(path).builds[0].air[1] == f"frame A without one of its 2 fans: {told}"
    (point,) = [point for point in solver.single_points(path, build).points if point.what == "fan:A"]
    assert (point.channels, point.lost) == (0, 0)
    assert solver.failed(path, build, "fan:A").notes[0] == f"frame A without a fan: {told} (estimate)"
    _room(tmp_path, change(AIR, "fans = 2", f"fans = 1, {change(STILL, 'above_cm2 = 20', 'above_cm2 = 2')}"))
    assert "K warmer than its cards stand; switch it off at once" in solver.check(path, build).builds[0].air[1]
    (point,) = [point for point in solver.single_points(path, build).points if point.what == "fan:A"]
    assert (point.channels, point.lost) == (4, 4)
    _room(tmp_path, change(AIR, "fans = 2", "fans = 1"))
    assert solver.check(path, build).builds[0].air[1].endswith("nobody says how warm it gets (still); switch it off")
    assert all(point.what != "fan:A" for point in solver.single_points(path, build).points)
    assert "how warm A gets without a fan is not known" in strapwork("failed", str(path), str(build), "fan:A").stderr


def test_of_several_rooms_each_is_told(tmp_path: Path) -> None:
    frame = ROOM.split("[[frame]]")[1].split("[[need]]")
    room = "[[room.frame]]" + frame[0] + "[[room.need]]" + frame[1]
    several = ROOM.partition("[[frame]]")[0] + "".join(
        f'[[room]]\nname = "{name}"\n{room}' for name in ("North", "South")
    )
    air = solver.plan(_room(tmp_path, room=several)).builds[0].air
    assert [told.split(" has ")[0].split(" without ")[0] for told in air] == [
        f"room {name}: frame A" for name in ("North", "North", "South", "South")
    ]


def test_without_figures_nothing_is_told_or_it_is_not_checked(tmp_path: Path) -> None:
    bare = 'air = { path = "fan", flow_m3_h = 20 }\n'
    assert solver.plan(_room(tmp_path, bare, change(ROOM, "blanks = false\n", ""))).builds[0].air == []
    build = solver.plan(_room(tmp_path, bare)).builds[0]
    assert build.air == []
    assert "leak area unknown: cairn-2; so what open slots let by is not checked" in build.not_checked


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("gap_area_cm2 = 30, ", "", "air > gap_area_cm2: is missing, beside which leak_cm2 counts"),
        ("fans = 2", f"fans = 2, {STILL}", "air > still: is for a frame with one fan: fans = 1"),
        ("fans = 2 }\n", f'fans = 1, {STILL} }}\ncards = "flat"\n', "flat cards get no draught between them"),
        ("fans = 2", "fans = 0", "fans"),
        ("leak_cm2 = 45", "leak_cm2 = -1", "leak_cm2"),
    ],
)
def test_a_fault_of_a_fan_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert any(told in each for each in texts_of(_room(tmp_path, change(AIR, old, new))))


def test_blanks_that_nothing_depends_on_are_warned_of(tmp_path: Path) -> None:
    areas = "gap_area_cm2 = 30, opening_below_cm2 = 60, opening_above_cm2 = 60"
    rising = f'air = {{ path = "draught", {areas}, stack_mm = 190 }}\n'
    warnings = solver.plan(_room(tmp_path, rising)).warnings
    assert [warning.message for warning in warnings] == ["has no effect: in a draught each gap draws its own air"]
