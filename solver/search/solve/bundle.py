"""Layouts of a frame that are bounded together, and parted only while they may hold what is looked for."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import groupby

from solver.room.kind import Kind
from solver.room.straps import Layout
from solver.room.survey import Survey
from solver.search.model.envelope import envelope, parted
from solver.search.model.options import all_options, capacity_of, numbers_enough
from solver.search.model.scale import Caps, Stage
from solver.search.model.seating import Seating
from solver.search.solve.bounds import Bounds
from solver.search.solve.clock import Clock
from solver.search.solve.part import Answer, Part, Shared
from solver.search.solve.relaxation import PartRelaxation

FEW = 4
"""Fewer layouts are bounded each by itself."""

PARTS = 8
"""Bundles of more than this part of all layouts are parted unasked: of so many a bound says too little."""


class Bundle(Bounds):
    """Two or more layouts of the only frame of a room, which have one board."""

    spare = Part.spare

    def __init__(
        self,
        survey: Survey,
        layouts: Sequence[Layout],
        kinds: Sequence[Kind],
        shared: Shared,
        part: type[Part],
        above: Bounds | None = None,
    ) -> None:
        super().__init__(above)
        self.survey = survey
        self.layouts = layouts
        self.kinds = kinds
        self.shared = shared
        self._part = part
        self._asked: list[tuple[Stage, dict[Stage, int]]] = []

    @cached_property
    def within(self) -> list[Bundle | Part]:
        """The layouts in two, each a bundle or a model of its own."""
        return [bundle_of(self.survey, own, self.kinds, self.shared, self._part, self) for own in parted(self.layouts)]

    @cached_property
    def _relaxation(self) -> PartRelaxation:
        options = [[envelope(self.layouts)]]
        return PartRelaxation(self.survey, options, self.kinds, self.shared)

    @cached_property
    def capacity(self) -> int:
        """How many numbers cards could answer in the best of them, were its slots all full."""
        return capacity_of([[envelope(self.layouts)]], self.kinds)

    def final(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> None:
        """It has bounds alone."""

    def unasked(self, stage: Stage, caps: Caps, listed: Sequence[Seating]) -> bool:
        """Whether its bound has yet to be asked for; of few layouts each is asked for its own, of most it is not."""
        asks = FEW <= len(self.layouts) <= len(self.survey.frames[0].candidates) // PARTS
        return asks and (stage, caps) not in self._asked

    def relaxed(self, stage: Stage, caps: Caps, listed: Sequence[Seating], clock: Clock, cutoff: int | None) -> Answer:
        """A bound for the least value of a stage under caps, listed builds among all others."""
        bound, told = self._relaxation.first(stage, caps, (), clock, cutoff, self.lower(stage, caps))
        self._know(stage, caps, bound)
        if told:
            self._asked.append((stage, dict(caps)))
        return Answer(None, None, self.lower(stage, caps))


def bundle_of(
    survey: Survey,
    layouts: Sequence[Layout],
    kinds: Sequence[Kind],
    shared: Shared,
    part: type[Part],
    above: Bounds | None,
) -> Bundle | Part:
    """Some layouts of one board."""
    if len(layouts) > 1:
        return Bundle(survey, layouts, kinds, shared, part, above)
    own = part(survey, [layouts], kinds, shared)
    own.above = above
    return own


def bundles(survey: Survey, kinds: Sequence[Kind], shared: Shared, part: type[Part]) -> list[Bundle | Part]:
    """The layouts of the only frame, by board and by what they say of the end of a clock line."""
    found = [bundle_of(survey, own, kinds, shared, part, None) for own in _of_one_nature(survey)]
    return found + [part(survey, [[None]], kinds, shared)] * _may_be_empty(survey)


def envelopes(survey: Survey) -> list[Layout | None]:
    """The only frame as bundles of its layouts bound it."""
    found: list[Layout | None] = [envelope(own) for own in _of_one_nature(survey)]
    return found + [None] * _may_be_empty(survey)


def _of_one_nature(survey: Survey) -> list[list[Layout]]:
    def nature(layout: Layout) -> tuple[str, str]:
        return layout.board, str(layout.ends)

    options = [option for option in all_options(survey)[0] if numbers_enough(survey, [option])]
    ordered = sorted((option for option in options if option is not None), key=nature)
    return [list(own) for _, own in groupby(ordered, key=nature)]


def _may_be_empty(survey: Survey) -> bool:
    return None in all_options(survey)[0] and numbers_enough(survey, [None])
