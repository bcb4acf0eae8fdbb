"""What a build says of services is there: the need, the card and its channels."""

from __future__ import annotations

from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule, frames_at
from solver.standing import Standing
from solver.survey import Survey


class Serves(Rule):
    """Services that are there."""

    code = "serves"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame: no channel that serves a need which is not there, or is itself not there."""
        for site in survey.frames:
            yield Limit(self.code, Place(frame=site.name), 0, "channels")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that serve and are not there, or serve what is not there."""
        needs = {need.name for need in survey.needs}
        for frame in frames_at(standing, limit):
            lost = sum(len(s.indices()) for s in frame.built.serves or () if s.need not in needs)
            return lost + sum(use.channel is None for use in frame.named)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Nothing to state: the search knows no other needs, cards and channels."""
