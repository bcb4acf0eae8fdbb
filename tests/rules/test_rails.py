"""Rails that no chassis supplies, rails that nothing draws, rails under two names, and their order."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from samples import change

from solver.files.reading import load_hardware, load_scenario
from solver.room.faults import render
from solver.room.rail_names import rail_order, volts

HARDWARE = """\
format = 1
[[card]]
id = "capsule-6"
price = "700.00"
rails = { "+15" = 0.20, "+48" = 0.09 }
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 6 } }]
[[card]]
id = "tape-6"
price = "500.00"
rails = { "+15" = 0.20, "-15" = 0.15 }
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 6 } }]
[[board]]
id = "slab-30"
rails = { "+5" = 1.00 }
limits = { "48" = { in = 30, out = 30 } }
inputs = { first_slot = 1, widths = 6 }
outputs = { first_slot = 1, widths = 6 }
[[chassis]]
id = "hutch-5"
slot_count = 5
boards = ["slab-30"]
rails = { "+15" = 2.0, "-15" = 2.0, "+5" = 2.0, "+48" = 0.5 }
air = { path = "fan", flow_m3_h = 60 }
"""

SCENARIO = """\
format = 1
title = "Gannet Quay, the loft"
hardware = ["loft-hardware.toml"]
currency = "EUR"
sample_rate = 48000
rank = ["cost"]
limits = { rail_reserve = "20 %", refuse_below_k = 5 }
[stock]
capsule-6 = 3
tape-6 = 1
[[frame]]
name = "L"
chassis = "hutch-5"
board = "slab-30"
[[need]]
name = "talkers"
direction = "in"
signal = "mic"
channels = 12
"""

BUILD = """\
format = 1
[[frame]]
name = "L"
board = "slab-30"
cards = { "1" = "capsule-6", "2" = "capsule-6", "4" = "tape-6" }
"""


def _write(folder: Path, hardware: str = HARDWARE, scenario: str = SCENARIO) -> Path:
    (folder / "loft-hardware.toml").write_text(hardware, encoding="utf-8")
    (folder / "loft.toml").write_text(scenario, encoding="utf-8")
    (folder / "drawn.toml").write_text(BUILD, encoding="utf-8")
    return folder / "loft.toml"


def _run(folder: Path, *command: str) -> tuple[int, str, str]:
    done = subprocess.run(
        [sys.executable, "-m", "cli", *command], cwd=folder, capture_output=True, text=True, timeout=60, check=False
    )
    return done.returncode, done.stdout, done.stderr


def test_rails_are_told_by_falling_volts_the_positive_one_first() -> None:
    names = ["fan", "+5", "-17", "+3.3", "+17", "-5", "+48"]
    assert sorted(names, key=rail_order) == ["+48", "+17", "-17", "+5", "-5", "+3.3", "fan"]
    assert [volts(name) is None for name in ("48 V", "-17V dc", "fan", "48/24", "")] == [False, False, True, True, True]


@pytest.mark.parametrize("name", ["+48V", "48", "48 V", "+48.0"])
def test_another_spelling_of_the_same_volts_is_a_fault_of_the_file(tmp_path: Path, name: str) -> None:
    path = _write(tmp_path, change(HARDWARE, '"+48" = 0.5', f'"{name}" = 0.5'))
    code, out, err = _run(tmp_path, "plan", path.name)
    shown = name if " " not in name else f'"{name}"'
    assert (code, out) == (2, "")
    told = (
        f'loft-hardware.toml: 1 fault chassis "hutch-5" > rails > {shown}: '
        '"+48" is written elsewhere for the same rail; did you mean "+48"? (+48, +15, -15, +5)'
    )
    assert err.split() == told.split()


def test_the_spelling_of_most_places_is_the_right_one(tmp_path: Path) -> None:
    path = _write(tmp_path, change(HARDWARE, '{ "+15" = 0.20, "-15" = 0.15 }', '{ "+15V" = 0.20, "-15" = 0.15 }'))
    code, _, err = _run(tmp_path, "check", path.name, "drawn.toml")
    assert code == 2
    assert 'card "tape-6" > rails > +15V: "+15" is written elsewhere for the same rail;' in err
    assert "chassis" not in err


def test_names_without_volts_are_one_where_one_of_them_has_no_partner(tmp_path: Path) -> None:
    lit = change(change(HARDWARE, '"+5" = 1.00', '"phantom" = 1.00'), '"+5" = 2.0', '"fantom" = 2.0')
    (tmp_path / "loft-hardware.toml").write_text(change(lit, '"fantom"', '"Phantom "'), encoding="utf-8")
    code, _, err = _run(tmp_path, "blocks", "loft-hardware.toml")
    assert code == 2
    assert 'did you mean "phantom"?' in err
    apart = change(change(HARDWARE, '"+5" = 1.00', '"lamp-1" = 1.00'), '"+5" = 2.0', '"lamp-2" = 2.0')
    (tmp_path / "loft-hardware.toml").write_text(apart, encoding="utf-8")
    _, warnings = load_hardware([tmp_path / "loft-hardware.toml"])
    assert [w.text() for w in warnings] == [
        'chassis "hutch-5" > rails > lamp-2: no card or board of these hardware files draws it'
    ]


def test_a_rail_that_a_chassis_in_use_does_not_list_is_a_warning_with_what_draws_it(tmp_path: Path) -> None:
    loaded = load_scenario(_write(tmp_path, change(HARDWARE, ', "+48" = 0.5', "")))
    assert [w.text() for w in loaded.warnings] == [
        'chassis "hutch-5" > rails: hutch-5 supplies no +48; capsule-6 draws it and cannot stand in it; '
        'write "+48" = 0 if that is meant'
    ]
    assert render(loaded.warnings).startswith(str(tmp_path / "loft-hardware.toml"))


def test_who_writes_no_ampere_or_cannot_have_the_card_is_not_warned(tmp_path: Path) -> None:
    assert load_scenario(_write(tmp_path, change(HARDWARE, '"+48" = 0.5', '"+48" = 0'))).warnings == ()
    line = change(
        change(SCENARIO, "capsule-6 = 3\n", ""), 'signal = "mic"\nchannels = 12', 'signal = "line"\nchannels = 6'
    )
    assert load_scenario(_write(tmp_path, change(HARDWARE, ', "+48" = 0.5', ""), line)).warnings == ()


def test_a_rail_that_nothing_draws_is_a_warning(tmp_path: Path) -> None:
    loaded = load_scenario(_write(tmp_path, change(HARDWARE, '"+48" = 0.5', '"+48" = 0.5, "+24" = 1')))
    assert [w.text() for w in loaded.warnings] == [
        'chassis "hutch-5" > rails > +24: no card or board of these hardware files draws it'
    ]


def test_the_clash_names_the_rail_that_is_not_supplied(tmp_path: Path) -> None:
    path = _write(tmp_path, change(HARDWARE, '"+48" = 0.5', '"+48" = 0'))
    for command in ("plan", "why"):
        code, out, _ = _run(tmp_path, command, path.name)
        assert code == 1
        title, _, heading, line = out.splitlines()[:4]
        assert title == "Impossible, proven: Gannet Quay, the loft, 48 kHz"
        assert heading == "Missing: what needs it cannot stand there"
        assert line == "  hutch-5 supplies no +48; capsule-6 draws 0.09 A"
    code, out, _ = _run(tmp_path, "plan", path.name, "--format", "json")
    assert json.loads(out)["clash"]["not_supplied"] == ["hutch-5 supplies no +48; capsule-6 draws 0.09 A"]


def test_a_check_names_the_rail_that_is_not_supplied_and_the_cards(tmp_path: Path) -> None:
    path = _write(tmp_path, change(HARDWARE, '"+48" = 0.5', '"+48" = 0'))
    code, out, _ = _run(tmp_path, "check", path.name, "drawn.toml", "--format", "json")
    assert code == 1
    rails = [f["text"] for f in json.loads(out)["faults"] if f["rule"] == "rails"]
    assert rails == ["frame L: hutch-5 supplies no +48; 2 x capsule-6 draw 0.18 A"]


def test_the_loads_of_a_frame_are_told_in_the_order_of_the_rails(tmp_path: Path) -> None:
    path = _write(tmp_path)
    _, out, _ = _run(tmp_path, "check", path.name, "drawn.toml", "--format", "json")
    loads = [load["what"] for load in json.loads(out)["builds"][0]["frames"][0]["loads"]]
    assert loads == ["inputs in use", "outputs in use", "rail +48", "rail +15", "rail -15", "rail +5"]


def test_slack_of_money_is_per_cent(tmp_path: Path) -> None:
    slack = 'rank = ["cost", "unused"]\nslack = { cost = 50 }'
    path = _write(tmp_path, scenario=change(SCENARIO, 'rank = ["cost"]', slack))
    code, _, err = _run(tmp_path, "plan", path.name)
    assert code == 2
    assert err == 'loft.toml: 1 fault\n  slack > cost: must be per cent of the cost, such as "5 %", found 50\n'


def test_a_frame_for_which_no_legal_setting_is_left_is_warned_of(tmp_path: Path) -> None:
    strapped = change(
        HARDWARE,
        "[[chassis]]",
        """\
never_together = [{ "inputs" = "J1", "outputs" = "open" }, { "inputs" = "J1", "outputs" = "K1" }]
[[board.strap_group]]
name = "inputs"
kind = "links"
straps = ["J1"]
[[board.strap_group.setting]]
closed = ["J1"]
inputs = { widths = 5 }
[[board.strap_group]]
name = "outputs"
kind = "links"
straps = ["K1"]
[[board.strap_group.setting]]
closed = ["K1"]
outputs = { widths = 5 }
[[chassis]]""",
    )
    scenario = change(SCENARIO, 'board = "slab-30"', 'board = "slab-30"\nstraps = { "inputs" = "J1" }')
    loaded = load_scenario(_write(tmp_path, strapped, scenario))
    assert [w.text() for w in loaded.warnings] == [
        'frame "L" > straps: no legal combination of settings of slab-30 has this: never_together leaves none, '
        "so the frame can never be used"
    ]
    scenario = change(scenario, '"J1"', '"open"')
    assert load_scenario(_write(tmp_path, strapped, scenario)).warnings == ()
