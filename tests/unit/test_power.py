"""What a build draws from the mains, by hand: two frames, one with two supplies, on two breakers."""

from __future__ import annotations

from pathlib import Path

import pytest
from inside import strapwork
from samples import change, faults_of

import solver
from solver.reports.power import Power

HARDWARE = """\
format = 1
[[card]]
id = "line-in-8"
rails = { "+17" = 0.3, "+5" = 0.4 }
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 8 } }]
[[board]]
id = "shale-16"
rails = { "+5" = 1.0 }
limits = { "48" = { in = 16, out = 0 } }
inputs = { first_slot = 1, widths = 8 }
outputs = { first_slot = 1, widths = 0 }
[[chassis]]
id = "one"
slot_count = 2
boards = ["shale-16"]
rails = { "+17" = 2.0, "+5" = 4.0 }
supply = { loss_w = 10, power_factor = 0.5, inlet = "C14", inrush_a = 20, leakage_ma = 0.5 }
[[chassis]]
id = "two"
slot_count = 2
boards = ["shale-16"]
rails = { "+17" = 2.0, "+5" = 4.0 }
supply = { count = 2, loss_w = 10, power_factor = 0.5, inlet = "C8", inrush_a = 25, leakage_ma = 0.75 }
"""

SCENARIO = """\
format = 1
title = "Two breakers"
hardware = ["quay.toml"]
currency = "GBP"
stock = { line-in-8 = 3 }
frame = [{ name = "A", chassis = "one", board = "shale-16" }, { name = "B", chassis = "two", board = "shale-16" }]
need = [{ name = "returns", direction = "in", signal = "line", channels = 24 }]

[mains]
volts = 200
hours_a_year = 1000
kwh_price = "0.50"

[[breaker]]
name = "1"
rated_a = 6
curve = "C"
rcd_ma = 30
feeds = ["A", "B 1"]
other_a = 1

[[breaker]]
name = "2"
rated_a = 6
curve = "B"
feeds = ["B 2"]
"""

BUILD = """\
format = 1
[[frame]]
name = "A"
board = "shale-16"
cards = { "1" = "line-in-8" }
[[frame]]
name = "B"
board = "shale-16"
cards = { "1" = "line-in-8", "2" = "line-in-8" }
"""


def _write(folder: Path, scenario: str = SCENARIO, hardware: str = HARDWARE) -> tuple[Path, Path]:
    for name, text in (("quay.toml", hardware), ("room.toml", scenario), ("build.toml", BUILD)):
        (folder / name).write_text(text, encoding="utf-8")
    return folder / "room.toml", folder / "build.toml"


def _power(folder: Path, scenario: str = SCENARIO, hardware: str = HARDWARE) -> Power:
    return solver.power(*_write(folder, scenario, hardware))


def test_frames_are_added_up(tmp_path: Path) -> None:
    """A: 17 x 0.3 + 5 x 0.4 + 5 x 1 = 12.1 W, 22.1 W with 10 W lost, 44.2 VA, 0.221 A at 200 V, 0.2456 A at 180 V.

    B: 5 + 2 x 7.1 = 19.2 W, 39.2 W with 2 x 10 W, 78.4 VA: 0.196 A for each, 0.4356 A for one alone at 180 V.
    """
    one, two = _power(tmp_path).frames
    assert one.rails_w == pytest.approx(12.1)
    assert (one.mains_w, one.mains_va) == (22.1, 44.2)
    assert (one.each_a, one.alone_a, one.year_kwh) == (0.221, 0.246, 23)
    assert (two.supplies, two.mains_w, two.mains_va) == (2, 39.2, 78.4)
    assert (two.each_a, two.alone_a, two.year_kwh) == (0.196, 0.436, 40)


def test_breakers_carry_what_is_left_when_others_fail(tmp_path: Path) -> None:
    found = _power(tmp_path)
    first, second = found.breakers
    assert (first.feeds, first.usual_a, first.most_a) == (["A", "B 1"], 1.417, 1.682)
    assert (second.feeds, second.usual_a, second.most_a) == (["B 2"], 0.196, 0.436)
    assert (first.continuous_a, first.inrush_a, first.trip_a) == (4.8, 45.0, 30.0)
    assert (first.leakage_ma, first.most_leakage_ma, second.most_leakage_ma) == (1.25, 9.0, None)
    assert found.notes == [
        "breaker 1 may trip when all on it is switched on at once, 45.00 A against 30.00 A: switch it on one after the "
        "other",
        "breaker 2 may trip when all on it is switched on at once, 25.00 A against 18.00 A: switch it on one after the "
        "other",
    ]
    assert found.not_checked == ["breaker 2: leakage"]
    assert found.mains_w == pytest.approx(61.3)
    assert (found.year_kwh, found.year_cost) == (63, "31.50")


FAULTY = {
    "a breaker": (("scenario", "other_a = 1", "other_a = 4.2"), "mains-breaker", "4.89 A; continuously at most 4.80 A"),
    "an inlet": (("hardware", 'power_factor = 0.5, inlet = "C8"', 'power_factor = 0.1, inlet = "C8"'), None, ""),
    "leakage": (("scenario", "other_a = 1", "other_leakage_ma = 7.8"), "mains-leakage", "9.05 mA, is over 30 %"),
}


@pytest.mark.parametrize(("what", "rule", "told"), FAULTY.values(), ids=FAULTY)
def test_a_change_makes_one_fault(tmp_path: Path, what: tuple[str, str, str], rule: str | None, told: str) -> None:
    texts = {"scenario": SCENARIO, "hardware": HARDWARE}
    texts[what[0]] = change(texts[what[0]], what[1], what[2])
    found = _power(tmp_path, texts["scenario"], texts["hardware"]).faults
    assert [fault.rule for fault in found] == ([rule] if rule else [])
    assert all(told in fault.text for fault in found)


def test_an_inlet_gets_too_much(tmp_path: Path) -> None:
    """40 kW from one rail at 180 V are more than 2.5 A and than any breaker here."""
    hot = change(HARDWARE, '"+5" = 1.0 }\nlimits', '"+5" = 50.0 }\nlimits')
    found = _power(tmp_path, hardware=hot).faults
    (inlet,) = [fault for fault in found if fault.subject == "B"]
    assert inlet.rule == "mains-inlet"
    assert "through one C8 inlet, rated 2.50 A" in inlet.text


def test_a_build_that_breaks_a_rule_is_faulty_here_too(tmp_path: Path) -> None:
    hot = change(HARDWARE, '"+5" = 1.0 }\nlimits', '"+5" = 50.0 }\nlimits')
    document = _power(tmp_path, hardware=hot)
    assert document.outcome == "faulty"
    assert "rails" in {fault.rule for fault in document.faults}


def test_two_supplies_on_one_breaker_are_told(tmp_path: Path) -> None:
    both = change(change(SCENARIO, '"B 1"]', '"B"]'), 'feeds = ["B 2"]', "feeds = []")
    notes = _power(tmp_path, both).notes
    assert notes[0] == "all supplies of frame B hang on breaker 1: when that trips they are all off"


FILE_FAULTS = {
    "no such frame": ('"B 1"]', '"C"]', 'breaker "1" > feeds: "C" is no frame of this room and no supply of one'),
    "fed twice": ('feeds = ["B 2"]', 'feeds = ["B"]', 'breaker "2" > feeds: "B 1" is fed by "1" already'),
    "no volts": (
        '[mains]\nvolts = 200\nhours_a_year = 1000\nkwh_price = "0.50"\n',
        "",
        "mains: is missing; breakers need the volts",
    ),
    "a name twice": ('name = "2"', 'name = "1"', '"1" is already the name of another breaker'),
    "no such curve": ('"B"\nfeeds', '"E"\nfeeds', 'breaker "2" > curve: "E" is not allowed'),
}


@pytest.mark.parametrize(("old", "new", "told"), FILE_FAULTS.values(), ids=FILE_FAULTS)
def test_a_fault_of_a_breaker_is_told_with_its_key(tmp_path: Path, old: str, new: str, told: str) -> None:
    scenario, _ = _write(tmp_path, change(SCENARIO, old, new))
    assert told in faults_of(scenario)[0].text()


def test_the_screen_has_cautions_and_figures(tmp_path: Path) -> None:
    shown = strapwork("power", *_write(tmp_path))
    assert shown.returncode == 0
    words = " ".join(shown.stdout.split())
    assert "B 20 20 40 79 134 2 x 0.20 C8" in words
    assert "licensed people under local code" in words
    assert max(map(len, shown.stdout.splitlines())) <= 80


def test_a_build_without_cards_draws_nothing_and_has_no_heads_of_columns(tmp_path: Path) -> None:
    build = tmp_path / "bare.toml"
    build.write_text("format = 1\n", encoding="utf-8")
    told = strapwork("power", Path(__file__).parents[2] / "scenarios/quay-van.toml", build).stdout
    assert "  no frame has a card, so nothing is drawn\n" in told
    assert "rails W" not in told
