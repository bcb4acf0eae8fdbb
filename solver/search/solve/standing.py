"""A seating as a build that stands, with what serves what."""

from __future__ import annotations

from solver.fitted.standing import Standing, build_of, stand, with_terminations
from solver.room.build import Build, BuiltFrame
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS
from solver.search.model.listed import Seating


def as_stands(survey: Survey, seating: Seating) -> Standing:
    """The build of a seating, settled."""
    frames = []
    for site, option, cards in zip(survey.frames, seating.options, seating.cards, strict=True):
        if option is not None:
            frames.append(
                BuiltFrame(
                    name=site.name,
                    room=survey.room,
                    board=option.board,
                    straps=dict(option.straps),
                    cards={str(slot): card for slot, card in cards},
                )
            )
    ends = None if seating.ends is None else {d: seating.ends[d] for d in DIRECTIONS}
    rough = stand(survey, with_terminations(survey, Build(title=survey.title, frame=tuple(frames))), ends)
    return stand(survey, build_of(rough, survey.title))
