"""`why --apply N`: numbers that no way out has, and scenarios that have none."""

from __future__ import annotations

import pytest
from test_why_not import HARDWARE, SCENARIO

from cli.main import run
from solver.search.ask import ranking

MANY = ("channels = 12", "channels = 60")


@pytest.fixture
def applied(tmp_path, capsys):
    """Asks for a way out: the exit code, and the last line that is said."""

    def put(number: int, *edits: tuple[str, str]):
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


def test_a_number_that_no_way_out_has_is_told_which_there_are(applied):
    assert applied(9, ('budget = "500.00"', 'budget = "50.00"'))[1] == "Error: Invalid value for --apply: give 1 to 2"
    assert applied(2, ('budget = "500.00"', 'budget = "50.00"'))[0] == 0


def test_one_way_out_is_said_to_be_the_only_one(applied):
    assert applied(2, MANY) == (2, "Error: Invalid value for --apply: give 1, there is one way out")
    assert applied(1, MANY)[0] == 0


def test_a_scenario_that_is_possible_has_nothing_to_apply(applied):
    assert applied(1) == (
        2,
        "Error: Invalid value for --apply: there is no way out to make, because the scenario is possible as it is",
    )


def test_a_search_that_was_ended_knows_no_way_out(applied, monkeypatch):
    monkeypatch.setattr(ranking, "rank", lambda *_, **__: ranking.Ranking("unknown", stopped=True))
    assert applied(1, MANY) == (
        2,
        "Error: Invalid value for --apply: no way out is known, because the search was ended before it found one",
    )
