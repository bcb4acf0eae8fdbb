"""A clock line is ended once, at the last frame on it that is used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.hardware import ClockInput
from solver.rules.limit import Draft, Limit, Place, Rule
from solver.standing import FrameStanding, Standing
from solver.survey import Survey
from solver.termination import rows, terminates


def clock_of(survey: Survey, frame: FrameStanding) -> ClockInput | None:
    """What is known of the clock input of a frame's board."""
    return next((board.clock_input for board in survey.hardware.board if board.id == frame.built.board), None)


def on_line(survey: Survey, standing: Standing, limit: Limit) -> list[FrameStanding]:
    """The used frames of the line that a limit speaks of, from the source on; the last one has to end it."""
    place = (limit.source or ("", -1))[1]
    used = [f for f in standing.frames if f.site.line is not None and f.site.line.place == place]
    return sorted(used, key=lambda f: f.site.line.position if f.site.line else 0)


def early(survey: Survey, frames: Sequence[FrameStanding]) -> list[FrameStanding]:
    """The frames of a line that end it where it does not end: before its last frame, or at all beside a terminator."""
    seat = frames[-1].site.line if frames else None
    inner = frames if seat is not None and seat.terminator else frames[:-1]
    return [frame for frame in inner if terminates(clock_of(survey, frame), frame.built.straps)]


class ClockLines(Rule):
    """Clock lines that are ended once, at their end."""

    code = "clock-line"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each line: nothing ends it before its end, and its end is ended; with a terminator by that alone."""
        for line in survey.clock_lines:
            seat = line[0].line
            if seat is None:
                continue
            source = ("clock_line", seat.place)
            place = Place(subject=", ".join(seat.frames))
            yield Limit(self.code, place, 0, "settings", source=source)
            if not seat.terminator:
                yield Limit(self.code, place, 1, "settings", at_least=True, source=source)

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """How many boards end it too early, or whether its end is ended; None where nobody says, or nothing can."""
        frames = on_line(survey, standing, limit)
        if not frames:
            return None
        if limit.at_least:
            clock = clock_of(survey, frames[-1])
            if clock is not None and clock.termination == "none":
                return None
            at_end = terminates(clock, frames[-1].built.straps)
            return None if at_end is None else int(at_end)
        return len(early(survey, frames))

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Settings that can only stand where they end the line, or only where they do not, stand nowhere else.

        All other terminations are set when it is known which frames are used.
        """
        place = (limit.source or ("", -1))[1]
        sites = [site for site in draft.survey.frames if site.line is not None and site.line.place == place]
        seats = [(site.index, site.line) for site in sites if site.line is not None]
        for too_early, load in rows(seats, lambda index: draft.layouts(draft.survey.frames[index])):
            if too_early != limit.at_least:
                draft.hold(Limit(self.code, limit.place, 0, limit.unit, source=limit.source), load)
