"""What numbers are at the host, on every sheet by which somebody works there: the host's is first + number - 1."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from inside import strapwork

import solver

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FIRST, NEXT = (SCENARIOS / f"quay-mix-rig-{name}-drawn.toml" for name in ("first", "next"))
PORT = '\n[[host_port]]\nname = "trunk 1"\nkind = "madi"\nframe = "M"\nfirst = 65\n'


@pytest.fixture
def cabled(tmp_path: Path) -> Path:
    """The mix rig with its frame on a port whose first channel is 65 at the host."""
    text = (SCENARIOS / "quay-mix-rig.toml").read_text("utf-8")
    path = tmp_path / "rig.toml"
    path.write_text(text.replace('"hardware/', f'"{(SCENARIOS / "hardware").as_posix()}/') + PORT, "utf-8")
    return path


def test_what_is_retyped_has_the_old_and_the_new_number_at_the_host(cabled: Path) -> None:
    order = solver.work_order(cabled, NEXT, old=FIRST)
    assert len(order.retype) == 20
    for row in order.retype:
        assert (row.old_host, row.new_host) == (64 + row.old_number, 64 + row.new_number)
    ran = strapwork("work-order", cabled, NEXT, "--from", FIRST, "--time", "10")
    lines = [" ".join(line.split()) for line in ran.stdout.splitlines()]
    assert "need channel old number new number old host new host" in lines
    assert "[ ] outboard sends 1-8 M out 9-16 M out 1-8 73-80 65-72" in lines
    assert "M in 17 81 outboard returns 9 2: 1 a [ ] [ ]" in lines


def test_the_sheets_of_a_pack_have_them(cabled: Path, tmp_path: Path) -> None:
    pack = solver.pack(cabled, NEXT, old=FIRST)
    for sheet in pack.tests:
        assert all(row.host == 64 + row.number for row in sheet.rows)
    assert all(row.host == 64 + row.number and row.old_host == 64 + (row.old_number or 0) for row in pack.recorder)
    tables = {name: list(csv.DictReader(text.splitlines())) for name, text in pack.tables().items()}
    for name in ("test-sheet.csv", "recorder.csv"):
        assert all(int(row["host"]) == 64 + int(row["number"]) for row in tables[name])
    at_host = {row["numbers"]: row["host"] for row in tables["looms.csv"] if row["direction"] == "in"}
    assert (at_host["1"], at_host["25-26"], at_host["31-32"]) == ("65", "89-90", "95-96"), "two channels on AES3"
    assert strapwork("pack", cabled, NEXT, "--from", FIRST, "--to", tmp_path / "pack").returncode == 0
    page = (tmp_path / "pack/index.html").read_text("utf-8")
    assert '<td>M out 9</td><th scope="row" class="other">M out 1</th><td>73</td><td>65</td>' in page


def test_what_fails_says_which_numbers_at_the_host_it_takes(cabled: Path) -> None:
    lost = solver.failed(cabled, NEXT, "slot:M:1")
    assert [each.was_host for each in lost.affected] == list(range(65, 73))
    ran = strapwork("failed", cabled, NEXT, "slot:M:1")
    lines = [" ".join(line.split()) for line in ran.stdout.splitlines()]
    assert "outboard returns 1-8 M:in:1-8 65-72 bay:P1:B1-B8" in lines


def test_without_host_ports_no_sheet_speaks_of_the_host() -> None:
    pack = solver.pack(SCENARIOS / "quay-mix-rig.toml", NEXT, old=FIRST)
    assert not any("host" in text.split("\n", 1)[0].split(",") for text in pack.tables().values())
