"""The clock in work orders, on test sheets and on the page: what feeds what, lock seen, lines ended once.

The order is common practice, without a source: amplifiers and phantom power off before a clock is touched, what leads
before what it feeds, lock seen at each frame before anything is sent.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from inside import strapwork

import solver
from solver.reports.work_order import OrderStep, WorkOrder

HARDWARE = """\
format = 1
[[card]]
id = "line-in-4"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4, "96" = 4 } }]
[[card]]
id = "mic-4"
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 4, "96" = 4 } }]
[[board]]
id = "gull-8"
limits = { "48" = { in = 8, out = 8 }, "96" = { in = 8, out = 8 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
clock_input = { termination = "none" }
[[chassis]]
id = "cairn-2"
slot_count = 2
boards = ["gull-8"]
"""

SCENARIO = """\
format = 1
title = "Gannet Quay, two frames"
hardware = ["hardware.toml"]
currency = "GBP"
SETUPS
[stock]
line-in-4 = 2
mic-4 = 2
gull-8 = 3
[[frame]]
name = "A"
chassis = "cairn-2"
board = "gull-8"
[[frame]]
name = "B"
chassis = "cairn-2"
board = "gull-8"
[[frame]]
name = "C"
chassis = "cairn-2"
board = "gull-8"
[[need]]
name = "booth"
direction = "in"
signal = "mic"
channels = 4
[[need]]
name = "tape"
direction = "in"
signal = "line"
channels = 4
"""

CLOCK = """
[[clock]]
name = "quartz"
ppm = 1
outputs = [{ kind = "word", most = 4 }]
[[clock]]
name = "B"
inputs = [{ kind = "word" }]
outputs = [{ kind = "madi", count = 2 }]
[[clock]]
name = "A"
inputs = [{ kind = "madi" }]
[[clock]]
name = "recorder"
inputs = [{ kind = "madi" }]
[[clock]]
name = "player"
inputs = [{ kind = "word", termination = "fixed" }]
"""

LINES = """
[[clock_line]]
source = "B"
kind = "madi"
frames = ["A"]
[[clock_line]]
source = "B"
kind = "madi"
frames = ["recorder"]
[[clock_line]]
source = "quartz"
frames = ["C", "B", "player"]
"""

DAYS = """
[[setup]]
name = "day"
needs = ["booth", "tape"]
[[setup]]
name = "night"
needs = ["booth", "tape"]
sample_rate = 96000
"""


def _frame(name: str, card: str, more: str = "") -> str:
    return f'[[frame]]\nname = "{name}"\n{more}board = "gull-8"\ncards = {{ 1 = "{card}" }}\n'


OLD = "format = 1\n" + _frame("A", "mic-4") + _frame("B", "line-in-4")
NEW = "format = 1\n" + _frame("A", "line-in-4") + _frame("B", "mic-4")
BOTH = "format = 1\n" + "".join(
    _frame(name, card, f'setup = "{day}"\n')
    for day in ("day", "night")
    for name, card in (("A", "mic-4"), ("B", "line-in-4"))
)


def _written(folder: Path, clock: str, setups: str = "", new: str = NEW) -> tuple[Path, Path, Path]:
    paths = folder / "scenario.toml", folder / "old.toml", folder / "new.toml"
    (folder / "hardware.toml").write_text(HARDWARE, "utf-8")
    for path, text in zip(paths, (SCENARIO.replace("SETUPS\n", "") + setups + clock, OLD, new), strict=True):
        path.write_text(text, "utf-8")
    return paths


def _order(folder: Path, clock: str = CLOCK + LINES) -> WorkOrder:
    scenario, old, new = _written(folder, clock)
    return solver.work_order(scenario, new, old=old)


def _steps(order: WorkOrder, *actions: str) -> list[OrderStep]:
    return [step for section in order.sections for step in section.steps if step.action in actions]


def test_what_leads_is_named_and_what_feeds_is_powered_up_before_what_it_feeds(tmp_path: Path) -> None:
    order = _order(tmp_path)
    up = _steps(order, "power up", "clock lock")
    assert [(step.action, step.frame) for step in up] == [
        ("power up", "B"),
        ("clock lock", "B"),
        ("power up", "A"),
        ("clock lock", "A"),
    ]
    assert "Clock source (quartz) on first" in up[0].text
    assert up[1].text == "B is locked to quartz (word clock), and shows 48 kHz"
    assert up[3].text == "A is locked to B (MADI), and shows 48 kHz"


def test_every_line_is_looked_at_before_power_and_ended_once_without_frames_that_are_not_used(tmp_path: Path) -> None:
    order = _order(tmp_path)
    lines = [step for step in _steps(order, "clock line") if step.frame is None]
    assert [step.text for step in lines] == [
        "Clock line: word clock from quartz to B, then player. Ended once, at player, which always does it; not at B",
        "Clock line: MADI from B to A",
        "Clock line: MADI from B to recorder",
    ]
    assert max(step.number for step in lines) < min(step.number for step in _steps(order, "power up"))


def test_what_gets_its_clock_through_a_frame_is_handed_to_a_stand_in_before_its_mains_go_off(tmp_path: Path) -> None:
    order = _order(tmp_path)
    (handed,) = _steps(order, "clock stand-in")
    assert (handed.frame, handed.text) == (
        "B",
        "A and recorder take their clock from B: hand them to a stand-in first: ________",
    )
    assert handed.number < min(step.number for step in _steps(order, "mains off") if step.frame == "B")
    undrawn = _order(tmp_path, CLOCK)
    assert [step.frame for step in _steps(undrawn, "clock stand-in")] == ["A", "B"]
    assert "If anything takes its clock" in _steps(undrawn, "clock stand-in")[0].text
    assert _steps(undrawn, "clock lock")[0].text == "A is locked, and shows 48 kHz"


@pytest.mark.parametrize(("player", "ended"), [("none", "by a 75 ohm plug"), ("switched", "its switch on")])
def test_the_last_device_ends_a_line_by_what_it_has(tmp_path: Path, player: str, ended: str) -> None:
    order = _order(tmp_path, CLOCK.replace('"fixed"', f'"{player}"') + LINES)
    assert f"Ended once, at player, {ended}; not at B" in _steps(order, "clock line")[0].text


def test_the_test_sheet_begins_with_lines_and_locks_of_everything_on_them(tmp_path: Path) -> None:
    sheet = _order(tmp_path).test_sheet
    assert sheet is not None
    assert [line.text for line in sheet.clock_lines][1:] == ["MADI from B to A", "MADI from B to recorder"]
    assert [lock.text for lock in sheet.clock] == [
        "quartz: leads by its own clock, 48 kHz shown",
        "frame B: locked to quartz (word clock), 48 kHz shown",
        "player: locked to quartz (word clock), 48 kHz shown",
        "frame A: locked to B (MADI), 48 kHz shown",
        "recorder: locked to B (MADI), 48 kHz shown",
    ]
    ran = strapwork("work-order", tmp_path / "scenario.toml", tmp_path / "new.toml")
    assert "[ ]  recorder: locked to B (MADI), 48 kHz shown" in ran.stdout
    assert "[ ]  MADI from B to recorder" in ran.stdout


def test_phantom_is_off_before_the_clock_has_another_rate_and_what_leads_is_set_first(tmp_path: Path) -> None:
    """As the plan says it of two kinds of day: amplifiers and phantom power off first."""
    scenario, _, new = _written(tmp_path, CLOCK + LINES, DAYS, BOTH)
    order = solver.work_order(scenario, new, setup="night", from_setup="day")
    told = " ".join(strapwork("check", scenario, new).stdout.split())
    off, rate = told.index("amplifiers and phantom power off first"), told.index("clock source and recorder to 96 kHz")
    assert off < rate
    steps = _steps(order, "phantom off", "clock line", "clock lock")
    assert [step.action for step in steps] == ["phantom off", *["clock line"] * 4, "clock lock", "clock lock"]
    assert steps[0].text == "Phantom of all frames: note it, then off as a setting"
    assert steps[2].text == "Clock line: MADI from B to A, all ends alike: framed whole or split"
    assert steps[4].text == "Clock source (quartz) and recorder to 96 kHz, amplifiers still off"
    assert [step.frame for step in steps[5:]] == ["B", "A"]


def test_the_page_has_the_lines_and_the_door_what_the_frame_is_locked_to(tmp_path: Path) -> None:
    scenario, _, new = _written(tmp_path, CLOCK + LINES)
    assert strapwork("pack", scenario, new, "--to", tmp_path / "drawn").returncode == 0
    page = (tmp_path / "drawn/index.html").read_text("utf-8")
    assert "<dt>Clock from</dt><dd>quartz (word clock)</dd>" in page
    assert "<dt>Clock from</dt><dd>B (MADI)</dd>" in page
    assert '<th scope="row">quartz</th><td>word clock</td><td>B, player</td><td>player, always; B not</td>' in page
    scenario.write_text(scenario.read_text("utf-8").replace(LINES, ""), "utf-8")
    assert strapwork("pack", scenario, new, "--to", tmp_path / "undrawn").returncode == 0
    assert "the scenario draws no clock line" in (tmp_path / "undrawn/index.html").read_text("utf-8")


def test_a_clock_line_that_is_wrong_makes_the_pack_faulty(tmp_path: Path) -> None:
    """The player always ends its line, and B comes after it."""
    scenario, _, new = _written(tmp_path, CLOCK + LINES.replace('"C", "B", "player"', '"C", "player", "B"'))
    ran = strapwork("pack", scenario, new, "--to", tmp_path / "pack")
    assert ran.returncode == 1
    assert "player always ends the line, and is not its last device" in " ".join(ran.stdout.split())
    assert not (tmp_path / "pack").exists()


def _door(folder: Path, frame: str, clock: str) -> str:
    """What the sheet for the rack door of a frame says of power, without tags."""
    scenario, _, new = _written(folder, clock)
    assert strapwork("pack", scenario, new, "--to", folder / "pack", "--force").returncode == 0
    page = (folder / "pack/index.html").read_text("utf-8")
    sheet = page[page.index(f"Frame {frame}: for the rack door") :]
    return " ".join(re.sub("<[^>]*>", " ", sheet[sheet.index("Power up") : sheet.index("Rate")]).split())


def test_the_rack_door_names_what_is_powered_up_and_what_is_down_with_a_frame(tmp_path: Path) -> None:
    """The clock source feeds B and player, and B feeds A and recorder; A feeds nothing."""
    drawn = CLOCK + LINES
    said = _door(tmp_path, "B", drawn)
    assert "Clock source on: quartz. Frame B on; wait until its lock is steady. On in this order" in said
    assert "each until its lock is steady: player, A, recorder. Recorder on if it is not yet;" in said
    assert "Frame B off. Without a clock then: A, recorder. Clock source (quartz) off." in said
    said = _door(tmp_path, "A", drawn)
    assert "Clock source on: quartz, then B. Frame A on;" in said
    assert "steady: player, recorder." in said
    assert "Frame A off. Clock source (quartz) off." in said
    said = _door(tmp_path, "A", CLOCK)
    assert "Clock source on. Frame A on; wait until its lock is steady. Recorder on; sample rate" in said
    assert "Frame A off. What takes its clock from it is down too. Clock source off." in said
