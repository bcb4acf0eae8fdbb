"""A line serves one need at most: a channel is never shared, and a pair with a grain is used whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver.rules.limit import Draft, Limit, Place, Rule, frames_at
from solver.standing import Standing
from solver.survey import Survey
from solver.words import DIRECTIONS


class Channels(Rule):
    """Lines that serve one need."""

    code = "channels"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame and direction: at most one service of any line."""
        for site in survey.frames:
            for direction in DIRECTIONS:
                yield Limit(self.code, Place(frame=site.name, direction=direction), 1, "needs")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """The most services of one line: needs that share it, or one channel named twice."""
        for frame in frames_at(standing, limit):
            uses = [u for u in frame.named if u.need.direction == limit.place.direction]
            lines: dict[tuple[int, tuple[int, ...]], set[str]] = {}
            for use in uses:
                if use.channel is not None:
                    lines.setdefault((use.slot, use.channel.line), set()).add(use.need.name)
            shared = max((len(names) for names in lines.values()), default=0)
            repeated = max(Counter((u.slot, u.index) for u in uses if u.channel is not None).values(), default=0)
            return max(shared, repeated)
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Each line serves one need at most."""
        draft.serve_once(limit, limit.place.direction or "in")
