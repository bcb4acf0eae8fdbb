"""A seating as a build that stands, with what serves what."""

from __future__ import annotations

from collections.abc import Sequence

from solver.fitted.standing import Standing, build_of, set_for_needs, stand, with_terminations
from solver.room.build import Build, BuiltFrame
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS
from solver.search.model.draft import Ends
from solver.search.model.listed import Seating
from solver.search.solve.set_cards import Cards, card_choices


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
    return settled(survey, tuple(frames), seating.options, seating.cards, ends)


def settled(
    survey: Survey, frames: tuple[BuiltFrame, ...], options: Sequence[Layout | None], cards: Cards, ends: Ends | None
) -> Standing:
    """Frames as a build in which what serves what and how cards are set is said."""
    build = with_terminations(survey, Build(title=survey.title, frame=frames))
    choices = card_choices(survey, options, cards, ends)
    rough = stand(survey, build, ends, choices)
    return stand(survey, build_of(rough if choices is None else set_for_needs(rough), survey.title))
