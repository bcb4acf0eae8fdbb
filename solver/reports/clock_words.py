"""Who ends a clock line, in words: what is so, what is wrong, and what has to be asked where nobody says."""

from __future__ import annotations

from solver.fitted import line_ends
from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing
from solver.reports.report import ClockReport
from solver.room.hardware import ClockInput
from solver.room.survey import Survey


def asked_about(survey: Survey, frame: FrameStanding) -> str | None:
    """The strap group of a frame that ends a clock line, where neither a line nor the scenario says how it stands."""
    clock = frame.board.clock_input
    if clock is None or frame.site.line is not None or clock.strap_group in frame.site.spec.straps:
        return None
    return clock.strap_group


def clock_report(survey: Survey, standing: Standing, frame: FrameStanding) -> ClockReport | None:
    """What a frame has to do with its clock line; None where its settings are asked for or nothing is known."""
    clock = frame.board.clock_input
    seat = frame.site.line
    if seat is None:
        if clock is None or clock.strap_group in frame.site.spec.straps:
            return None
        stands = line_ends.state(frame, clock) if clock.strap_group in frame.built.straps else None
        return ClockReport(question=True, text=_question(frame, clock), stands=stands)
    line = [f for f in _in_order(standing) if f.site.line is not None and f.site.line.index == seat.index]
    ends = frame is line[-1]
    names = [f.site.name for f in line]
    state = line_ends.state(frame, clock)
    said = f"the last on its clock line ({', '.join(names)})" if ends else f"before {names[-1]} on its clock line"
    if len(line) == 1:
        said = "the only frame on its clock line"
    if clock is None:
        said += f": whether {frame.built.board} ends it is not known"
    elif ends and seat.beyond is not None:
        said += f", with {seat.beyond} after it{f': {state}' if state else ''}"
    elif ends and (seat.terminator or clock.termination == "none"):
        put = "its" if seat.terminator else "put a"
        goes = " goes here" if seat.terminator else " on its clock input"
        said += f": {put} {seat.impedance_ohm} ohm terminator{goes}{f'; {state}' if state else ''}"
    elif state:
        said += f": {state}"
    unused = [name for name in seat.frames if name not in names]
    if ends and unused:
        # A frame without cards still loads the line, and may end it, as long as a lead goes to it.
        said += f"; no clock lead to {' and '.join(unused)}, which {'is' if len(unused) == 1 else 'are'} not used"
    return ClockReport(line=names, ends=ends, text=said)


def questions(standing: Standing) -> dict[str, str]:
    """What has to be asked of frames before a strap of theirs is set as the build has it, by their names."""
    found = {}
    for frame in standing.frames:
        clock = clock_report(standing.survey, standing, frame)
        if clock is not None and clock.stands is not None:
            found[frame.site.name] = f"{clock.text}; the build has {clock.stands}"
    return found


def _in_order(standing: Standing) -> list[FrameStanding]:
    return sorted(standing.frames, key=lambda f: f.site.line.position if f.site.line else -1)


def _question(frame: FrameStanding, clock: ClockInput) -> str:
    name, board = frame.site.name, frame.built.board
    if clock.termination == "fixed":
        return f"{board} always ends its clock line: {name} has to be the last on it"
    if clock.termination == "none":
        return f"{board} cannot end a clock line: if {name} is the last on it, a terminator goes there"
    straps = line_ends.ending_straps(frame, clock)
    if straps is None:
        return f'"{clock.strap_group}": set it to {clock.setting} only if {name} is the last on its clock line'
    them = "them" if " and " in straps else "it"
    return f"{straps}: close {them} only if {name} is the last on its clock line"


def warnings(survey: Survey, standing: Standing) -> list[str]:
    """Lines that end at a board that cannot end them, with no terminator named."""
    found = []
    for end in _ends(standing):
        clock, seat = end.board.clock_input, end.site.line
        if seat is not None and not seat.terminator and clock is not None and clock.termination == "none":
            found.append(
                f"clock line {', '.join(seat.frames)}: {end.built.board} in frame {end.site.name} cannot end it; "
                f"a {seat.impedance_ohm} ohm terminator has to go there"
            )
    return found


def _ends(standing: Standing) -> list[FrameStanding]:
    """The last used frame of each line."""
    last: dict[int, FrameStanding] = {}
    for frame in _in_order(standing):
        if frame.site.line is not None:
            last[frame.site.line.index] = frame
    return [last[index] for index in sorted(last)]
