"""`why --apply N`: numbers that no way out has, and scenarios that have none."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from samples import change
from test_why_not import HARDWARE, SCENARIO

import solver
from cli.main import run
from solver.answers import why
from solver.reports.report import Report
from solver.search.ask.ranking import Ranking

Applied = Callable[..., tuple[int, str]]

MANY = ("channels = 12", "channels = 60")


@pytest.fixture
def applied(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Applied:
    """Asks for a way out: the exit code, and the last line that is said."""

    def put(number: int, *edits: tuple[str, str]) -> tuple[int, str]:
        text = SCENARIO
        for before, after in edits:
            assert before in text
            text = text.replace(before, after, 1)
        (tmp_path / "stages.toml").write_text(HARDWARE, encoding="utf-8")
        (tmp_path / "two.toml").write_text(text, encoding="utf-8")
        changed = tmp_path / "changed.toml"
        code = run(["why", str(tmp_path / "two.toml"), "--apply", str(number), "--to", str(changed)])
        assert changed.exists() == (code == 0)
        told = capsys.readouterr()
        return code, (told.out + told.err).splitlines()[-1]

    return put


def test_a_number_that_no_way_out_has_is_told_which_there_are(applied: Applied) -> None:
    assert applied(9, ('budget = "500.00"', 'budget = "50.00"'))[1] == "way out 9 is not made: give 1 to 2"
    assert applied(2, ('budget = "500.00"', 'budget = "50.00"'))[0] == 0


def test_one_way_out_is_said_to_be_the_only_one(applied: Applied) -> None:
    assert applied(2, MANY) == (2, "way out 2 is not made: give 1, there is one way out")
    assert applied(1, MANY)[0] == 0


def test_a_scenario_that_is_possible_has_nothing_to_apply(applied: Applied) -> None:
    assert applied(1) == (
        2,
        "way out 1 is not made: the scenario is possible as it is",
    )


def test_a_search_that_was_ended_knows_no_way_out(applied: Applied, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(why, "rank", lambda *_, **__: Ranking("unknown", stopped=True))
    assert applied(1, MANY) == (
        2,
        "way out 1 is not made: the search was ended before it found one",
    )


@pytest.mark.parametrize("form", ["text", "json"])
def test_the_answer_is_given_where_no_way_out_has_the_number(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    """What a search took its time for is not lost over a number; the same answer as without it, and no other."""
    (tmp_path / "stages.toml").write_text(HARDWARE, encoding="utf-8")
    path = tmp_path / "two.toml"
    path.write_text(SCENARIO.replace(*MANY, 1), encoding="utf-8")
    asked = ["why", str(path), "--format", form]
    assert run(asked) == 1
    answer = capsys.readouterr().out
    assert run([*asked, "--apply", "7", "--to", str(tmp_path / "changed.toml")]) == 2
    told = capsys.readouterr()
    assert (told.out, told.err) == (answer, "way out 7 is not made: give 1, there is one way out\n")


@pytest.mark.parametrize(("ranked", "dearer"), [("cost", False), ("unused", True)])
def test_a_way_out_is_said_to_cost_the_least_that_the_plan_can_cost_with_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], ranked: str, dearer: bool
) -> None:
    """Six lines on one slot: with a second one two owned cards do, and a bought one leaves nothing unused."""
    pair = '[[card]]\nid = "mic-2"\nprice = "120.00"\n'
    pair += 'ports = [{ direction = "in", signals = ["mic"], channels = { "48" = 2 } }]\n'
    text = change(SCENARIO, '["cost", "unused"]', f'["{ranked}"]')
    text = change(text, 'card = "mic-8"', 'card = "mic-2"')
    text = change(text, 'board = "long"', 'board = "long"\nkeep_empty = [2, 3, 4]')
    text = change(text, 'board = "short"', 'board = "short"\nkeep_empty = [1, 2]')
    (tmp_path / "stages.toml").write_text(HARDWARE + pair, encoding="utf-8")
    (tmp_path / "two.toml").write_text(change(text, "channels = 12", "channels = 6"), encoding="utf-8")
    assert run(["why", str(tmp_path / "two.toml")]) == 1
    screen = capsys.readouterr().out
    assert re.search("^ +work +lid +change +least cost GBP$", screen, re.MULTILINE), screen
    report = solver.why(tmp_path / "two.toml")
    assert isinstance(report, Report)
    assert report.clash is not None
    found = []
    for number, way in enumerate(report.clash.ways, start=1):
        changed = tmp_path / f"{number}.toml"
        assert run(["why", str(tmp_path / "two.toml"), "--apply", str(number), "--to", str(changed)]) == 0
        planned = solver.plan(changed)
        assert isinstance(planned, Report)
        assert way.cost is not None
        found.append(Decimal(planned.builds[0].cost) - Decimal(way.cost))
    assert found
    assert min(found) >= 0
    assert (max(found) > 0) == dearer
