"""What a build says is set on its cards can be set there."""

from __future__ import annotations

from collections.abc import Iterator

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.survey import Survey
from solver.rules.finding import Finding, at_slot
from solver.rules.limit import Draft, Limit, Place, Rule, frames_at


class CardsSet(Rule):
    """Settings of cards that are there."""

    code = "cards-set"
    speaks_of = "lines"
    describes = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame: nothing set on a card that it does not have."""
        for site in survey.frames:
            yield Limit(self.code, Place(frame=site.name), 0, "settings")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """What is wrong with the settings of its cards."""
        for frame in frames_at(standing, limit):
            return len(frame.stray_sets)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Nothing to state: the search sets what there is."""

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        for stray in frame.stray_sets:
            yield Finding(f"{at_slot(frame, stray.slot)}: {stray.text}", 1, frame.site.name, stray.slot, stray.setting)
