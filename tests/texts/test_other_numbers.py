"""Ways out that name other numbers: how they are told, and what is written of them."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest
import tomlkit
from inside import strapwork

from solver.reports.report import Report

HARDWARE = (Path(__file__).parents[2] / "scenarios/hardware").as_posix()

SCENARIO = f"""format = 1
title = "Digital lines on the stage box"
hardware = ["{HARDWARE}/quay.toml", "{HARDWARE}/cards/skaw.toml"]
currency = "GBP"
sample_rate = 48000
rank = ["cost"]
air = {{ inlet_c = 22, altitude_m = 10 }}

[stock]
mic-8 = 2
aes-8 = 1
back-8 = 1

[[frame]]
name = "A"
chassis = "tern-6"
board = "slate-32"
pins = {{ "2" = "aes-8" }} # inputs 9-16
"""

VOICES = """
[[need]]
name = "voices"
direction = "in"
signal = "mic"
"""

BESIDE = """
[[offer]]
card = "front-8"

[[need]]
name = "players"
direction = "in"
signal = "line"
channels = 7
numbers = "1-7"
"""

STAGE_TWO = """
[[frame]]
name = "B"
chassis = "tern-6"
board = "slate-32"
"""


class Way(NamedTuple):
    """A way out that is about numbers, as the document has it."""

    told: str
    after: str | None
    cost: str | None


def ways(path: Path) -> list[tuple[int, Way]]:
    """Those that are told, each with the number to apply it by."""
    report = Report.model_validate_json(strapwork("why", path, "--format", "json").stdout)
    assert report.clash is not None
    return [
        (number, Way(way.changes[0].text, way.changes[0].after, way.cost))
        for number, way in enumerate(report.clash.ways, 1)
        if len(way.changes) == 1 and way.changes[0].path[-1] == "numbers"
    ]


@pytest.mark.parametrize(
    ("asked", "expected", "written"),
    [
        (
            VOICES + "channels = 1\nnumbers = { from = 10 } # beside the desk\n",
            [Way('"voices": let it have input 8 in place of 10, the nearest that works', "input 8", "0.00")],
            VOICES + "channels = 1\nnumbers = { from = 8 } # beside the desk\n",
        ),
        (  # 17-18 is as far
            VOICES + 'channels = 2\nnumbers = "12-13"\n',
            [Way('"voices": let it begin at input 7 in place of 12, the nearest that works', "inputs 7-8", "0.00")],
            VOICES + 'channels = 2\nnumbers = "7-8"\n',
        ),
        (  # none is beyond 32
            VOICES + 'channels = 3\nnumbers = { list = "14-15, 12" }\n',
            [
                Way(
                    '"voices": let it have inputs 19-20, 17, each 5 higher, the nearest that works',
                    "inputs 19-20, 17",
                    "0.00",
                )
            ],
            VOICES + 'channels = 3\nnumbers = { list = "19-20, 17" }\n',
        ),
        (  # pairs begin with odd numbers
            VOICES + 'channels = 2\npairs = true\nnumbers = { from = 11 }\n',
            [Way('"voices": let it begin at input 7 in place of 11, the nearest that works', "inputs 7-8", "0.00")],
            VOICES + 'channels = 2\npairs = true\nnumbers = { from = 7 }\n',
        ),
        (  # 8 takes a card for lines and microphones
            f'{BESIDE}{VOICES}channels = 1\nnumbers = "12"\n',
            [
                Way('"voices": let it have input 17 in place of 12, the nearest at this cost', "input 17", "0.00"),
                Way('"voices": let it have input 8 in place of 12, the nearest that works', "input 8", "980.00"),
            ],
            f'{BESIDE}{VOICES}channels = 1\nnumbers = "17"\n',
        ),
        (
            f'{STAGE_TWO}{VOICES}channels = 1\nnumbers = {{ frame = "A", from = 10 }}\n',
            [
                Way(
                    '"voices": let it have input 8 of frame A in place of 10, the nearest that works',
                    "input 8 of frame A",
                    "0.00",
                )
            ],
            f'{STAGE_TWO}{VOICES}channels = 1\nnumbers = {{ frame = "A", from = 8 }}\n',
        ),
        (  # 32 numbers have no room to move it
            VOICES + 'channels = 3\nnumbers = "1, 10, 32"\nspare = 0\n',
            [Way('"voices": let its channels have other numbers', None, "0.00")],
            VOICES + 'channels = 3\nspare = 0\n',
        ),
    ],
)  # fmt: skip
def test_the_nearest_numbers_are_told_and_written(
    asked: str, expected: list[Way], written: str, tmp_path: Path
) -> None:
    path, to = tmp_path / "stage.toml", tmp_path / "moved.toml"
    path.write_text(SCENARIO + asked, encoding="utf-8")
    found = ways(path)
    assert [way for _, way in found] == expected
    assert strapwork("why", path, "--apply", found[0][0], "--to", to).returncode == 0
    assert to.read_text(encoding="utf-8") == SCENARIO + written
    planned = Report.model_validate_json(strapwork("plan", to, "--top", 1, "--format", "json").stdout)
    assert planned.builds[0].cost == expected[0].cost
    assert tomlkit.parse(to.read_text(encoding="utf-8"))


def test_a_pin_tells_where_the_numbers_of_its_slot_begin(tmp_path: Path) -> None:
    """In the directions of the card in which numbers are asked for, where boards leave it few choices."""
    path = tmp_path / "stage.toml"
    path.write_text(SCENARIO.replace('"2" = "aes-8"', '"1" = "aes-8"') + VOICES + 'channels = 1\nnumbers = "1"\n')
    report = Report.model_validate_json(strapwork("why", path, "--format", "json").stdout)
    assert report.clash is not None
    assert [member.text for member in report.clash.because] == [
        '"voices" asks for 1 mic input',
        '"voices" asks for input 1',
        "frame A: aes-8 is pinned to slot 1, whose first input is 1",
    ]


def test_what_cannot_be_had_is_told_after_what_can_and_what_is_given_last(tmp_path: Path) -> None:
    """One front-8 gives phantom power to banks of four or to none of a bank."""
    stock = "mic-8 = 2\naes-8 = 1\nback-8 = 1\n"
    text = SCENARIO.replace(stock, "front-8 = 1\n").replace('pins = { "2" = "aes-8" } # inputs 9-16\n', "")
    ribbons = VOICES.replace("voices", "ribbons") + 'channels = 3\nphantom = "forbidden"\n'
    path = tmp_path / "stage.toml"
    path.write_text(text + VOICES + 'channels = 5\nphantom = "wanted"\n' + ribbons)
    told = " ".join(line.strip() for line in strapwork("why", path).stdout.splitlines())
    assert "no more than 1 front-8 can be had, and none of " in told
    assert ' given: "ribbons" may get no phantom power Frames, boards' in told
    assert "of the hardware" not in told
