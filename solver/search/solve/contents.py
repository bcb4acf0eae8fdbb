"""What frames with given settings can hold within caps: mostly few lists of cards, and the first in order of each.

Once sums, margin and ties are capped at their least values hardly anything is left of which there can be how many in
which frame. So these lists are found over runs, and the slots are asked for the first seating of just one of them at a
time, which is quick. All later builds with the same caps are among these seatings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from solver.room.survey import Survey
from solver.search.model.listed import repeats
from solver.search.model.scale import NEVER
from solver.search.model.seating import Seating
from solver.search.solve.part import Answer, Counts

MOST = 24
"""Where there are more, they are not listed."""

ROUNDS = 40
"""So often it is asked over runs for another list, what cannot be seated among them."""


def just_these(survey: Survey, seating: Seating) -> Counts:
    """As many cards of each kind in each frame as a seating has, wherever they stand."""
    return [
        (site.index, card, site.slots, number, number)
        for site in survey.frames
        for card, number in sorted(seating.counts(site.index).items())
    ]


@dataclass
class Contents:
    """Every list of cards of some settings within some caps, each as a seating; in `firsts` as the first in order."""

    survey: Survey
    seatings: Sequence[Seating]
    firsts: dict[int, Seating] = field(default_factory=dict)

    def any(self, listed: Sequence[Seating]) -> Answer:
        """A seating that repeats no listed one."""
        own = next(self._unlisted(listed), None)
        return Answer(None, None, NEVER) if own is None else Answer(0, self.firsts.get(own, self.seatings[own]), 0)

    def first(self, listed: Sequence[Seating], ask: Callable[[Counts], Answer]) -> Answer:
        """The first in order that repeats no listed one; `ask` says which is the first of just some cards."""
        best = Answer(None, None, NEVER)
        for own in self._unlisted(listed):
            if own not in self.firsts:
                answer = ask(just_these(self.survey, self.seatings[own]))
                if answer.seating is None:
                    return Answer(None, None, 0)
                self.firsts[own] = answer.seating
            if best.seating is None or self._order(self.firsts[own]) < self._order(best.seating):
                best = Answer(0, self.firsts[own], 0)
        return best

    def _unlisted(self, listed: Sequence[Seating]) -> Iterator[int]:
        for own, seating in enumerate(self.seatings):
            if not any(repeats(self.survey, seating, other) for other in listed):
                yield own

    def _order(self, seating: Seating) -> list[list[tuple[bool, str]]]:
        """What each slot holds, frame by frame; nothing comes last."""
        held = [dict(own) for own in seating.cards]
        return [
            [(slot not in own, own.get(slot, "")) for slot in site.slots]
            for site, own in zip(self.survey.frames, held, strict=True)
        ]
