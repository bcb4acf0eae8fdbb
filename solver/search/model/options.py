"""What a room's models may choose among: kinds of card worth a look, and combinations of settings."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import prod

from solver import rules
from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS

MOST_MODELS = 2048
"""Up to so many layouts of a single frame each get a model of their own: each has a first bound in a hundredth of a
second, which is nearly always the exact value."""

MOST_OF_TWO = 512
"""The same of combinations of settings of two frames."""

MOST_OF_SEVERAL = 64
"""The same of more frames, or where limits may give way."""

ROUNDS = 4
"""So often is asked which other cards builds can hold."""


def useful_kinds(survey: Survey, *, obtainable_only: bool = True) -> list[Kind]:
    """Kinds that can be had, unless others are wanted too, and could serve something or are wanted by a rule.

    A card that serves no need adds cost and unused capacity and takes nothing away, unless holes count alone.
    """
    wanted = rules.wanted(survey)
    asked = {(n.direction, n.signal) for n in survey.needs if n.demand}
    found = []
    for kind in survey.kinds.values():
        if obtainable_only and survey.most_of(kind.id) == 0:
            continue
        serves = any(
            (direction, signal) in asked
            for (direction, _), channels in kind.channels.items()
            for channel in channels
            for signal in channel.line_type.signals
        )
        if serves or kind.id in wanted or "holes" in survey.rank:
            found.append(kind)
    return found


def all_options(survey: Survey) -> list[list[Layout | None]]:
    """Everything that each frame may be."""
    return [list(site.candidates) + ([] if site.spec.pins or site.spec.must_use else [None]) for site in survey.frames]


def options_of(survey: Survey) -> list[list[list[Layout | None]]]:
    """The models that a room needs, each as a list of options for every frame; none if a frame has no option."""
    own = all_options(survey)
    most = min(MOST_MODELS, {1: MOST_MODELS, 2: MOST_OF_TWO}.get(len(own), MOST_OF_SEVERAL))
    if prod(len(options) for options in own) > most:
        return [own] if all(own) else []
    return [
        [[option] for option in combination] for combination in product(*own) if numbers_enough(survey, combination)
    ]


def numbers_enough(survey: Survey, layouts: Sequence[Layout | None]) -> bool:
    """Whether there are numbers for all that has to be served."""
    return survey.may_number(
        {
            d: sum(block.width for layout in layouts if layout is not None for block in layout.blocks(d))
            for d in DIRECTIONS
        }
    )


def capacity_of(options: Sequence[Sequence[Layout | None]], kinds: Sequence[Kind]) -> int:
    """How many numbers cards could answer, were the slots of the best options all full."""
    widest = {d: max((len(k.on(d, part)) for k in kinds for part in range(k.span)), default=0) for d in DIRECTIONS}

    def answered_in(layout: Layout) -> int:
        return sum(min(block.width, widest[d]) for d in DIRECTIONS for block in layout.blocks(d))

    return sum(max((answered_in(option) for option in own if option is not None), default=0) for own in options)
