"""Devices of a clock in scenarios: lines that are drawn, faults with their keys, and what the screen says."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import BUILD, HARDWARE, SCENARIO, change, texts_of, write

import solver

CLOCK = """
[[clock]]
name = "G"
ppm = 1
outputs = [{ kind = "word", count = 2, most = 2 }]
cables = { A = 2.5, R = 4 }

[[clock]]
name = "A"
inputs = [{ kind = "word" }]
cables = { R = 1 }

[[clock]]
name = "R"
ppm = 10
inputs = [{ kind = "word", termination = "none" }]
"""

BOARD = HARDWARE.replace(
    "outputs = { first_slot = 8, widths = 8 }",
    'outputs = { first_slot = 8, widths = 8 }\nclock_input = { termination = "fixed" }',
)

DRAWN = """
[[clock_line]]
source = "G"
frames = ["A", "R"]
"""

FAULTS = {
    "one name": ('name = "R"', 'name = "G"', 'clock "G" > name: "G" is already the name of another clock'),
    "cable to nothing": ("R = 4", "S = 4", '"S" is no device and no frame of this room'),
    "cable to itself": ("R = 1", "A = 1", "cables > A: is this device itself"),
    "no rate": ('[{ kind = "word" }]', '[{ kind = "word", rate = 47000 }]', "47000 Hz is no known sample rate"),
    "two leaders": ("ppm = 1\n", "ppm = 1\nleads = true\n", None),
    "leads without a clock": ('"A"\n', '"A"\nleads = true\n', "leads: it has no clock of its own: give its ppm"),
    "converted": ("ppm = 10", "ppm = 10\nconverted = true", "converted: only an asynchronous device is"),
    "one kind twice": (
        '[{ kind = "word" }]',
        '[{ kind = "word" }, { kind = "word" }]',
        'inputs: "word" stands there twice',
    ),
    "a rate of MADI": ('[{ kind = "word" }]', '[{ kind = "madi", rate = 48000 }]', "only word clock has it"),
    "framing of coax": ('[{ kind = "word" }]', '[{ kind = "word", framing = "whole" }]', "only AES3 and MADI have it"),
    "an end of MADI": ('[{ kind = "word" }]', '[{ kind = "madi", termination = "none" }]', "only word clock has it"),
    "many on MADI": ('"word", count = 2, most = 2', '"madi", most = 2', "only word clock has more than one"),
    "no such kind": ('[{ kind = "word" }]', '[{ kind = "wood" }]', '"wood" is not allowed'),
}


@pytest.mark.parametrize(("old", "new", "told"), FAULTS.values(), ids=FAULTS)
def test_a_fault_of_a_device_is_told(tmp_path: Path, old: str, new: str, told: str | None) -> None:
    text = change(CLOCK, old, new)
    if told is None:
        text, told = change(text, "ppm = 10", "ppm = 10\nleads = true"), 'leads: "G" leads already'
    assert any(told in each for each in texts_of(write(tmp_path, SCENARIO + text)))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('source = "G"', 'source = "H"', '"H" has no [[clock]]'),
        ('source = "G"\n', 'kind = "madi"\n', "source: is missing, for a line that is no coax"),
        ('"R"]', '"S"]', '"S" is no frame of this room'),
    ],
)
def test_a_fault_of_a_drawn_line_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    path = write(tmp_path, SCENARIO + CLOCK + change(DRAWN, old, new))
    assert any(told in each for each in texts_of(path))


def test_a_frame_ends_a_line_as_its_board_does(tmp_path: Path) -> None:
    """The line G to R to A is 5 m, two of their own 6.5 m, G to A to R 3.5 m, which the board of A forbids."""
    path = write(tmp_path, SCENARIO + CLOCK, BOARD)
    (tree,) = solver.clock(path).trees
    assert (tree.reference, tree.cable_m, tree.terminators, tree.proven) == ("G", 5.0, 0, True)
    assert [(line.devices, line.ended_by) for line in tree.lines] == [(["R", "A"], "fixed")]
    (tree,) = solver.clock(write(tmp_path, SCENARIO + CLOCK, BOARD.replace('"fixed"', '"none"'))).trees
    assert [(line.devices, line.ended_by) for line in tree.lines] == [(["A", "R"], "terminator")]


def test_a_build_says_which_board_a_frame_has_and_whether_it_is_used(tmp_path: Path) -> None:
    """Without a build the shortest line is taken, G to A to R; with one A ends it, or takes no clock."""
    loose = change(SCENARIO, 'board = "shale-64"\nstraps = { "input width" = "open" }\n', "")
    path = write(tmp_path, loose + CLOCK, BOARD)
    built, unused = tmp_path / "built.toml", tmp_path / "unused.toml"
    built.write_text(BUILD, encoding="utf-8")
    unused.write_text("format = 1\nframe = []\n", encoding="utf-8")
    (tree,) = solver.clock(path).trees
    assert [(line.devices, line.ended_by) for line in tree.lines] == [(["A", "R"], "terminator")]
    assert tree.not_checked == [
        "word line G to A, R: whether A can end a line depends on its board, which a build says"
    ]
    (tree,) = solver.clock(path, built).trees
    assert [(line.devices, line.ended_by) for line in tree.lines] == [(["R", "A"], "fixed")]
    (tree,) = solver.clock(path, unused).trees
    assert [(line.devices, line.ended_by) for line in tree.lines] == [(["R"], "terminator")]


def test_a_frame_that_ends_lines_otherwise_than_its_board_is_a_fault(tmp_path: Path) -> None:
    text = change(CLOCK, '[{ kind = "word" }]', '[{ kind = "word", termination = "none" }]')
    path = write(tmp_path, SCENARIO + text, BOARD)
    told = 'clock "A" > inputs 1 > termination: shale-64 has "fixed"; leave it out'
    assert told in texts_of(path)
    assert solver.clock(write(tmp_path, SCENARIO + text)).outcome == "found"


def test_drawn_lines_are_checked(tmp_path: Path) -> None:
    fixed = change(CLOCK, 'termination = "none"', 'termination = "fixed"')
    path = write(tmp_path, SCENARIO + fixed + change(DRAWN, '["A", "R"]', '["R", "A"]'))
    found = solver.clock(path)
    assert [(fault.rule, fault.text) for fault in found.faults] == [
        ("ended-once", "word line G to R, A: R always ends the line, and is not its last device")
    ]
    run = strapwork("clock", str(path))
    assert run.returncode == 1
    assert "FAULTY, 1 fault" in run.stdout
    good = write(tmp_path, SCENARIO + CLOCK + change(DRAWN, '["A", "R"]', '["R", "A"]'), BOARD)
    assert (solver.clock(good).outcome, solver.clock(good).trees[0].outcome) == ("found", "drawn")


def test_who_is_in_the_way(tmp_path: Path) -> None:
    path = write(
        tmp_path, SCENARIO + change(CLOCK, 'termination = "none"', 'termination = "none", rate = 44100'), BOARD
    )
    (tree,) = solver.clock(path).trees
    assert (tree.outcome, tree.proven, tree.in_the_way) == ("impossible", True, ["R"])
    assert "no tree feeds every device, proven" in strapwork("clock", str(path)).stdout


def test_without_devices_there_is_no_clock(tmp_path: Path) -> None:
    assert strapwork("clock", str(write(tmp_path))).returncode == 2


WRONG = change(CLOCK, 'termination = "none"', 'termination = "fixed"') + change(DRAWN, '["A", "R"]', '["R", "A"]')
ENDED_TWICE = "word line G to R, A: R always ends the line, and is not its last device"


def test_every_command_has_the_same_verdict_of_drawn_lines(tmp_path: Path) -> None:
    """A build that is clean but for the clock is FAULTY wherever it is judged, and a plan notes it."""
    built = tmp_path / "built.toml"
    good = write(tmp_path, SCENARIO)
    assert not any("clock" in note for note in solver.plan(good).notes)
    assert strapwork("plan", str(good), "--save", str(built)).returncode == 0
    assert solver.check(good, built).faults == []
    path = write(tmp_path, SCENARIO + WRONG)
    judged = (
        solver.check(path, built),
        solver.clock(path, built),
        solver.work_order(path, built),
        solver.pack(path, built),
    )
    for document in judged:
        assert [fault.text for fault in document.faults] == [ENDED_TWICE], document
        assert document.outcome == "faulty"
    for command in ("check", "clock", "work-order"):
        assert strapwork(command, str(path), str(built)).returncode == 1
    assert f"the clock is drawn wrong, and every check will say so: {ENDED_TWICE}" in solver.plan(path).notes


def test_nothing_is_proven_of_lines_that_the_user_draws(tmp_path: Path) -> None:
    drawn = solver.clock(write(tmp_path, SCENARIO + CLOCK + DRAWN))
    assert (drawn.outcome, drawn.proven, drawn.trees[0].proven) == ("found", False, False)
    found = solver.clock(write(tmp_path, SCENARIO + CLOCK))
    assert (found.outcome, found.proven, found.trees[0].proven) == ("found", True, True)


def test_drawn_lines_are_judged_at_the_rate_of_every_day(tmp_path: Path) -> None:
    """At 96 kHz one end of the MADI line is framed whole and the other split; at 48 kHz that is all the same."""
    lines = """
[[clock]]
name = "G"
ppm = 1
outputs = [{ kind = "madi", framing = "whole" }]
[[clock]]
name = "R"
inputs = [{ kind = "madi", framing = "split" }]
[[clock_line]]
source = "G"
kind = "madi"
frames = ["R"]
"""
    days = """
[[setup]]
name = "band"
needs = ["returns"]
[[setup]]
name = "film"
sample_rate = 96000
needs = ["returns"]
"""
    path = write(tmp_path, change(SCENARIO, 'slack = { cost = "5 %" }\n', "") + lines + days)
    build = tmp_path / "days.toml"
    frames = BUILD.split("[[frame]]")[1]
    build.write_text(
        "format = 1\n" + "".join(f'[[frame]]\nsetup = "{day}"{frames}' for day in ("band", "film")), encoding="utf-8"
    )
    told = "film: madi line G to R: one end is framed whole, another split; both share it"
    assert told in [fault.text for fault in solver.check(path, build).faults]
    assert [fault.text for fault in solver.clock(path).faults] == [told]
