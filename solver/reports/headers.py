"""Strap groups as they are seen on a board: each strap in its place, closed or open, and a switch at its position."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from solver.reports.element import Element
from solver.reports.report import FrameReport, StrapWork
from solver.room.hardware import Board, StrapGroup


class StrapState(Element):
    """A strap of a header; `ask`: the build does not settle it."""

    name: str
    state: Literal["closed", "open", "ask"]


class StrapHeader(Element):
    """A strap group: `straps` in the order of the board, or the `positions` of a switch with the one that it is at.

    `effect` says what the setting does, or what to ask; `position` is null where that is to be asked.
    """

    room: str | None = None
    frame: str
    board: str
    group: str
    kind: Literal["links", "switch"]
    straps: list[StrapState] = []
    positions: list[str] = []
    position: str | None = None
    effect: str


def strap_headers(frames: Sequence[FrameReport], boards: Mapping[str, Board]) -> list[StrapHeader]:
    """The headers of all frames, each frame's in the order of its board."""
    found = []
    for frame in frames:
        groups = {group.name: group for group in boards[frame.board].strap_group}
        found += [_header(frame, groups[work.group], work) for work in frame.strap_work if work.group in groups]
    return found


def _header(frame: FrameReport, group: StrapGroup, work: StrapWork) -> StrapHeader:
    positions = [setting.position for setting in group.settings() if setting.position is not None]
    return StrapHeader(
        room=frame.room,
        frame=frame.name,
        board=frame.board,
        group=group.name,
        kind=group.kind,
        straps=[StrapState(name=strap, state=_state(strap, work)) for strap in group.straps],
        positions=positions,
        position=work.position,
        effect=work.effect,
    )


def _state(strap: str, work: StrapWork) -> Literal["closed", "open", "ask"]:
    if strap in work.close:
        return "closed"
    return "open" if strap in work.leave_open else "ask"
