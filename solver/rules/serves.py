"""What a build says of services is there: the need, the card and its channels."""

from __future__ import annotations

from collections.abc import Iterator

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.faults import quote, unknown
from solver.room.survey import Survey
from solver.rules.finding import Finding, at_slot, channels_text
from solver.rules.limit import Draft, Limit, Place, Rule, frames_at


class Serves(Rule):
    """Services that are there."""

    code = "serves"
    speaks_of = "lines"
    describes = True

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

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        needs = {need.name: need for need in survey.needs}
        told: dict[tuple[int, str], list[int]] = {}
        for service in frame.built.serves or ():
            told.setdefault((service.slot, service.need), []).extend(service.indices())
        there = {(use.slot, use.need.name, use.index) for use in frame.named if use.channel is not None}
        for (slot, name), indices in told.items():
            lost = [index for index in indices if (slot, name, index) not in there]
            if not lost:
                continue
            seat = frame.occupant(slot)
            if name not in needs:
                text = unknown("", (), name, needs, "is no need of this scenario").text()
            elif seat is None:
                text = f"no card stands there to carry {quote(name)}"
            else:
                text = (
                    f"{seat.kind.id} has no {channels_text(needs[name].direction, lost)} there to carry {quote(name)}"
                )
            yield Finding(f"{at_slot(frame, slot)}: {text}", len(lost), frame.site.name, slot, name)
