"""How what ends a clock line stands in the frames of a build."""

from __future__ import annotations

from solver.fitted.frame import FrameStanding
from solver.room.hardware import ClockInput
from solver.room.termination import terminates


def ending_straps(frame: FrameStanding, clock: ClockInput) -> str | None:
    """The straps whose closing ends the line, joined; None for a switch, or where they are opened to end it."""
    group = next(group for group in frame.board.strap_group if group.name == clock.strap_group)
    closed = next(setting.closed or () for setting in group.settings() if setting.name == clock.setting)
    return " and ".join(closed) if group.kind == "links" and closed else None


def state(frame: FrameStanding, clock: ClockInput | None) -> str:
    """How what ends a line stands in a build."""
    if clock is None or clock.termination == "none":
        return ""
    if clock.termination == "fixed":
        return f"{frame.built.board} ends it by itself"
    straps = ending_straps(frame, clock)
    if straps is None:
        return f'"{clock.strap_group}" at {frame.built.straps.get(clock.strap_group or "", "?")}'
    return f"{straps} {'closed' if terminates(clock, frame.built.straps) else 'open'}"
