"""A line serves one need at most: a channel is never shared, and a pair with a grain is used whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver.fitted.frame import FrameStanding, Use
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, enumerated
from solver.rules.finding import Finding, at_slot, channels_text
from solver.rules.limit import Draft, Limit, Place, Rule, frames_at


class Channels(Rule):
    """Lines that serve one need."""

    code = "channels"
    speaks_of = "lines"
    describes = True

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

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        direction = limit.place.direction
        lines: dict[tuple[int, tuple[int, ...]], list[Use]] = {}
        for use in frame.named:
            if use.need.direction == direction and use.channel is not None:
                lines.setdefault((use.slot, use.channel.line), []).append(use)
        told: dict[tuple[int, str], list[int]] = {}
        for (slot, line), uses in sorted(lines.items()):
            names = sorted({use.need.name for use in uses})
            indices = [use.index for use in uses]
            if len(names) > 1:
                shared = indices if len(set(indices)) < len(indices) else line
                told.setdefault((slot, f"carry {enumerated([quote(name) for name in names])}"), []).extend(shared)
            elif len(set(indices)) < len(indices):
                twice = [i for i in indices if indices.count(i) > 1]
                told.setdefault((slot, f"carry {quote(names[0])} more than once"), []).extend(twice)
        for (slot, what), channels in told.items():
            one = len(set(channels)) == 1
            said = what.replace("carry", "carries", 1) if one else what
            text = f"{channels_text(direction, channels)} {said}"
            if not one and "more than once" not in what:
                text += "; each line carries one need"
            yield Finding(f"{at_slot(frame, slot)}: {text}", 2, frame.site.name, slot)
