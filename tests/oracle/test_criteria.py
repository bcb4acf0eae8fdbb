"""What files may rank by: each criterion is drawn by the generator, and no build exceeds what it is weighed with."""

from __future__ import annotations

from typing import get_args

import generate
import pytest

from solver.judge import criteria
from solver.room.ready import survey_room
from solver.room.scenario import CriterionName
from solver.search.ask.ranking import rank
from solver.search.model.scale import Scale


def test_comparisons_rank_by_every_criterion_that_a_file_may_name() -> None:
    assert {*generate.CRITERIA, *generate.MOVING} == set(get_args(CriterionName))


@pytest.mark.parametrize("criterion", [name for name in get_args(CriterionName) if name != "cooling"])
def test_no_build_exceeds_what_a_criterion_is_weighed_with(criterion: str) -> None:
    """A greater value would weigh more than a unit of the criterion before it."""
    seen = 0
    for seed in range(60):
        drawn = generate.random_standing if criterion in generate.MOVING else generate.random_pair
        scenario, hardware = drawn(seed)
        survey = survey_room(scenario.model_copy(update={"rank": (criterion,), "slack": {}}), hardware)
        scale = Scale.of(survey)
        for build in rank(survey, 3).builds:
            value = criteria.value(survey, build.figures, criterion) // scale.units.get(criterion, 1)
            assert 0 <= value <= scale.ceilings[criterion]
            seen += value > 0
    assert seen >= 10
