"""How long sets of wishes that may give way are looked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from solver.files.reading import load_scenario
from solver.room.ready import survey_room
from solver.search.ask import loose
from solver.search.solve.clock import Clock

ROOT = Path(__file__).parents[2]


def test_work_that_is_over_without_an_answer_leaves_the_question_open_however_little_it_was(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Also where it is no more than each model gets at first: no answer is not the answer that there is none."""
    loaded = load_scenario(ROOT / "scenarios/quay-impossible.toml")
    questions = loose.Questions.of(survey_room(loaded.scenario, loaded.hardware), Clock(None))
    monkeypatch.setattr(loose, "solve", lambda *_, **__: ("unknown", None))
    with pytest.raises(loose.Unsure):
        questions.least_work([], loose.EFFORT)
