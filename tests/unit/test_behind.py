"""Frames behind another one, whose port carries them too: what of them comes, what that is at the host, and faults."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import change, texts_of, write

import solver

HARDWARE = """\
format = 1
[[card]]
id = "line-in-8"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 8 } }]
[[board]]
id = "gull-32"
limits = { "48" = { in = 32, out = 0 } }
inputs = { first_slot = 1, widths = 8 }
outputs = { first_slot = 1, widths = 0 }
host_port = [{ name = "MADI", kind = "madi" }]
[[chassis]]
id = "cairn-4"
slot_count = 4
boards = ["gull-32"]
"""

ROOM = """\
format = 1
title = "Gannet Quay, a box on the stage"
hardware = ["quay.toml"]
currency = "GBP"
rank = ["cost", "unused"]
[stock]
line-in-8 = 6
[[frame]]
name = "A"
chassis = "cairn-4"
board = "gull-32"
[[frame]]
name = "B"
chassis = "cairn-4"
board = "gull-32"
[[host_port]]
name = "MADI 1"
kind = "madi"
frame = "A"
first = 1
channels = { "48" = { in = 24, out = 0 } }
[[host_port]]
name = "stage box"
kind = "madi"
frame = "B"
through = "MADI 1"
channels = { "48" = { in = 16, out = 0 } }
[[host_port]]
name = "MADI 2"
kind = "madi"
[[need]]
name = "lines"
direction = "in"
signal = "line"
channels = 40
"""


def test_channels_of_a_frame_behind_follow_on_the_same_port(tmp_path: Path) -> None:
    """24 of frame A and 16 of frame B are all of the 40 that come: number 1 of B is channel 25 of the port."""
    path, built = write(tmp_path, ROOM, HARDWARE), tmp_path / "built.toml"
    assert strapwork("plan", str(path), "--save", str(built)).returncode == 0
    rows = solver.channels(path, built).rows
    told = {(row.frame, row.number): (row.host_port, row.port_channel, row.host) for row in rows}
    assert told["A", 24] == ("MADI 1", 24, 24)
    assert told["B", 1] == ("MADI 1", 25, 25)
    assert told["B", 16] == ("MADI 1", 40, 40)
    assert {len([row for row in rows if row.frame == frame]) for frame in "AB"} == {24, 16}
    assert solver.check(path, built).outcome == "clean"
    loads = strapwork("explain", str(path)).stdout
    assert '"MADI 1" carries 16,' in loads
    assert loads.count("behind another frame") == 1


def test_no_more_comes_than_the_share_of_each(tmp_path: Path) -> None:
    """41 channels have numbers in both frames together, and one of them does not come to the host."""
    path = write(tmp_path, change(ROOM, "channels = 40", "channels = 41"), HARDWARE)
    assert solver.plan(path).outcome == "impossible"
    wider = change(ROOM, "in = 16", "in = 17").replace("channels = 40", "channels = 41")
    assert solver.plan(write(tmp_path, wider, HARDWARE)).outcome == "found"


def test_it_is_planned_as_a_port_of_its_own_with_so_many_channels(tmp_path: Path) -> None:
    own = change(ROOM, 'through = "MADI 1"\n', "first = 25\n")
    behind, beside = (solver.plan(write(tmp_path, text, HARDWARE)).builds for text in (ROOM, own))
    assert [build.frames for build in behind] == [build.frames for build in beside]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('through = "MADI 1"', 'through = "MADI 3"', "is no port that a frame is cabled to"),
        ('through = "MADI 1"', 'through = "stage box"', "is this port itself"),
        ('frame = "B"', 'frame = "A"', 'is another frame than that of "MADI 1"'),
        ('through = "MADI 1"', 'through = "MADI 2"', 'is another frame than that of "MADI 2"'),
        (
            'name = "MADI 2"\nkind = "madi"',
            'name = "MADI 2"\nkind = "madi"\nframe = "B"',
            "frame B is cabled to a port",
        ),
        ('kind = "madi"\nframe = "B"', 'kind = "trunk"\nframe = "B"', '"MADI 1" is of kind "madi"'),
        (
            'channels = { "48" = { in = 16, out = 0 } }\n',
            "",
            "is missing: how many of that port's channels are its own",
        ),
        ('through = "MADI 1"', 'through = "MADI 1"\nfirst = 30', 'follows "MADI 1"; leave it out'),
        (
            "in = 24",
            "in = 50",
            "64 inputs are all that such a port has at this rate, 50 are frame A's and 16 those of frames behind it",
        ),
    ],
)
def test_a_fault_of_a_frame_behind_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert any(told in each for each in texts_of(write(tmp_path, change(ROOM, old, new), HARDWARE)))


def test_a_full_port_is_no_fault(tmp_path: Path) -> None:
    assert solver.plan(write(tmp_path, change(ROOM, "in = 24", "in = 48"), HARDWARE)).outcome == "found"
