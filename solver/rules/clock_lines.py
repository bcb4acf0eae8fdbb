"""A clock line is ended once, at the last frame on it that is used."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.fitted.frame import FrameStanding
from solver.fitted.line_ends import state
from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.message import Message, tell
from solver.room.survey import Survey
from solver.room.termination import rows, terminates
from solver.rules.limit import Draft, Limit, Place, Reading, Rule


def on_line(survey: Survey, standing: Standing, limit: Limit) -> list[FrameStanding]:
    """The used frames of the line that a limit speaks of, from the source on; the last one has to end it."""
    index = (limit.source or ("", -1))[1]
    used = [f for f in standing.frames if f.site.line is not None and f.site.line.index == index]
    return sorted(used, key=lambda f: f.site.line.position if f.site.line else 0)


def early(frames: Sequence[FrameStanding]) -> list[FrameStanding]:
    """The frames of a line that end it where it does not end: before its last frame, or at all beside a terminator."""
    seat = frames[-1].site.line if frames else None
    inner = frames if seat is not None and seat.terminator else frames[:-1]
    return [frame for frame in inner if terminates(frame.board.clock_input, frame.built.straps)]


def line_fault(survey: Survey, standing: Standing, limit: Limit) -> str:
    """A clock line that is ended twice, too early or not at all, with every place named."""
    frames = on_line(survey, standing, limit)
    end = frames[-1]
    seat = end.site.line
    too_early = early(frames)
    if limit.at_least:
        said = f"not ended at its last frame, {_place(end)}"
        return f"{said}, but at {_places(too_early)}" if too_early else said
    said = f"ended at {_places(too_early)}"
    if seat is not None and seat.terminator:
        return f"{said} and by {seat.beyond or 'its terminator'}"
    if terminates(end.board.clock_input, end.built.straps):
        return f"{said} and again at its last frame, {_place(end)}"
    return f"{said}, before its last frame, {end.site.name}"


def _places(frames: Sequence[FrameStanding]) -> str:
    return " and ".join(f"frame {_place(frame)}" for frame in frames)


def _place(frame: FrameStanding) -> str:
    stands = state(frame, frame.board.clock_input)
    return f"{frame.site.name} ({stands})" if stands else frame.site.name


class ClockLines(Rule):
    """Clock lines that are ended once, at their end."""

    code = "clock-line"
    speaks_of = "straps"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each line: nothing ends it before its end, and its end is ended; with a terminator by that alone."""
        for line in survey.clock_lines:
            seat = line[0].line
            if seat is None:
                continue
            source = ("clock_line", seat.index)
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
            clock = frames[-1].board.clock_input
            if clock is not None and clock.termination == "none":
                return None
            at_end = terminates(clock, frames[-1].built.straps)
            return None if at_end is None else int(at_end)
        return len(early(frames))

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """Settings that can only stand where they end the line, or only where they do not, stand nowhere else.

        All other terminations are set when it is known which frames are used.
        """
        index = (limit.source or ("", -1))[1]
        sites = [site for site in draft.survey.frames if site.line is not None and site.line.index == index]
        seats = [(site.index, site.line) for site in sites if site.line is not None]
        for too_early, load in rows(seats, lambda index: draft.layouts(draft.survey.frames[index])):
            if too_early != limit.at_least:
                draft.hold(Limit(self.code, limit.place, 0, limit.unit, source=limit.source), load)

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The clock inputs of boards on lines."""
        for frame in standing.frames:
            if frame.site.line is not None and frame.board.clock_input is None:
                yield Unknown("clock line", "clock input", frame.board.id), 1

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        limit = reading.limit
        said = line_fault(survey, standing, limit) if standing else "not ended once, at its last frame"
        return tell("clock line {frames}: {said}", frames=limit.place.subject or "", said=said)
