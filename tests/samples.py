"""A small scenario, its hardware file and a build of it, which tests change in one place; and two bare rooms."""

from __future__ import annotations

from pathlib import Path

import pytest

from solver.files.reading import load_scenario
from solver.room.faults import Fault, FileFaults

HARDWARE = """\
format = 1
[[card]]
id = "line-in-8"
price = "1290.00"
heat_w = 12.1
rails = { "+17" = 0.31, "-17" = 0.28, "+5" = 0.40 }
ports = [ { direction = "in", signals = ["line"], channels = { "48" = 8, "96" = 8 } } ]
[[card]]
id = "mic-4"
ports = [ { direction = "in", signals = ["mic", "line"], channels = { "48" = 4 } } ]
[[card]]
id = "aes3-out-16"
span = 2
ports = [ { direction = "out", signals = ["aes3"], channels = { "48" = 16 }, grain = 2, on_slot = 2 } ]
[[board]]
id = "shale-64"
limits = { "48" = { in = 64, out = 64 }, "96" = { in = 32, out = 32 } }
inputs = { first_slot = 1, widths = 6 }
outputs = { first_slot = 8, widths = 8 }
[[board.strap_group]]
name = "input width"
kind = "links"
straps = ["W1", "W3"]
[[board.strap_group.setting]]
closed = ["W1", "W3"]
inputs = { widths = [ { slots = "1-2", width = 16 }, { slots = "3-12", width = 8 } ] }
[[board.strap_group]]
name = "output start"
kind = "switch"
[[board.strap_group.setting]]
position = "1"
outputs = { first_slot = 1 }
[[chassis]]
id = "petrel-12"
slot_count = 12
boards = ["shale-64"]
air = { path = "fan", flow_m3_h = 40 }
"""

SCENARIO = """\
format = 1
title = "Gannet Quay"
hardware = ["quay.toml"]
currency = "GBP"
rank = ["cost", "unused"]
slack = { cost = "5 %" }
[stock]
line-in-8 = 1
[[offer]]
card = "mic-4"
price = "810.50"
[[frame]]
name = "A"
chassis = "petrel-12"
board = "shale-64"
straps = { "input width" = "open" }
pins = { "3" = "line-in-8" }
keep_empty = [12]
[[must_seat]]
card = "mic-4"
[[need]]
name = "returns"
direction = "in"
signal = "line"
channels = 8
"""

BUILD = """\
format = 1
[[frame]]
name = "A"
board = "shale-64"
straps = { "input width" = "open", "output start" = "1" }
cards = { "3" = "line-in-8" }
serves = [ { need = "returns", slot = 3, channels = "1-8" } ]
"""

TWO_ROOMS = """\
format = 1
title = "Two rooms"
hardware = ["HARDWARE"]
currency = "GBP"

[[room]]
name = "North"
frame = [{ name = "A", chassis = "tern-6", board = "slate-32" }]

[[room]]
name = "South"
frame = [{ name = "A", chassis = "tern-6", board = "slate-32" }]
"""


def write(folder: Path, scenario: str = SCENARIO, hardware: str = HARDWARE) -> Path:
    (folder / "quay.toml").write_text(hardware, encoding="utf-8")
    (folder / "room.toml").write_text(scenario, encoding="utf-8")
    return folder / "room.toml"


def write_two_rooms(folder: Path) -> Path:
    """On the hardware that ships."""
    path = folder / "rooms.toml"
    hardware = Path(__file__).parents[1] / "scenarios/hardware/quay.toml"
    path.write_text(TWO_ROOMS.replace("HARDWARE", hardware.as_posix()), encoding="utf-8")
    return path


def change(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new, 1)


def faults_of(path: Path) -> tuple[Fault, ...]:
    with pytest.raises(FileFaults) as caught:
        load_scenario(path)
    return caught.value.faults


def texts_of(path: Path) -> list[str]:
    return [fault.text() for fault in faults_of(path) if fault.severity == "fault"]


FOUR_FRAMES = """\
format = 1
title = "Four frames"
hardware = ["HARDWARE"]
currency = "GBP"
sample_rate = 48000
stock = { line-in-8 = 16, line-out-8 = 16 }
frame = [
  { name = "A", chassis = "petrel-12", board = "shale-64" }, { name = "B", chassis = "petrel-12", board = "shale-64" },
  { name = "C", chassis = "petrel-12", board = "shale-64" }, { name = "D", chassis = "petrel-12", board = "shale-64" },
]

[[need]]
name = "line tie returns"
direction = "in"
signal = "line"
channels = 126
spare = 2

[[need]]
name = "outboard sends"
direction = "out"
signal = "line"
channels = 128

[[bay]]
name = "P1"
signals = ["line"]
rows = 12
points = 48
gauge = "bantam"
normal = "half"
rear = { connector = "db25", block = 8 }
"""


def write_four_frames(folder: Path) -> tuple[Path, Path]:
    """Four frames of the hardware that ships with 256 channels, all used and on a bay: scenario and build."""
    scenario, build = folder / "four.toml", folder / "four-drawn.toml"
    hardware = Path(__file__).parents[1] / "scenarios/hardware/quay.toml"
    scenario.write_text(FOUR_FRAMES.replace("HARDWARE", hardware.as_posix()), encoding="utf-8")
    cards = ", ".join(
        f'{slot} = "{card}"'
        for first, card in ((1, "line-in-8"), (9, "line-out-8"))
        for slot in range(first, first + 4)
    )
    straps = '"input width" = "open", "output start" = "open", "clock end" = "open"'
    frames = [
        f'[[frame]]\nname = "{name}"\nboard = "shale-64"\nstraps = {{ {straps} }}\ncards = {{ {cards} }}\n'
        for name in "ABCD"
    ]
    build.write_text("format = 1\n" + "".join(frames), encoding="utf-8")
    return scenario, build
