"""What goes down with a clock: its source, a line, a distributor, and a frame that feeds others. Trees by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import change

import solver
from solver.room.errors import WrongQuestion

HARDWARE = """\
format = 1
[[card]]
id = "line-in-4"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[board]]
id = "gull-8"
limits = { "48" = { in = 8, out = 8 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
clock_input = { termination = "none" }
[[chassis]]
id = "cairn-2"
slot_count = 2
boards = ["gull-8"]
"""

FRAMES = "".join(f'[[frame]]\nname = "{name}"\nchassis = "cairn-2"\nboard = "gull-8"\n' for name in "ABC")

SCENARIO = f"""\
format = 1
title = "Gannet Quay, a clock"
hardware = ["hardware.toml"]
currency = "GBP"
[stock]
line-in-4 = 3
gull-8 = 4
{FRAMES}
[[need]]
name = "tape"
direction = "in"
signal = "line"
channels = 10
"""

CLOCK = """
[[clock]]
name = "quartz"
ppm = 1
outputs = [{ kind = "word", count = 2, most = 2 }]
[[clock]]
name = "hub"
inputs = [{ kind = "word", termination = "fixed" }]
outputs = [{ kind = "word", count = 2 }]
[[clock]]
name = "A"
inputs = [{ kind = "word" }]
outputs = [{ kind = "madi" }]
[[clock]]
name = "B"
ppm = 5
inputs = [{ kind = "word" }]
outputs = [{ kind = "word" }]
[[clock]]
name = "C"
inputs = [{ kind = "madi" }]
[[clock]]
name = "recorder"
ppm = 10
inputs = [{ kind = "word", termination = "fixed" }]
[[clock_line]]
source = "quartz"
frames = ["A", "hub"]
[[clock_line]]
source = "quartz"
frames = ["recorder"]
[[clock_line]]
source = "hub"
frames = ["B"]
terminator = true
[[clock_line]]
source = "A"
kind = "madi"
frames = ["C"]
"""

STANDS = "format = 1\n" + "".join(
    f'[[frame]]\nname = "{name}"\nboard = "gull-8"\ncards = {{ 1 = "line-in-4" }}\n'
    f'serves = [{{ need = "tape", slot = 1, channels = "1-{count}" }}]\n'
    for name, count in (("A", 4), ("B", 4), ("C", 2))
)


def _files(folder: Path, clock: str = CLOCK) -> tuple[Path, Path]:
    (folder / "hardware.toml").write_text(HARDWARE, "utf-8")
    (folder / "room.toml").write_text(SCENARIO + clock, "utf-8")
    (folder / "stands.toml").write_text(STANDS, "utf-8")
    return folder / "room.toml", folder / "stands.toml"


def test_whatever_has_no_clock_is_told_the_worst_first(tmp_path: Path) -> None:
    """Of ten channels two are idle in C: with A goes C, with the hub B, with the source all."""
    points = {point.what: point for point in solver.single_points(*_files(tmp_path)).points}
    told = {what: (point.lost, point.without_clock) for what, point in points.items() if point.without_clock}
    assert told == {
        "clock:quartz": (10, ["A", "B", "C", "hub", "recorder"]),
        "clock-line:1": (10, ["A", "B", "C", "hub"]),
        "clock-line:2": (0, ["recorder"]),
        "clock:hub": (2, ["B"]),
        "clock-line:3": (2, ["B"]),
        "clock-line:4": (2, ["C"]),
        "frame:A": (6, ["C"]),
        "board:A": (6, ["C"]),
    }
    assert list(points)[:2] == ["clock:quartz", "clock-line:1"]
    assert points["slot:A:1"].lost == 2  # the card alone: its frame passes the clock on


def test_what_could_lead_is_told_the_truest_first(tmp_path: Path) -> None:
    """The recorder has a clock of its own and no output for it."""
    found = solver.failed(*_files(tmp_path), "clock:quartz")
    assert (found.without_clock, len(found.affected)) == (["A", "B", "C", "hub", "recorder"], 10)
    assert found.could_lead == ["B (within 5 ppm)"]
    led = change(CLOCK, "ppm = 10\n", 'ppm = 10\noutputs = [{ kind = "word" }]\n')
    found = solver.failed(*_files(tmp_path, led), "clock:quartz")
    assert found.could_lead == ["B (within 5 ppm)", "recorder (within 10 ppm)"]
    said = " ".join(strapwork("failed", *_files(tmp_path), "clock:quartz").stdout.split())
    assert "could lead instead B (within 5 ppm); amplifiers off meanwhile" in said
    assert solver.failed(*_files(tmp_path), "slot:A:1").could_lead == []
    assert solver.failed(*_files(tmp_path), "clock-line:1").could_lead == ["B (within 5 ppm)"]  # quartz leads on


def test_a_board_that_is_exchanged_feeds_again_what_it_fed(tmp_path: Path) -> None:
    """A board is on the shelf: with it frame A and frame C are back."""
    patching, shelf = solver.failed(*_files(tmp_path), "board:A").repairs[:2]
    assert (patching.lost, shelf.how, shelf.outcome, shelf.moved) == (6, "shelf", "whole", [])


def test_where_no_line_is_drawn_no_clock_is_looked_at(tmp_path: Path) -> None:
    files = _files(tmp_path, "")
    assert all(point.without_clock == [] for point in solver.single_points(*files).points)
    with pytest.raises(WrongQuestion, match="nothing in this build is called"):
        solver.failed(*files, "clock:quartz")


def test_a_name_like_one_of_the_clock_is_named(tmp_path: Path) -> None:
    with pytest.raises(WrongQuestion, match='did you mean "clock:hub"'):
        solver.failed(*_files(tmp_path), "clock:hubb")
    with pytest.raises(WrongQuestion, match='did you mean "frame:C"'):
        solver.failed(*_files(tmp_path), "clock:C")


def test_what_is_left_without_a_clock_is_no_all_clear(tmp_path: Path) -> None:
    found = solver.failed(*_files(tmp_path), "clock-line:2")
    assert (found.without_clock, found.affected) == (["recorder"], [])
    said = strapwork("failed", *_files(tmp_path), "clock-line:2").stdout
    assert "No channel that is needed is lost; see that what is without a clock gets one" in said
    assert "nothing to mend" not in said


def test_what_is_converted_has_its_own_clock(tmp_path: Path) -> None:
    own = 'name = "recorder"\nppm = 10\nasynchronous = true\nconverted = true\n'
    clock = change(CLOCK, 'name = "recorder"\nppm = 10\n', own)
    clock = change(clock, '[[clock_line]]\nsource = "quartz"\nframes = ["recorder"]\n', "")
    found = solver.failed(*_files(tmp_path, clock), "clock:quartz")
    assert (found.without_clock, found.could_lead) == (["A", "B", "C", "hub"], ["B (within 5 ppm)"])
