"""Boards with many settings: bounds of many layouts together hold for each, and bundles change no answer."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

import generated_rooms
import pytest

from solver.room.ready import survey_room
from solver.room.survey import Survey
from solver.search.ask.front import front
from solver.search.ask.ranking import rank
from solver.search.model.envelope import envelope, parted
from solver.search.model.options import numbers_enough, options_of, useful_kinds
from solver.search.model.scale import MARGIN, NEVER
from solver.search.solve import bundle, stages
from solver.search.solve.bundle import Bundle
from solver.search.solve.clock import Clock
from solver.search.solve.part import Part, Shared
from solver.search.solve.stages import RankedBuild

RANKS = (
    ("cost", "unused", "cooling"),
    ("unused", "cost"),
    ("holes", "cost"),
    ("stranded", "idle", "cooling"),
    ("idle", "holes"),
    ("cooling", "cost", "unused"),
)


def _room(seed: int, rank_by: Sequence[str] = RANKS[0]) -> Survey:
    shape = random.Random(seed)
    slots = shape.choice((3, 4, 5))
    made = generated_rooms.generated(
        seed, frames=1, slots=slots, settings=shape.choice((16, 36, 64)), kinds=shape.choice((5, 8)), needs=2
    )
    return replace(survey_room(*made), rank=tuple(rank_by))


@pytest.mark.parametrize("seed", range(25))
def test_no_layout_falls_below_the_bound_of_a_bundle(seed: int) -> None:
    draw = random.Random(seed)
    survey = _room(seed, RANKS[seed % len(RANKS)])
    kinds, shared, clock = useful_kinds(survey), Shared.of(survey, rough=True), Clock(None)
    layouts = [layout for layout in survey.frames[0].candidates if numbers_enough(survey, [layout])]
    for _ in range(3):
        some = draw.sample(layouts, min(len(layouts), draw.choice((2, 3, 6))))
        if len(some) < 2:
            return
        caps = {MARGIN: survey.refuse_mk + draw.choice((0, 3000, 6000))}
        together = Bundle(survey, some, kinds, shared, Part)
        for criterion in [name for name in survey.rank if name != "cooling"]:
            bound = together.relaxed((criterion,), caps, (), clock, None).bound
            for layout in some:
                alone = Part(survey, [[layout]], kinds, shared).minimise((criterion,), caps, (), clock)
                assert bound <= (NEVER if alone.value is None else alone.value), (criterion, layout.straps)


def test_bounds_of_bundles_are_seldom_far_off() -> None:
    """A bundle of one board bounds nothing if its bound is always far below; it is met in most of these rooms."""
    met = 0
    for seed in range(20):
        survey = _room(seed)
        kinds, shared, clock = useful_kinds(survey), Shared.of(survey, rough=True), Clock(None)
        (every, *_) = bundle.bundles(survey, kinds, shared, Part)
        bound = every.relaxed(("cost",), {}, (), clock, None).bound
        best = rank(survey, top=1).builds
        met += bool(best) and bound == best[0].figures.cost // shared.scale.units["cost"]
    assert met >= 10


@pytest.mark.parametrize("seed", range(20))
def test_parted_layouts_are_those_that_there_were(seed: int) -> None:
    layouts = list(_room(seed).frames[0].candidates)
    waiting, whole = [layouts], []
    while waiting:
        own = waiting.pop()
        if len(own) == 1:
            whole += own
            assert envelope(own) is own[0]
            continue
        few, many = parted(own)
        assert few
        assert many
        waiting += [few, many]
    assert sorted(map(id, whole)) == sorted(map(id, layouts))


def _one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def each(survey: Survey, kinds: object, shared: Shared, part: type[Part]) -> list[Part]:
        return [part(survey, options, useful_kinds(survey), shared) for options in options_of(survey)]

    monkeypatch.setattr(stages, "bundles", each)


def _said(builds: Sequence[RankedBuild]) -> list[object]:
    return [(b.build.model_dump(), b.figures, b.proven, b.stages) for b in builds]


@pytest.mark.parametrize("seed", range(24))
def test_bundles_change_no_plan(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    survey = _room(seed, RANKS[seed % len(RANKS)])
    monkeypatch.setattr(bundle, "FEW", 2)
    monkeypatch.setattr(bundle, "PARTS", 1)
    found = rank(survey, top=4, workers=1 + seed % 2)
    _one_by_one(monkeypatch)
    plain = rank(survey, top=4)
    assert (found.outcome, found.complete) == (plain.outcome, plain.complete)
    assert _said(found.builds) == _said(plain.builds)


@pytest.mark.parametrize("seed", range(10))
def test_bundles_change_no_front(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    survey = _room(seed)
    monkeypatch.setattr(bundle, "FEW", 2)
    monkeypatch.setattr(bundle, "PARTS", 1)
    found = front(survey)
    _one_by_one(monkeypatch)
    plain = front(survey)
    assert found.complete
    assert plain.complete
    assert _said(found.points) == _said(plain.points)
