"""Patch bays in a scenario: faults with their keys. What may be on jacks is common practice, without a source."""

from __future__ import annotations

from pathlib import Path

import pytest
from samples import HARDWARE, SCENARIO, change, texts_of, write

from solver.files.reading import load_scenario

BAY = """
[[bay]]
name = "P1"
signals = ["line"]
points = 24
gauge = "b-gauge"
normal = "half"
"""

DIGITAL = HARDWARE.replace('signals = ["mic", "line"]', 'signals = ["mic", "line", "madi"]')

FAULTS = {
    "an odd row": ("points = 24", "rows = 3\npoints = 24", "rows: must be pairs, sources above destinations, found 3"),
    "half on a microphone": (
        'signals = ["line"]',
        'signals = ["mic"]',
        'normal: "half" is for analogue line alone; "mic" is full',
    ),
    "half on AES3": (
        'signals = ["line"]',
        'signals = ["aes3"]',
        'normal: "half" is for analogue line alone; "aes3" is full',
    ),
    "parallel on AES3": (
        'signals = ["line"]\npoints = 24\ngauge = "b-gauge"\nnormal = "half"',
        'signals = ["aes3"]\npoints = 24\ngauge = "b-gauge"\nnormals = [{ points = "1-2", normal = "parallel" }]',
        'normals 1 > normal: "parallel" is for analogue line alone; "aes3" is full or open',
    ),
    "MADI": ('signals = ["line"]', 'signals = ["line", "madi"]', 'signals: "madi" is never on jacks'),
    "no such signal": (
        'signals = ["line"]',
        'signals = ["lien"]',
        'signals: "lien" is no signal of these hardware files',
    ),
    "a signal twice": ('signals = ["line"]', 'signals = ["line", "line"]', 'signals: "line" stands there twice'),
    "no such gauge": ('"b-gauge"', '"a-gauge"', 'gauge: "a-gauge" is not allowed'),
    "no such normal": ('"half"', '"halff"', 'normal: "halff" is not allowed; did you mean "half"?'),
    "no points": ("points = 24", "points = 0", "points: must be at least 1, found 0"),
    "a pair that is not there": (
        'normal = "half"',
        'normals = [{ pair = 2, points = "1-8", normal = "full" }]',
        "normals 1 > pair: this bay has pairs 1 to 1",
    ),
    "points that two entries name": (
        'normal = "half"',
        'normals = [{ points = "1-8", normal = "full" }, { points = "7-9", normal = "half" }]',
        "normals 2 > points: entry 1 says how 7-8 of the pair are normalled",
    ),
    "a connector that is longer than a row": (
        'normal = "half"',
        'rear = { connector = "multi", block = 25 }',
        "rear > block: a connector of 25 points has no room on rows of 24",
    ),
    "points that are not there": (
        'normal = "half"',
        'normals = [{ points = "20-30", normal = "full" }]',
        "normals 1 > points: a row has points 1 to 24, not 25-30",
    ),
    "a kept point that is not there": (
        'normal = "half"',
        'keep = { C1 = "returns 1" }',
        "keep > C1: is no point of this bay, which has A1 to B24",
    ),
    "a kept point that is none": (
        'normal = "half"',
        'keep = { 7 = "returns 1" }',
        "must be a row and a point such as B14",
    ),
    "no such channel": (
        'normal = "half"',
        'keep = { A1 = "returns 9" }',
        'keep > A1: "returns 9" is no channel of a need of this room',
    ),
    "a channel that it does not take": (
        'normal = "half"',
        'direction = "out"\nkeep = { A1 = "returns 1" }',
        'keep > A1: "returns 1" is line in, which this bay does not take',
    ),
    "a channel kept twice": (
        'normal = "half"',
        'keep = { A1 = "returns 1", A2 = "returns 1" }',
        'keep > A2: "returns 1" is kept at P1 A1 already',
    ),
    "both points of a pair": (
        'normal = "half"',
        'keep = { A1 = "returns 1", B1 = "returns 2" }',
        "keep > B1: is the other point of A1, which is kept already",
    ),
    "a wrong key": ('normal = "half"', 'normall = "half"', 'normall: there is no such key; did you mean "normal"?'),
}


@pytest.mark.parametrize(("old", "new", "told"), FAULTS.values(), ids=FAULTS)
def test_a_bay_has_what_may_be_on_jacks_and_points_that_are_there(
    tmp_path: Path, old: str, new: str, told: str
) -> None:
    (text,) = texts_of(write(tmp_path, SCENARIO + change(BAY, old, new), DIGITAL))
    assert text.startswith('bay "P1" > ')
    assert told in text


def test_two_bays_do_not_share_a_name(tmp_path: Path) -> None:
    (text,) = texts_of(write(tmp_path, SCENARIO + BAY + BAY))
    assert text == 'bay "P1" > name: "P1" is already the name of another bay'


def test_a_sound_bay_has_no_fault(tmp_path: Path) -> None:
    kept = change(BAY, 'normal = "half"', 'normal = "half"\nkeep = { B3 = "returns 8" }')
    assert load_scenario(write(tmp_path, SCENARIO + kept)).warnings == ()


@pytest.mark.parametrize(("gauge", "points"), [("b-gauge", 24), ("jack-6.35", 24), ("bantam", 48)])
def test_more_points_than_a_rack_unit_has_are_warned_of(tmp_path: Path, gauge: str, points: int) -> None:
    """One rack unit has two rows of 24 long-frame jacks or of 48 bantam ones (a text that tells what is usual)."""
    bay = change(change(BAY, "b-gauge", gauge), "points = 24", f"points = {points}")
    assert load_scenario(write(tmp_path, SCENARIO + bay)).warnings == ()
    bay = change(bay, f"points = {points}", f"points = {points + 1}")
    (warning,) = load_scenario(write(tmp_path, SCENARIO + bay)).warnings
    assert warning.text().endswith(f"{points + 1} points in a row are more than a rack unit has of {gauge}, {points}")


def test_rows_that_do_not_end_with_a_connector_are_warned_of(tmp_path: Path) -> None:
    odd = change(BAY, 'normal = "half"', 'rear = { connector = "multi", block = 9 }')
    (warning,) = load_scenario(write(tmp_path, SCENARIO + odd)).warnings
    assert warning.text() == 'bay "P1" > rear > block: rows of 24 points end in a block of 6; see that it is so'
