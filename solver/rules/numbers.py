"""Only numbered channels serve: what lies past its block or past the board's limit is stranded."""

from __future__ import annotations

from collections.abc import Iterator

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, Direction
from solver.rules.finding import Finding, at_slot, by_slot_and_need, channels_text
from solver.rules.limit import Draft, Limit, Place, Rule, frames_at, site_of


class Numbers(Rule):
    """Channels that have numbers."""

    code = "numbers"
    speaks_of = "lines"
    describes = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame and direction: no service by a channel without a number."""
        for site in survey.frames:
            for direction in DIRECTIONS:
                yield Limit(self.code, Place(frame=site.name, direction=direction), 0, "channels")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """Channels that serve without a number, or as part of a line that is not wholly numbered."""
        for frame in frames_at(standing, limit):
            if frame.layout is None:
                return None
            direction = limit.place.direction or "in"
            numbered = _numbered(frame, direction)
            return sum(
                use.channel is not None and any((use.slot, i) not in numbered for i in use.channel.line)
                for use in frame.named
                if use.need.direction == direction
            )
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Only lines that are wholly numbered and in the part of the frame in use can serve."""
        draft.supply(limit, site_of(draft.survey, limit), limit.place.direction or "in")

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        direction = limit.place.direction or "in"
        numbered = _numbered(frame, direction)
        bad = [
            use
            for use in frame.named
            if use.need.direction == direction
            and use.channel is not None
            and any((use.slot, i) not in numbered for i in use.channel.line)
        ]
        for (slot, name), indices in by_slot_and_need(bad).items():
            bare = [i for i in indices if (slot, i) not in numbered]
            verbs = ("has", "carries") if len(set(bare or indices)) == 1 else ("have", "carry")
            if bare:
                text = f"{channels_text(direction, bare)} {verbs[0]} no number and {verbs[1]} {quote(name)}"
            else:
                text = f"{channels_text(direction, indices)} {verbs[1]} {quote(name)}"
                text += ", and the rest of the line has no number"
            yield Finding(f"{at_slot(frame, slot)}: {text}", len(indices), frame.site.name, slot, name)


def _numbered(frame: FrameStanding, direction: Direction) -> set[tuple[int, int]]:
    """Slot and channel of what the board gives a number."""
    every = ((slot, channel.index) for slot, channel, _ in frame.channels(direction))
    return {(slot, index) for slot, index in every if frame.on_board(direction, slot, index) is not None}
