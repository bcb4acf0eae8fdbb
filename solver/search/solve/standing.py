"""A seating as a build that stands, with what serves what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from solver.fitted.standing import Standing, build_of, set_for_needs, stand, with_terminations
from solver.judge import audit, criteria
from solver.room.build import Build, BuiltFrame
from solver.room.hardware import PHANTOM
from solver.room.survey import Survey
from solver.search.model.seating import Seating
from solver.search.solve.settling import settled


def as_stands(survey: Survey, seating: Seating, reached: Mapping[str, int] | None = None) -> Standing:
    """The build of a seating, settled: what serves what and how cards are set is said.

    Parameters
    ----------
    reached
        What the search claims of criteria, none of which is exceeded.
    """
    frames = tuple(
        BuiltFrame(
            name=site.name,
            room=survey.room,
            board=option.board,
            straps=dict(option.straps),
            cards={str(slot): card for slot, card in cards},
        )
        for site, option, cards in zip(survey.frames, seating.options, seating.cards, strict=True)
        if option is not None
    )
    build = with_terminations(survey, Build(title=survey.title, frame=frames))
    found = settled(survey, seating, reached or {})
    rough = stand(survey, build, found.ends, found.choices, found.held, patiently=True)
    plain = found.choices is None and survey.scenario.stands is None
    return stand(survey, build_of(rough if plain else set_for_needs(rough), survey.title))


def kept_as_before(survey: Survey, seating: Seating, standing: Standing, before: Standing) -> Standing:
    """A build with the numbers and the settings of the one before where that takes nothing; phantom power aside.

    That is settled for one after the other, so it is not proven that no way keeps more.
    """
    needs = {need.name for need in survey.needs}
    frames = [
        frame.built.model_copy(
            update={
                "settings": tuple(own for own in frame.built.settings if own.setting != PHANTOM),
                "serves": tuple(own for own in frame.built.serves or () if own.need in needs),
            }
        )
        for frame in before.frames
    ]
    scenario = survey.scenario.model_copy(update={"installed": Build(frame=tuple(frames))})
    kept = stand(survey, build_of(as_stands(replace(survey, scenario=scenario), seating), survey.title))
    old, new = (
        [criteria.value(survey, criteria.figures(survey, own), c) for c in survey.rank] for own in (standing, kept)
    )
    return kept if old == new and not audit.faults(survey, kept) else standing
