"""Racks in a scenario and in a build: faults with their keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from samples import BUILD, HARDWARE, SCENARIO, change, texts_of, write

from solver.files.reading import load_drawn, load_scenario
from solver.room.faults import FileFaults

RACK = """
[[bay]]
name = "P1"
signals = ["line"]
points = 24
gauge = "b-gauge"

[[rack]]
name = "R1"
units = 20
reach = "8-16"
frames = ["A"]
bays = ["P1"]
item = [{ name = "meter", height_u = 1, in_reach = true }]
at = { A = 4 }
cable = [{ ends = ["A", "P1"] }]
"""

OUTSIDE = HARDWARE.replace('boards = ["shale-64"]', 'boards = ["shale-64"]\nsupply = { external = true, height_u = 2 }')

FAULTS = {
    "no such frame": ('frames = ["A"]', 'frames = ["B"]', 'frames: "B" is no frame of this room'),
    "no such bay": ('bays = ["P1"]', 'bays = ["P2"]', 'bays: "P2" is no bay of this room (P1)'),
    "a frame twice": ('frames = ["A"]', 'frames = ["A", "A"]', 'frames: "A" stands there twice'),
    "a name of something else": ('"meter"', '"A supply"', 'something else in this rack is called "A supply"'),
    "nothing at a unit": ("at = { A = 4 }", "at = { B = 4 }", 'at > B: "B" is nothing in this rack'),
    "a unit too high": ("at = { A = 4 }", "at = { A = 21 }", "at > A: this rack has units 1 to 20"),
    "no unit 0": ("at = { A = 4 }", "at = { A = 0 }", "at > A: must be at least 1, found 0"),
    "a reach too high": ('"8-16"', '"8-21"', "reach: this rack has units 1 to 20"),
    "a reach in pieces": ('"8-16"', '"8-10, 12"', 'reach: must be one run of units such as "12-20"'),
    "no reach": ('reach = "8-16"\n', "", "in_reach: this rack does not say what its reach is"),
    "a cable to nothing": ('["A", "P1"]', '["A", "P2"]', 'ends: "P2" is nothing in this rack (A, A supply, P1, meter)'),
    "a cable to itself": ('["A", "P1"]', '["A", "A"]', 'cable 1 > ends: both ends are at "A"'),
    "no height": ("height_u = 1", "height_u = 0", "height_u: must be at least 1, found 0"),
    "too many units": ("units = 20", "units = 61", "units: must be at most 60, found 61"),
    "a rank twice": ("at = {", 'rank = ["cables", "cables"]\nat = {', 'rank: "cables" stands there twice'),
    "no such rank": ("at = {", 'rank = ["cost"]\nat = {', 'rank 1: "cost" is not allowed (cables, inlet, reserve)'),
}


def test_a_good_rack_is_read(tmp_path: Path) -> None:
    (rack,) = load_scenario(write(tmp_path, SCENARIO + RACK, OUTSIDE)).scenario.rooms()[0].rack
    assert (rack.name, rack.units, rack.at) == ("R1", 20, {"A": 4})


@pytest.mark.parametrize(("old", "new", "told"), FAULTS.values(), ids=FAULTS)
def test_a_fault_of_a_rack_is_told_with_its_key(tmp_path: Path, old: str, new: str, told: str) -> None:
    text, *_ = texts_of(write(tmp_path, SCENARIO + change(RACK, old, new), OUTSIDE))
    assert text.startswith('rack "R1"')
    assert told in text


def test_a_frame_stands_in_one_rack(tmp_path: Path) -> None:
    more = RACK + '\n[[rack]]\nname = "R2"\nunits = 9\nframes = ["A"]\n'
    (text,) = texts_of(write(tmp_path, SCENARIO + more, OUTSIDE))
    assert text == 'rack "R2" > frames: "A" is in rack "R1" already'


def test_the_air_of_a_rack_is_that_of_its_frames(tmp_path: Path) -> None:
    warm = change(RACK, "units = 20", "units = 20\ninlet_c = 31")
    loaded = load_scenario(write(tmp_path, SCENARIO + warm, OUTSIDE))
    room = loaded.scenario.rooms()[0]
    air = loaded.scenario.air_at(room, "A")
    assert air is not None
    assert air.inlet_c == 31
    assert loaded.scenario.air_at(room, "B") is None


DRAWN_FAULTS = {
    "no such rack": ('name = "R1"', 'name = "R2"', 'rack "R2": "R2" is no rack of this scenario (R1)'),
    "nothing there": (
        "P1 = 12",
        "P3 = 12",
        'rack "R1" > at > P3: "P3" is nothing in this rack (A, A supply, P1, meter)',
    ),
    "no such room": ('name = "R1"', 'name = "R1"\nroom = "x"', 'rack "R1" > room: "x" is no room of this scenario'),
}


@pytest.mark.parametrize(("old", "new", "told"), DRAWN_FAULTS.values(), ids=DRAWN_FAULTS)
def test_a_drawn_rack_names_what_there_is(tmp_path: Path, old: str, new: str, told: str) -> None:
    drawn = '\n[[rack]]\nname = "R1"\nat = { A = 4, "A supply" = 1, P1 = 12, meter = 9 }\n'
    scenario = write(tmp_path, SCENARIO + RACK, OUTSIDE)
    build = tmp_path / "drawn.toml"
    build.write_text(BUILD + drawn, encoding="utf-8")
    assert load_drawn(scenario, build)[1].rack[0].at["A supply"] == 1
    build.write_text(BUILD + change(drawn, old, new), encoding="utf-8")
    with pytest.raises(FileFaults) as caught:
        load_drawn(scenario, build)
    assert told in caught.value.faults[0].text()
