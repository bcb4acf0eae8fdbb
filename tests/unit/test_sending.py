"""What a test sheet sends and expects, worked by hand: 0 dBu at a full scale of +24 dBu is -24 dBFS.

EBU R68 has full scale at +18 dBu, SMPTE RP 155 at +24 dBu (both from memory). That no tone goes to a loudspeaker,
headphones or a transmission is common practice, without a source.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork

from solver.answers.work_order import work_order
from solver.files.reading import Loaded, load_build, load_scenario
from solver.handover.ends import FarPath
from solver.reports.sending import sending
from solver.reports.ways import ways_told
from solver.room.build import Build
from solver.room.ends import FarEnd
from solver.room.words import write_ranges

ROOT = Path(__file__).parents[2]
RIG, FIRST, NEXT = (f"scenarios/quay-mix-rig{end}.toml" for end in ("", "-first-drawn", "-next-drawn"))


def _far(**told: object) -> FarPath:
    return FarPath(FarEnd.model_validate({"equipment": "unit", **told}), None, None, ())


@pytest.mark.parametrize(
    ("direction", "signal", "far", "scale", "level", "expect"),
    [
        ("in", "line", None, None, "0 dBu", "0 dBu less the card's full-scale level"),
        ("in", "line", None, "+24 dBu", "0 dBu", "-24 dBFS"),
        ("in", "line", _far(nominal="+4 dBu"), "+24 dBu", "+4 dBu", "-20 dBFS"),
        ("in", "line", _far(nominal="-10 dBV"), "+18 dBu", "-10 dBV", "-25.8 dBFS"),
        ("in", "line", _far(nominal="+4 dBu", inverted=True), "+24 dBu", "+4 dBu", "-20 dBFS; polarity reversed"),
        ("in", "mic", _far(nominal="+4 dBu"), "+18 dBu", "-40 dBu", "-18 dBFS"),
        ("in", "aes3", _far(), None, "-18 dBFS", "-18 dBFS, as sent"),
        ("out", "line", None, None, "-18 dBFS", "the card's full-scale level less 18 dB"),
        ("out", "line", None, "+18 dBu", "-18 dBFS", "0 dBu"),
        ("out", "line", _far(), "+24 dBu", "-18 dBFS", "+6 dBu"),
        ("out", "line", _far(balanced=False, cold="open"), "+24 dBu", "-18 dBFS", "0 dBu on one leg"),
        ("out", "line", _far(feeds="loudspeaker", tone="-40 dBu"), "+24 dBu", "-64 dBFS", "-40 dBu"),
    ],
)
def test_levels_are_those_of_a_count_by_hand(
    direction: str, signal: str, far: FarPath | None, scale: str | None, level: str, expect: str
) -> None:
    told = sending("in" if direction == "in" else "out", signal, signal == "aes3", far, scale)
    assert f" {level} " in told.send
    assert told.expect == expect


def _heard(folder: Path, *more: str) -> Path:
    ends = """
[[far_end]]
equipment = "delay"
need = "outboard sends"
channels = "5-6"
sockets = "1-2"

[[far_end]]
equipment = "near fields"
need = "outboard sends"
channels = "7-8"
sockets = "1-2"
feeds = "loudspeaker"
"""
    text = (ROOT / RIG).read_text(encoding="utf-8")
    text = text.replace('"hardware/', f'"{(ROOT / "scenarios/hardware").as_posix()}/')
    path = folder / "rig.toml"
    path.write_text("\n".join([text, ends, *more]), encoding="utf-8")
    return path


@pytest.mark.parametrize("time", ["30", "all"])
def test_no_tone_goes_where_it_is_heard_and_such_lines_are_the_last(tmp_path: Path, time: str) -> None:
    loaded = load_scenario(_heard(tmp_path))
    order = work_order(loaded, load_build(ROOT / NEXT), load_build(ROOT / FIRST), time="30" if time == "30" else "all")
    assert order.test_sheet is not None
    rows = order.test_sheet.rows
    heard = [row for row in rows if row.feeds]
    assert [row.feeds is not None for row in rows] == sorted(row.feeds is not None for row in rows)
    assert time == "30" or [row.far_end for row in heard] == ["near fields 2", "near fields 1"]
    for row in heard:
        assert row.send.startswith("NO TONE, it feeds a loudspeaker")
        assert (row.checks, row.mono_with) == (["identity"], None)
    assert all("NO TONE" not in row.send for row in rows if not row.feeds)


def test_a_line_may_say_how_loud_a_tone_may_be(tmp_path: Path) -> None:
    path = _heard(tmp_path, 'tone = "-50 dBu"')
    told = " ".join(strapwork("work-order", path, NEXT).stdout.split())
    assert "send 1 kHz raised from silence from the recorder, no more: it feeds a loudspeaker" in told
    assert "expect -50 dBu" in told
    assert "NO TONE" not in told


def test_amplifiers_go_off_first_and_on_last_by_their_names_and_hops_are_told(tmp_path: Path) -> None:
    order = work_order(load_scenario(_heard(tmp_path)), load_build(ROOT / NEXT), load_build(ROOT / FIRST))
    steps = [step for section in order.sections for step in section.steps]
    for step, action in ((steps[0], "amplifiers off"), (steps[-1], "amplifiers on")):
        assert (step.action, '("near fields": loudspeaker)' in step.text) == (action, True)
    assert all("lamps, rails and fan, off" in step.text for step in steps if step.action == "power up")
    (last,) = [step for step in steps if step.text.startswith("Outputs: plug the far ends in again")]
    (off,) = [step for step in steps if step.text.startswith("Outputs: unplug the far ends")]
    (test,) = [step for step in steps if step.action == "test"]
    patched = [step for step in steps if step.text.startswith("Outputs, far ends left unplugged")]
    assert all(off.number < step.number < test.number < last.number for step in patched)
    assert patched
    assert '("delay"); those that are heard the last ("near fields": loudspeaker)' in last.text
    moved = next(step.text for step in steps if '"outboard sends" 5-6' in step.text)
    assert "by delay 1-2; P1 B21-22 = A21-22; then " in moved
    assert moved.startswith("Outputs, far ends left unplugged: loom M3-out-low goes to the connector of loom M2-out, ")


MICS = """
[[need]]
name = "hat"
direction = "in"
signal = "mic"
channels = 1
phantom = "wanted"
[[need]]
name = "kick"
direction = "in"
signal = "mic"
channels = 2
phantom = "forbidden"
[[need]]
name = "room"
direction = "in"
signal = "mic"
channels = 2
pairs = true
[[need]]
name = "keys"
direction = "in"
signal = "line"
channels = 2
[[need]]
name = "sends"
direction = "out"
signal = "line"
channels = 2
"""
"""Microphones and lines on one sort of card that feeds phantom power to either, and outputs."""


def _mics(folder: Path, *more: str) -> tuple[Loaded, Build]:
    """A build of microphones and lines, as it is planned."""
    scenario = """format = 1
title = "Gannet Quay, booth"
hardware = ["hardware.toml"]
currency = "GBP"
[stock]
mic-line-4 = 2
line-out-4 = 1
skerry-16 = 1
[[frame]]
name = "A"
chassis = "cairn-4"
"""
    hardware = """format = 1
[[card]]
id = "mic-line-4"
rails = { "+48" = 0.04 }
ports = [{ direction = "in", signals = ["mic", "line"], channels = { "48" = 4 }, phantom_ma_per_channel = 10 }]
setting = [{ name = "full_scale_level", direction = "in", per = "card", choices = ["+18 dBu"] }]
[[card]]
id = "line-out-4"
ports = [{ direction = "out", signals = ["line"], channels = { "48" = 4 } }]
setting = [{ name = "full_scale_level", direction = "out", per = "card", choices = ["+18 dBu"] }]
[[board]]
id = "skerry-16"
limits = { "48" = { in = 16, out = 16 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
[[chassis]]
id = "cairn-4"
slot_count = 4
boards = ["skerry-16"]
rails = { "+48" = 1 }
air = { path = "draught", gap_area_cm2 = 38, opening_below_cm2 = 60, opening_above_cm2 = 60, stack_mm = 190 }
"""
    (folder / "hardware.toml").write_text(hardware, encoding="utf-8")
    (folder / "mics.toml").write_text("".join([scenario, MICS, *more]), encoding="utf-8")
    ran = strapwork("plan", folder / "mics.toml", "--save", folder / "mics-build.toml")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return load_scenario(folder / "mics.toml"), load_build(folder / "mics-build.toml")


def test_phantom_power_is_looked_for_only_where_it_is_wanted_and_only_pairs_are_summed(tmp_path: Path) -> None:
    plate = '[[far_end]]\nequipment = "plate"\nneed = "sends"\nchannels = "1"\nmaximum = "+10 dBu"\n'
    order = work_order(*_mics(tmp_path, plate))
    steps = [step for section in order.sections for step in section.steps]
    assert all("lamps and rails, off" in step.text for step in steps if step.action == "power up")
    sheet = order.test_sheet
    assert sheet is not None
    phantom = {row.need: row.phantom for row in sheet.rows}
    assert phantom == {"hat": "on", "kick": "off", "room": "any", "keys": None, "sends": None}
    assert all(("phantom" in row.checks) == (row.phantom is not None) for row in sheet.rows)
    assert [(row.need, row.channel) for row in sheet.rows if row.mono_with is not None] == [("room", 2)]
    assert any('"plate" takes +10 dBu: clips by 8 dB' in note for note in sheet.notes)


def test_what_was_never_plugged_is_not_plugged_in_again_and_a_loom_is_one_step(tmp_path: Path) -> None:
    order = work_order(load_scenario(_heard(tmp_path)), load_build(ROOT / NEXT))
    told = [step.text for section in order.sections for step in section.steps if step.action == "patch"]
    assert not [text for text in told if "unplug the far ends" in text or "again" in text]
    looms = [text.split(": ")[1] for text in told if ": loom " in text]
    assert len(looms) == len(set(looms)) > 2
    assert all(text.startswith("Outputs, far ends left unplugged: ") for text in told if "-out: " in text)


def test_what_is_unplugged_is_what_was_plugged(tmp_path: Path) -> None:
    later = load_build(ROOT / NEXT)
    frames = [
        frame.model_copy(update={"serves": tuple(s for s in frame.serves or () if s.need != "outboard sends")})
        for frame in later.frame
    ]
    without = later.model_copy(update={"frame": tuple(frames)})
    order = work_order(load_scenario(_heard(tmp_path)), without, load_build(ROOT / FIRST))
    steps = [step.text for section in order.sections for step in section.steps]
    (unplug,) = [text for text in steps if text.startswith("Outputs: unplug the far ends")]
    assert '("delay"); those that are heard first ("near fields": loudspeaker)' in unplug
    (plug,) = [text for text in steps if text.startswith("Outputs: plug the far ends in")]
    assert not [text for text in (plug, steps[-1]) if "delay" in text or "near fields" in text]
    assert '("near fields": loudspeaker)' in steps[0]


def test_what_is_heard_and_not_tested_is_named_and_stays_off(tmp_path: Path) -> None:
    path = _heard(tmp_path)
    order = work_order(load_scenario(path), load_build(ROOT / NEXT), load_build(ROOT / FIRST), time="10")
    assert order.test_sheet is not None
    (named,) = order.test_sheet.heard_left_out
    assert (named.startswith("M out "), named.endswith(' ("near fields")')) == (True, True)
    assert order.sections[-1].steps[-1].text.endswith(f"not tested, so off until their lines are belled out: {named}")
    told = " ".join(strapwork("work-order", path, NEXT, "--time", "10").stdout.split())
    assert f"heard, and so off until their lines are belled out: {named}" in told
    whole = work_order(load_scenario(path), load_build(ROOT / NEXT), load_build(ROOT / FIRST))
    assert whole.test_sheet is not None
    assert whole.test_sheet.heard_left_out == []


def test_phantom_power_goes_on_again_nowhere_that_carries_line(tmp_path: Path) -> None:
    order = work_order(*_mics(tmp_path))
    assert order.test_sheet is not None
    (text,) = [step.text for section in order.sections for step in section.steps if step.action == "phantom back"]
    keys, kick = (
        write_ranges(sorted(row.number for row in order.test_sheet.rows if row.need == need))
        for need in ("keys", "kick")
    )
    never = text.partition("never on ")[2].partition("; looms on")[0]
    assert set(never.split("; ")) == {f"A in {keys} (line)", f"A in {kick} (mic)"}
    room = write_ranges(sorted(row.number for row in order.test_sheet.rows if row.need == "room"))
    assert f", and where the source asks for it (A in {room}); never on" in text
    assert any(note.startswith("Any: no file says what the source takes") for note in order.test_sheet.notes)


def test_a_cable_that_is_a_whole_loom_is_named_on_all_its_lines_and_once_for_the_loom(tmp_path: Path) -> None:
    cable = """
[[cable]]
number = "C17"
card_end = { connector = "db25", gender = "male" }
other_end = { connector = "db25", gender = "male" }
at = { bay = "P1", point = "B1" }
wiring = "straight"
length_m = 3
"""
    order = work_order(load_scenario(_heard(tmp_path, cable)), load_build(ROOT / NEXT))
    assert order.test_sheet is not None
    ways = [row.way for row in order.test_sheet.rows if row.way]
    (loom,) = {way[-1] for way in ways if "cable C17" in way}
    assert all(("cable C17" in way) == (way[-1] == loom) for way in ways)
    (step,) = [s.text for section in order.sections for s in section.steps if "C17" in s.text]
    assert step.count("C17") == 1
    assert f": {loom}, cable C17: connect " in step


def test_hops_of_several_channels_share_a_line_only_where_they_follow_each_other() -> None:
    assert (
        ways_told([("box 1 = racks 101", "P1 A1"), ("box 2 = racks 102", "P1 A2")])
        == "box 1-2 = racks 101-102; P1 A1-2"
    )
    assert ways_told([("box 2 = racks 102",), ("box 1 = racks 101",)]) == "box 2, box 1 = racks 102, racks 101"
    assert ways_told([("box 9",), ("box 10",)]) == "box 9-10"
    assert ways_told([("box 09",), ("box 10",)]) == "box 09, box 10"
    assert ways_told([("a",), ("a",)]) == "a"
    assert ways_told([("a", "b"), ("a",)]) == "a; b"
    assert ways_told([]) == ""
