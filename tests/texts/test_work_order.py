"""The screen of a work order, whole: moved cards, a faulty build, nothing to do, patching alone, rooms, hostile names.

The screens stand in `work_orders/`, one for each case; `python tests/texts/test_work_order.py` writes them anew, to be
read then.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from inside import strapwork
from rich.cells import cell_len

from solver.reports.work_order import WorkOrder

ROOT = Path(__file__).parents[2]
ORDERS = Path(__file__).parent / "work_orders"

HARDWARE = """\
format = 1
[[card]]
id = "mic-4"
rails = { "+48" = 0.04 }
ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 4 }, phantom_ma_per_channel = 10 }]
[[card]]
id = "line-in-4"
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[card]]
id = "wide-out-4"
span = 2
ports = [{ direction = "out", signals = ["line"], channels = { "48" = 4 } }]
[[board]]
id = "skerry-16"
limits = { "48" = { in = 16, out = 16 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
clock_input = { termination = "switched", strap_group = "clock end", setting = "T1" }
[[board.strap_group]]
name = "start"
kind = "links"
straps = ["V1", "V2"]
[[board.strap_group.setting]]
closed = ["V1"]
inputs = { first_slot = 2 }
[[board.strap_group.setting]]
closed = ["V1", "V2"]
inputs = { first_slot = 3 }
[[board.strap_group]]
name = "clock end"
kind = "links"
straps = ["T1"]
[[board.strap_group.setting]]
closed = ["T1"]
[[board]]
id = "gull-12"
limits = { "48" = { in = 12, out = 12 } }
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 1, widths = 4 }
[[chassis]]
id = "cairn-4"
slot_count = 4
boards = ["skerry-16", "gull-12"]
supply = { external = true, height_u = 1 }
rails = { "+48" = 1 }
"""

NEEDS = """\
[[need]]
name = "booth"
direction = "in"
signal = "mic"
channels = 3
spare = 1
[[need]]
name = "tape"
direction = "in"
signal = "line"
channels = 2
"""

STOCK = """\
[stock]
mic-4 = 2
line-in-4 = 2
wide-out-4 = 1
skerry-16 = 2
gull-12 = 1
"""

SCENARIO = (
    'format = 1\ntitle = "Gannet Quay, booth"\nhardware = ["hardware.toml"]\ncurrency = "GBP"\n'
    + STOCK
    + '[[frame]]\nname = "A"\nchassis = "cairn-4"\n[[frame]]\nname = "B"\nchassis = "cairn-4"\n'
    + NEEDS
)

ROOMS = (
    'format = 1\ntitle = "Gannet Quay, two rooms"\nhardware = ["hardware.toml"]\ncurrency = "GBP"\n'
    + STOCK
    + "".join(
        f'[[room]]\nname = "{room}"\n[[room.frame]]\nname = "A"\nchassis = "cairn-4"\n'
        + (NEEDS.replace("[[need]]", "[[room.need]]") if room == "North" else "")
        for room in ("North", "South")
    )
)


def _frame(name: str, cards: str, start: str = "open", board: str = "skerry-16", more: str = "") -> str:
    straps = f'straps = {{ "start" = "{start}", "clock end" = "open" }}\n' if board == "skerry-16" else ""
    return f'[[frame]]\nname = "{name}"\nboard = "{board}"\n{straps}cards = {{ {cards} }}\n{more}'


def _room(room: str, frame: str) -> str:
    return frame.replace("[[frame]]", f'[[frame]]\nroom = "{room}"')


def _build(*frames: str) -> str:
    return "format = 1\n" + "".join(frames)


PLAIN = _build(_frame("A", '1 = "mic-4", 2 = "line-in-4"'))
SERVES = """\
serves = [
  { need = "booth", slot = 1, channels = "1-4" },
  { need = "tape", slot = 2, channels = "CHANNELS" },
]
"""
EARLY, LATE = (
    _build(_frame("A", '1 = "mic-4", 2 = "line-in-4"', more=SERVES.replace("CHANNELS", two))) for two in ("1-2", "3-4")
)
HOSTILE = "[bold]x[/] <b>\u05d0\u05d1 :boom: \U0001f600 {0} %s"

CASES: dict[str, tuple[int, str, str, str | None, tuple[str, ...]]] = {
    "from empty frames": (0, SCENARIO, PLAIN, None, ()),
    "nothing to do": (0, SCENARIO, PLAIN, PLAIN, ()),
    "slots exchanged and straps": (
        0,
        SCENARIO,
        PLAIN,
        _build(_frame("A", '2 = "mic-4", 1 = "line-in-4", 3 = "line-in-4"', "V1")),
        ("--time", "10"),
    ),
    "another board": (
        0,
        SCENARIO,
        _build(_frame("A", '1 = "mic-4", 2 = "line-in-4"', board="gull-12")),
        PLAIN,
        ("--time", "10"),
    ),
    "between two frames": (
        0,
        SCENARIO,
        _build(_frame("A", '1 = "mic-4"'), _frame("B", '1 = "line-in-4"')),
        _build(_frame("A", '1 = "line-in-4"'), _frame("B", '1 = "mic-4"')),
        ("--time", "10"),
    ),
    "patching alone": (0, SCENARIO, LATE, EARLY, ("--time", "30")),
    "faulty, a taken slot": (
        1,
        SCENARIO,
        _build(_frame("A", '1 = "mic-4", 2 = "wide-out-4", 3 = "line-in-4"')),
        PLAIN,
        ("--time", "10"),
    ),
    "a setting left out": (
        1,
        SCENARIO,
        PLAIN.replace('"start" = "open", ', ""),
        PLAIN,
        ("--time", "10"),
    ),
    "two rooms": (
        0,
        ROOMS,
        _build(
            _room("North", _frame("A", '1 = "mic-4", 2 = "line-in-4"')), _room("South", _frame("A", '1 = "line-in-4"'))
        ),
        _build(_room("North", _frame("A", '1 = "mic-4"')), _room("South", _frame("A", '3 = "line-in-4"'))),
        ("--time", "10"),
    ),
    "one of two rooms": (
        0,
        ROOMS,
        _build(
            _room("North", _frame("A", '1 = "mic-4", 2 = "line-in-4"')), _room("South", _frame("A", '1 = "line-in-4"'))
        ),
        _build(_room("North", _frame("A", '1 = "mic-4"')), _room("South", _frame("A", '3 = "line-in-4"'))),
        ("--room", "South", "--time", "10"),
    ),
    "hostile names": (
        0,
        SCENARIO.replace('"A"', f'"{HOSTILE}"').replace('"tape"', f'"{HOSTILE}"').replace("Gannet Quay", HOSTILE),
        PLAIN.replace('"A"', f'"{HOSTILE}"'),
        None,
        ("--time", "10"),
    ),
}  # fmt: skip
"""By name the exit code, the scenario, the build, what stands, and options."""


def _order(folder: Path, case: str, *options: str, columns: int = 80) -> subprocess.CompletedProcess[str]:
    _, scenario, build, old, more = CASES[case]
    (folder / "hardware.toml").write_text(HARDWARE, encoding="utf-8")
    (folder / "scenario.toml").write_text(scenario, encoding="utf-8")
    (folder / "build.toml").write_text(build, encoding="utf-8")
    if old is not None:
        (folder / "old.toml").write_text(old, encoding="utf-8")
        more = (*more, "--from", "old.toml")
    return strapwork("work-order", "scenario.toml", "build.toml", *more, *options, cwd=folder, columns=columns)


@pytest.mark.parametrize("case", CASES)
def test_the_sheet_is_as_it_was_read(case: str, tmp_path: Path) -> None:
    ran = _order(tmp_path, case)
    assert ran.stdout == (ORDERS / f"{case}.txt").read_text(encoding="utf-8")
    assert (ran.returncode, ran.stderr) == (CASES[case][0], "")
    assert max(map(cell_len, ran.stdout.splitlines())) <= 80


@pytest.mark.parametrize("case", CASES)
def test_the_document_has_every_step_of_the_sheet(case: str, tmp_path: Path) -> None:
    document = _order(tmp_path, case, "--format", "json").stdout
    order = WorkOrder.model_validate_json(document)
    words = " ".join(_order(tmp_path, case, columns=4000).stdout.split())
    for section in order.sections:
        assert section.title in words
        for step in section.steps:
            assert f"[ ] {step.number} {' '.join(step.text.split())}" in words
    assert (order.outcome == "faulty") == bool(CASES[case][0]) == words.startswith("FAULTY")
    assert order.summary in words
    assert all(" ".join(caution.split()) in words for caution in order.cautions) or order.nothing_to_do
    assert json.loads(document)["format"] == 1


def test_nothing_to_do_is_one_line(tmp_path: Path) -> None:
    assert len(_order(tmp_path, "nothing to do").stdout.splitlines()) == 1


def test_a_card_of_one_frame_goes_to_the_other_with_both_off(tmp_path: Path) -> None:
    order = WorkOrder.model_validate_json(_order(tmp_path, "between two frames", "--format", "json").stdout)
    steps = [(step.action, step.frame) for section in order.sections for step in section.steps]
    assert steps.index(("card out", "B")) < steps.index(("card in", "A"))
    assert steps.index(("mains off", "B")) < steps.index(("card in", "A"))


def test_supply_cables_come_off_before_a_card_and_go_on_after_it(tmp_path: Path) -> None:
    _order(tmp_path, "between two frames")
    cabled = HARDWARE.replace('id = "mic-4"\n', 'id = "mic-4"\nsupply_cables = ["mic-feed"]\n')
    (tmp_path / "hardware.toml").write_text(cabled, encoding="utf-8")
    ran = strapwork("work-order", "scenario.toml", "build.toml", "--from", "old.toml", cwd=tmp_path, columns=200)
    words = " ".join(ran.stdout.split())
    assert "Take mic-4 out of slot 1, its supply cable unplugged first, for slot 1 of frame A" in words
    assert 'Seat mic-4 in slot 1, from slot 1 of frame B; plug its supply cable into "mic-feed"' in words
    assert words.index("Mains of B off") < words.index("its supply cable unplugged first")


def test_the_build_that_stands_is_read_like_any_other(tmp_path: Path) -> None:
    _order(tmp_path, "nothing to do")
    (tmp_path / "old.toml").write_text(PLAIN.replace("mic-4", "mike-4"), encoding="utf-8")
    (tmp_path / "bad.toml").write_text(PLAIN.replace("cards", "crads"), encoding="utf-8")
    for old, build, told in (
        ("old.toml", "build.toml", ("old.toml: 1 fault",)),
        ("bad.toml", "build.toml", ("bad.toml: 1 fault",)),
        ("none.toml", "bad.toml", ("bad.toml: 1 fault", "none.toml: 1 fault")),
    ):
        ran = strapwork("work-order", "scenario.toml", build, "--from", old, cwd=tmp_path)
        assert (ran.returncode, ran.stdout) == (2, "")
        assert all(line in ran.stderr for line in told)


def test_a_room_that_is_not_there_is_named(tmp_path: Path) -> None:
    ran = _order(tmp_path, "two rooms", "--room", "Nroth")
    assert ran.returncode == 2
    assert 'did you mean "North"?' in ran.stderr


def test_every_screen_has_a_case() -> None:
    assert sorted(file.stem for file in ORDERS.glob("*.txt")) == sorted(CASES)


if __name__ == "__main__":
    import tempfile

    ORDERS.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as where:
        for each in CASES:
            (ORDERS / f"{each}.txt").write_text(_order(Path(where), each).stdout, encoding="utf-8")
