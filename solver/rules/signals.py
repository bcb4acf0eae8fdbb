"""A port serves only the signals that it takes."""

from __future__ import annotations

from collections.abc import Iterator

from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.room.faults import quote
from solver.room.survey import Survey
from solver.rules.finding import Finding, at_slot, by_slot_and_need, channels_text
from solver.rules.limit import Draft, Limit, Place, Rule


class Signals(Rule):
    """Signals that a port takes."""

    code = "signals"
    speaks_of = "lines"
    describes = True

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each need: no channel of a port that does not take its signal."""
        for need in survey.needs:
            yield Limit(self.code, Place(subject=need.name, direction=need.direction), 0, "channels")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int:
        """Channels that are to serve the need and do not take its signal."""
        return sum(
            use.channel is not None and use.need.signal not in use.channel.line_type.signals
            for frame in standing.frames
            for use in frame.named
            if use.need.name == limit.place.subject
        )

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Open the types of line that take the signal; no other can serve."""
        need = next(n for n in draft.survey.needs if n.name == limit.place.subject)
        for line_type in draft.line_types(need.direction):
            if need.signal in line_type.signals:
                draft.may_serve(need, line_type)

    def places(self, survey: Survey, frame: FrameStanding, limit: Limit) -> Iterator[Finding]:
        """Each place of a frame where it is broken."""
        need = next(n for n in survey.needs if n.name == limit.place.subject)
        wrong = [
            u for u in frame.named if u.need == need and u.channel and need.signal not in u.channel.line_type.signals
        ]
        for (slot, name), indices in by_slot_and_need(wrong).items():
            seat = frame.occupant(slot)
            text = f"{channels_text(need.direction, indices)} of {seat.kind.id if seat else 'a card'}"
            verb = "does" if len(set(indices)) == 1 else "do"
            text = f"{text} {verb} not take {need.signal}, which {quote(name)} asks for"
            yield Finding(f"{at_slot(frame, slot)}: {text}", len(indices), frame.site.name, slot, name)
