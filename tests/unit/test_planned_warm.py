"""A plan for a rack in which the best plan has no place: it is one that stands anywhere, verified, or it is said."""

from __future__ import annotations

from pathlib import Path

from inside import strapwork
from samples import change

import solver

HARDWARE = """\
format = 1
[[card]]
id = "hot-in-4"
price = "100.00"
heat_w = 14
air_limit_c = 50
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[card]]
id = "cool-in-4"
price = "300.00"
heat_w = 6
air_limit_c = 50
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[board]]
id = "gull-8"
heat_w = 2
limits = { "48" = { in = 8, out = 8 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
[[chassis]]
id = "cairn-2"
slot_count = 2
height_u = 2
boards = ["gull-8"]
air = { path = "draught", gap_area_cm2 = 38, opening_below_cm2 = 60, opening_above_cm2 = 60, stack_mm = 190 }
"""

ROOM = """\
format = 1
title = "Gannet Quay, over an amplifier"
hardware = ["hardware.toml"]
currency = "GBP"
rank = ["cost"]
air = { inlet_c = 25, altitude_m = 0 }
limits = { refuse_below_k = 3, warn_below_k = 5 }
[[offer]]
card = "hot-in-4"
[[offer]]
card = "cool-in-4"
[[frame]]
name = "A"
chassis = "cairn-2"
board = "gull-8"
[[need]]
name = "tape"
direction = "in"
signal = "line"
channels = 8
[[rack]]
name = "R1"
units = 10
inlet_c = 25
air_m3_h = 60
frames = ["A"]
at = { amplifier = 1 }
item = [{ name = "amplifier", height_u = 2, heat_w = 160, air = "below" }]
"""


def _room(folder: Path, room: str = ROOM) -> Path:
    (folder / "hardware.toml").write_text(HARDWARE, encoding="utf-8")
    (folder / "room.toml").write_text(room, encoding="utf-8")
    return folder / "room.toml"


def test_a_cooler_build_is_planned_where_the_best_one_has_no_place(tmp_path: Path) -> None:
    """160 W in 60 m3/h of 1.184 kg/m3 warm the inlet by 160 / (1.184 x 1006 x 60 / 3600) = 8.06 K.

    Two hot cards have 5 K to spare and a hot beside a cool one 9 K, as a rise goes with the heat of the gap
    to two thirds: neither keeps 3 K with that. Two cool ones have 13 K.
    """
    path, built, best = _room(tmp_path), tmp_path / "built.toml", tmp_path / "best.toml"
    assert strapwork("plan", str(path), "--save", str(best)).returncode == 0
    assert solver.rack(path, best).outcome == "impossible"
    assert solver.plan(path).builds[0].cost == "200.00"
    run = strapwork("rack", str(path), "--save", str(built))
    assert run.returncode == 0, run.stdout
    said = " ".join(run.stdout.split())
    assert (
        "The best plan has no place: what rises from below is too warm for it; this is the best plan that stands"
        in said
    )
    assert "up to 8.1 K, the worst that can be; that none that is better has places is not proven" in said
    checked = solver.check(path, built)
    assert (checked.outcome, checked.builds[0].cost) == ("clean", "600.00")
    worse = change(ROOM, 'board = "gull-8"\n', 'board = "gull-8"\ninlet_rise_k = 8.1\n')
    assert "cooling" not in [fault.rule for fault in solver.check(_room(tmp_path, worse), built).faults]
    assert [fault.rule for fault in solver.check(path, best).faults] == ["cooling"]


def test_where_no_build_stands_it_that_is_said(tmp_path: Path) -> None:
    run = strapwork("rack", str(_room(tmp_path, change(ROOM, "heat_w = 160", "heat_w = 420"))))
    assert run.returncode == 1
    said = " ".join(run.stdout.split())
    assert "no build does with all other heat that its rack has then below each frame" in said


def test_the_best_plan_stands_where_it_has_a_place(tmp_path: Path) -> None:
    """Above the frame the amplifier warms nothing of it; in the way of a cable it is no matter of warmth."""
    free = solver.rack(_room(tmp_path, change(ROOM, "at = { amplifier = 1 }\n", "")))
    assert (free.outcome, free.notes) == ("found", ["the frames are filled as the best plan has them"])
    low = solver.rack(_room(tmp_path, change(ROOM, "units = 10", "units = 5")))
    assert (low.outcome, low.notes) == ("impossible", ["the frames are filled as the best plan has them"])
