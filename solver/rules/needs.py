"""Every need gets the channels that it asks for, and those to spare; needs that are nice to have may be short.

How short those may be together is no limit of theirs: the search finds the least, and its builds keep to that.
"""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule
from solver.standing import Standing
from solver.survey import Survey


class Needs(Rule):
    """Needs that get what they ask for."""

    code = "needs"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need: at least its channels and spare."""
        for need in survey.needs:
            yield Limit(
                self.code,
                Place(subject=need.name, direction=need.direction),
                need.demand,
                "channels",
                at_least=True,
                source=("need", need.place, "channels"),
                give=range(0) if need.nice else range(1, need.demand + 1),
            )

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that serve the need; not judged where it is nice to have, or a frame has no numbers."""
        need = next(n for n in survey.needs if n.name == limit.place.subject)
        served = standing.served(need)
        if need.nice or (served < limit.bound and any(frame.layout is None for frame in standing.frames)):
            return None
        return served

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Channels of the lines that serve the need."""
        need = next(n for n in draft.survey.needs if n.name == limit.place.subject)
        draft.ask(limit, need)
