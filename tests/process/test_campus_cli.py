"""Several rooms as people plan and check them: real processes on the campus that ships."""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
from amounts import some_or_all

from solver.reports.report import Report

ROOT = Path(__file__).parents[2]
CAMPUS = "scenarios/quay-campus.toml"
COMMAND = [sys.executable, "-m", "cli"]


def strapwork(*arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "80", "NO_COLOR": "1"}
    return subprocess.run(
        [*COMMAND, *arguments], cwd=ROOT, env=environment, check=False, capture_output=True, text=True
    )


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Report, Path]:
    saved = tmp_path_factory.mktemp("campus") / "built.toml"
    ran = strapwork("plan", CAMPUS, "--format", "json", "--save", str(saved))
    assert (ran.returncode, ran.stderr) == (0, "")
    return Report.model_validate_json(ran.stdout), saved


def test_the_campus_that_ships_has_known_optima(planned: tuple[Report, Path]) -> None:
    report, _ = planned
    build = report.builds[0]
    assert report.proven
    assert (build.cost, build.unused.total) == ("10270.00", 134)
    assert set(build.stages) == {"cost", "unused", "cooling"}


def test_rooms_and_the_whole_agree(planned: tuple[Report, Path]) -> None:
    report, _ = planned
    build, scenario = report.builds[0], tomllib.loads((ROOT / CAMPUS).read_text(encoding="utf-8"))
    assert [room.name for room in report.rooms] == sorted(room["name"] for room in scenario["room"])
    assert sum(room.unused.total for room in report.rooms) == build.unused.total
    margins = {room.name: margin for room in report.rooms if (margin := room.cooling.margin_k) is not None}
    assert len(margins) == len(report.rooms)
    assert all(margin >= 5 for margin in margins.values())
    assert build.cooling.room is not None
    assert margins[build.cooling.room] == build.cooling.margin_k == min(margins.values())
    for item, count in scenario["stock"].items():
        taken = sum(room.from_stock.get(item, 0) for room in report.rooms)
        assert taken + build.stock_left.get(item, 0) == count
    ordered = {**build.orders.cards, **build.orders.chassis, **build.orders.boards}
    assert ordered == {i: n for i in ordered if (n := sum(room.ordered.get(i, 0) for room in report.rooms))}
    assert {frame.room for frame in build.frames} <= set(margins)


def test_the_build_that_was_saved_is_clean_and_a_swapped_card_is_a_fault_of_its_room(
    planned: tuple[Report, Path], tmp_path: Path
) -> None:
    report, saved = planned
    checked = strapwork("check", CAMPUS, str(saved), "--format", "json")
    assert checked.returncode == 0
    again = Report.model_validate_json(checked.stdout)
    assert again.rooms == report.rooms
    text = saved.read_text(encoding="utf-8")
    mutated = tmp_path / "swapped.toml"
    room = text.index('room = "Stage"')
    mutated.write_text(text[:room] + text[room:].replace('"mic-8"', '"aux-in-2"', 1), encoding="utf-8")
    found = strapwork("check", CAMPUS, str(mutated))
    assert found.returncode == 1
    assert "room Stage" in found.stdout


def test_the_screen_has_every_room_with_its_margin_and_what_is_ordered(planned: tuple[Report, Path]) -> None:
    report, _ = planned
    screen = strapwork("plan", CAMPUS).stdout
    assert all(len(line) <= 80 for line in screen.splitlines())
    for room in report.rooms:
        margin = int(room.cooling.margin_k or 0)
        assert re.search(rf"^{room.name} .* {room.unused.total} .* {margin} K$", screen, re.MULTILINE)
    assert "10270.00 GBP, proven" in screen


def test_an_impossible_campus_says_what_all_rooms_lack(tmp_path: Path) -> None:
    text = (ROOT / CAMPUS).read_text(encoding="utf-8").replace("hardware/", f"{ROOT}/scenarios/hardware/")
    text = text.replace('card = "aes-8"\n', 'card = "aes-8"\nat_most = 1\n').replace("\naes-8 = 3", "\naes-8 = 1")
    poor = tmp_path / "poor.toml"
    poor.write_text(text, encoding="utf-8")
    ran = strapwork("plan", str(poor))
    assert ran.returncode == 1
    assert ran.stdout == (
        "Impossible, proven: Gannet Quay, all rooms\n"
        "  all rooms: 22 aes3 input channels are asked for; the cards in stock and on\n"
        "  offer have 16\n"
        "  all rooms: 24 aes3 output channels are asked for; the cards in stock and on\n"
        "  offer have 16\n"
        "  `strapwork why` says which rooms clash over what, and ways out.\n"
    )


def test_a_terminal_is_told_stage_best_bound_and_seconds_and_ctrl_c_ends_it(tmp_path: Path) -> None:
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, "plan", CAMPUS, "--format", "json", "--workers", "1"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=theirs,
    )
    os.close(theirs)
    told = b""
    deadline = time.monotonic() + 60
    while not re.search(rb"best [0-9.]+, bound [0-9.]+, [0-9]+ s", told) and time.monotonic() < deadline:
        if select.select([ours], [], [], 1.0)[0]:
            try:
                told += os.read(ours, 4096)
            except OSError:
                break
    assert re.search(rb"(cost|unused|cooling|rooms without a build), best [0-9.]+, bound [0-9.]+, [0-9]+ s", told), told
    process.send_signal(signal.SIGINT)
    output, _ = process.communicate(timeout=30)
    os.close(ours)
    assert process.returncode in (130, 0)
    assert Report.model_validate_json(output).outcome in ("found", "unknown")


@some_or_all("limits", ("2",), ("1.5", "2", "3", "4"))
def test_a_limit_leaves_a_build_that_works_and_says_what_is_not_proven(limits: tuple[str, ...]) -> None:
    for seconds in limits:
        ran = strapwork("plan", CAMPUS, "--limit", seconds, "--format", "json")
        report = Report.model_validate_json(ran.stdout)
        assert ran.returncode == {"found": 0, "unknown": 3}[report.outcome]
        if report.outcome == "found":
            build = report.builds[0]
            assert len(report.rooms) == 12
            assert report.proven == all(build.stages.values())
            assert float(build.bounds.get("cost", "0")) <= 10270 <= float(build.cost)
            assert (build.cost == "10270.00") or not build.stages["cost"]
