"""`why --apply N`: numbers that no way out has, and scenarios that have none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from test_why_not import HARDWARE, SCENARIO

from cli.main import run
from solver.answers import why
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
