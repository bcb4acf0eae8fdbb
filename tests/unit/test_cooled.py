"""Frames without blanks and without a fan: what is told of them, worked by hand, and the faults of their files."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import change, texts_of

import solver
from solver.reports.report import Clash, Report

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


def _room(folder: Path, air: str = AIR, room: str = ROOM, hardware: str = HARDWARE) -> Path:
    (folder / "hardware.toml").write_text(hardware + air, encoding="utf-8")
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
    assert solver.failed(path, build, "fan:A").frames == [f"frame A without one of its 2 fans: {told} (estimate)"]
    said = " ".join(strapwork("failed", str(path), str(build), "fan:A").stdout.split())
    assert f"Frame A without one of its 2 fans: {told} (estimate) No channel that is needed is lost; what" in said
    assert "nothing to mend" not in said
    _room(tmp_path, change(AIR, "fans = 2", f"fans = 1, {change(STILL, 'above_cm2 = 20', 'above_cm2 = 2')}"))
    assert "K warmer than its cards stand; switch it off at once" in solver.check(path, build).builds[0].air[1]
    (point,) = [point for point in solver.single_points(path, build).points if point.what == "fan:A"]
    assert (point.channels, point.lost) == (4, 4)
    said = strapwork("failed", str(path), str(build), "fan:A").stdout
    assert said.splitlines()[1].startswith("Frame A without its only fan: about")
    said = " ".join(said.split())
    assert said.index("switch it off at once") < said.index("4 channels are on it")
    _room(tmp_path, change(AIR, "fans = 2", "fans = 1"))
    assert (
        solver.check(path, build)
        .builds[0]
        .air[1]
        .endswith("nobody says how warm it gets and may get (still); switch it off")
    )
    assert all(point.what != "fan:A" for point in solver.single_points(path, build).points)
    assert (
        "how warm A gets and may get without a fan is not known"
        in strapwork("failed", str(path), str(build), "fan:A").stderr
    )


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


def test_of_phases_each_is_told(tmp_path: Path) -> None:
    """One card leaves a slot open, two leave none; two fans or one, nothing else changes with the phase."""
    need = ROOM.partition("[[need]]")[2]
    more = f"[[need]]{change(need, 'tape', 'more')}"
    phases = "".join(
        f'[[phase]]\nname = "{name}"\nneeds = {needs}\n' for name, needs in (("d1", ["tape"]), ("d2", ["tape", "more"]))
    ).replace("'", '"')
    path, build = _room(tmp_path, room=ROOM + more + phases), tmp_path / "build.toml"
    told = " ".join(strapwork("plan", str(path), "--save", str(build)).stdout.split())
    for phase, open_slots in (("d1", 1), ("d2", 0)):
        assert f"{phase}: frame A has no blanks: cooling is counted with 1 of 2 slots open" in told
        assert f"with the {open_slots} that this build leaves open" in told
    assert "Air d1: frame A has no blanks" in " ".join(strapwork("check", str(path), str(build)).stdout.split())


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
        ("flow_m3_h = 20", "flow_m3_h = 1e-300", "air > flow_m3_h: must be at least 0.001"),
        ("flow_m3_h = 20", "flow_m3_h = 20, derate = 1e-300", "air > derate: must be at least 0.001"),
        ("gap_area_cm2 = 30", "gap_area_cm2 = 1e-300", "air > gap_area_cm2: must be at least 0.001"),
        ("fans = 2", f"fans = 1, {change(STILL, 'above_cm2 = 20', 'above_cm2 = 1e-300')}", "> opening_above_cm2: must"),
        ("fans = 2", f"fans = 1, {change(STILL, 'below_cm2 = 20', 'below_cm2 = 1e-300')}", "> opening_below_cm2: must"),
        (
            "fans = 2",
            f"fans = 1, {change(STILL, 'stack_mm = 150', 'stack_mm = 1e-300')}",
            "> stack_mm: must",
        ),
    ],
)
def test_a_fault_of_a_fan_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert any(told in each for each in texts_of(_room(tmp_path, change(AIR, old, new))))


def test_blanks_that_nothing_depends_on_are_warned_of(tmp_path: Path) -> None:
    areas = "gap_area_cm2 = 30, opening_below_cm2 = 60, opening_above_cm2 = 60"
    rising = f'air = {{ path = "draught", {areas}, stack_mm = 190 }}\n'
    warnings = solver.plan(_room(tmp_path, rising)).warnings
    assert [warning.message for warning in warnings] == ["has no effect: in a draught each gap draws its own air"]


@pytest.mark.parametrize(
    ("told", "key"),
    [
        ("vents = { below_cm2 = 1e-300 }", "vents > below_cm2"),
        ("vents = { above_cm2 = 1e-300 }", "vents > above_cm2"),
        ("measured = { gap_w = 1e-300, rise_k = 17 }", "measured > gap_w"),
        ("measured = { gap_w = 14, rise_k = 1e-300 }", "measured > rise_k"),
    ],
)
def test_what_is_too_small_to_be_measured_is_a_fault(tmp_path: Path, told: str, key: str) -> None:
    path = _room(tmp_path, room=change(ROOM, "blanks = false\n", f"blanks = false\n{told}\n"))
    assert any(f"{key}: must be at least 0.001" in each for each in texts_of(path))


UNLIMITED = """\
[[card]]
id = "mic-in-4"
heat_w = 0
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 4 } }]
[[board]]
"""
MICS = """\
[[need]]
name = "mics"
direction = "in"
signal = "mic"
channels = 4
"""


@pytest.mark.parametrize(
    ("old", "new", "lacking"),
    [
        ("heat_w = 20\n", "", "heat_w of line-in-4"),
        ("heat_w = 0\n", "", "heat_w of gull-8"),
        ("[[board]]\n", UNLIMITED, "air_limit_c of mic-in-4"),
    ],
)
def test_a_frame_is_not_said_to_run_on_where_a_figure_is_missing(
    tmp_path: Path, old: str, new: str, lacking: str
) -> None:
    """Half of the flow leaves the cards that all is known of 13 K, which says nothing of the others."""
    room = change(ROOM, "line-in-4 = 2\n", "line-in-4 = 2\nmic-in-4 = 1\n") + MICS
    path = _room(tmp_path, room=room if new == UNLIMITED else ROOM, hardware=change(HARDWARE, old, new))
    build = tmp_path / "build.toml"
    assert strapwork("plan", str(path), "--save", str(build)).returncode == 0
    told = f"nobody says how warm it gets and may get ({lacking}); switch it off"
    assert solver.check(path, build).builds[0].air[-1] == f"frame A without one of its 2 fans: {told}"
    assert f"({lacking})" in strapwork("failed", str(path), str(build), "fan:A").stderr
    points = solver.single_points(path, build)
    assert all(point.what != "fan:A" for point in points.points)
    assert points.notes[0] == f"frame A without one of its 2 fans: {told}"


def test_a_frame_that_is_too_warm_anyhow_is_so_whatever_is_not_known(tmp_path: Path) -> None:
    air = change(AIR, "fans = 2", f"fans = 1, {change(STILL, 'above_cm2 = 20', 'above_cm2 = 2')}")
    path = _room(tmp_path, air, hardware=change(HARDWARE, "heat_w = 0\n", ""))
    assert "K warmer than its cards stand; switch it off at once" in solver.plan(path).builds[0].air[1]


HOT = change(HARDWARE, "heat_w = 20", "heat_w = 40")
FULL = change(ROOM, "channels = 4", "channels = 8")


def _clash(path: Path) -> Clash:
    report = solver.why(path)
    assert isinstance(report, Report)
    assert report.clash is not None
    return report.clash


def test_blanks_are_a_way_out_where_open_slots_make_it_impossible(tmp_path: Path) -> None:
    """Two cards of 40 W: with both slots shut 6 K are left, with one counted as open the air is 2 K too warm."""
    between = 4 * KELVIN
    assert 25 - between / (20 / 3) > 1
    assert 25 - between / (20 / 4.5) < 0
    path, build, shut = _room(tmp_path, room=FULL, hardware=HOT), tmp_path / "build.toml", tmp_path / "shut.toml"
    clash = _clash(path)
    told = "put blanks into the empty slots of frame A"
    number = [[change.text for change in way.changes] for way in clash.ways].index([told]) + 1
    assert clash.ways[number - 1].changes[0].path == ["frame", "A", "blanks"]
    assert not clash.ways[number - 1].lid_on
    assert clash.ways[number - 1].work == "lid off: fit blanks"
    assert [given.text for given in clash.hardware] == [
        "frame A has no blanks: cooling is counted with 1 of 2 slots open"
    ]
    screen = strapwork("plan", str(path)).stdout
    assert told in screen
    assert "given: frame A has no blanks" in screen
    assert strapwork("why", str(path), "--apply", str(number), "--to", str(shut)).returncode == 0
    assert shut.read_text(encoding="utf-8") == change(FULL, "blanks = false", "blanks = true")
    assert strapwork("plan", str(shut), "--save", str(build)).returncode == 0
    margin = int(10 * (25 - between / (20 / 4.5)) - 1) / 10
    assert [fault.text for fault in solver.check(path, build).faults] == [
        f"frame A: {margin} K of margin to the air limit, counted with 1 of 2 slots open; at least 1.0 K"
    ]


def test_blanks_are_no_way_out_where_the_cards_are_too_hot_anyhow(tmp_path: Path) -> None:
    hotter = change(HARDWARE, "heat_w = 20", "heat_w = 80")
    clash = _clash(_room(tmp_path, room=FULL, hardware=hotter))
    assert "blanks" in clash.no_help_alone
    assert not clash.hardware
    shut = _clash(_room(tmp_path, room=change(FULL, "blanks = false\n", ""), hardware=hotter))
    assert "blanks" not in shut.no_help_alone


def test_why_more_is_lost_is_said_where_a_spare_stops_a_frame_without_its_fan(tmp_path: Path) -> None:
    """The card on the shelf is hotter: with it in the place of the failed one the frame no longer runs on."""
    own = HARDWARE[HARDWARE.index("[[card]]") : HARDWARE.index("[[board]]")]
    hotter = change(change(own, "line-in-4", "line-in-4-hot"), "heat_w = 20", "heat_w = 60")
    hardware = change(HARDWARE, "[[board]]\n", f"{hotter}[[board]]\n")
    path = _room(tmp_path, AIR, change(FULL, "blanks = false\n", ""), hardware)
    build = tmp_path / "build.toml"
    assert strapwork("plan", str(path), "--save", str(build)).returncode == 0
    room = change(FULL, "blanks = false\n", "").replace("line-in-4 = 2", "line-in-4 = 2\nline-in-4-hot = 1")
    repair = solver.failed(_room(tmp_path, AIR, room, hardware), build, "fan:A", "slot:A:1").repairs[1]
    assert (repair.how, repair.lost) == ("shelf", 8)
    too_warm = -int((25 - 4 * KELVIN / (10 / 3)) // 1)
    assert repair.notes == [
        "seated so, frame A does not run on without a fan, and all on it is lost: "
        f"about {too_warm} K warmer than its cards stand; switch it off at once"
    ]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (", fans = 2", "", "no file says how many fans frame A has (fans under air of"),
        (AIR, "", "no file says that frame A has a fan (air of"),
    ],
)
def test_a_fan_that_no_file_tells_is_no_name_that_is_not_known(tmp_path: Path, old: str, new: str, told: str) -> None:
    path, build = _room(tmp_path), tmp_path / "build.toml"
    assert strapwork("plan", str(path), "--save", str(build)).returncode == 0
    files = tmp_path / "hardware.toml"
    files.write_text(change(files.read_text("utf-8"), old, new), encoding="utf-8")
    path.write_text(change(path.read_text("utf-8"), "blanks = false\n", ""), encoding="utf-8")
    said = strapwork("failed", str(path), str(build), "fan:A").stderr
    assert told in " ".join(said.split()), said
