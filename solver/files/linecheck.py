"""What a board's clock input, its straps and a scenario's clock lines must agree on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import Board
from solver.room.scenario import Frame, Room
from solver.room.silent import changes_numbers
from solver.room.termination import LineSeat, line_seats, terminates


def check_clock_input(file: str, board: Board) -> Iterator[Fault]:
    """A switched termination names a strap group that changes no number, and one of its settings; others name none."""
    clock = board.clock_input
    if clock is None:
        return
    path: Path = ("board", board.id, "clock_input")
    if clock.termination != "switched":
        for key in ("strap_group", "setting"):
            if getattr(clock, key) is not None:
                message = f"only a switched termination has it, and this one is {clock.termination}"
                yield Fault(file, (*path, key), message, getattr(clock, key))
        return
    missing = [key for key in ("strap_group", "setting") if getattr(clock, key) is None]
    for key in missing:
        yield Fault(file, (*path, key), "is missing, for a termination that is switched")
    if missing:
        return
    groups = {group.name: group for group in board.strap_group}
    group = groups.get(clock.strap_group or "")
    if group is None:
        what = f"is no strap group of {board.id}"
        yield unknown(file, (*path, "strap_group"), clock.strap_group or "", groups, what)
        return
    names = [setting.name for setting in group.settings()]
    if clock.setting not in names:
        yield unknown(file, (*path, "setting"), clock.setting or "", names, f"is no setting of {quote(group.name)}")
    elif len(names) == 1:
        message = f"{quote(group.name)} has no other setting; then the termination is fixed"
        yield Fault(file, (*path, "termination"), message, "switched")
    if changes_numbers(group):
        message = f"{quote(group.name)} changes numbers; a termination is a group of its own"
        yield Fault(file, (*path, "strap_group"), message, group.name)


def check_clock_lines(file: str, path: Path, room: Room, boards: Mapping[str, Board]) -> Iterator[Fault]:
    """Frames of lines are there, on one line each, and what is asked of them fits their places."""
    frames = {frame.name: frame for frame in room.frame}
    seen: set[str] = set()
    for n, line in enumerate(room.clock_line, 1):
        where = (*path, "clock_line", n, "frames")
        known = {*frames, *(device.name for device in room.clock)} if line.source is not None else frames
        for name in line.frames:
            if name not in known:
                yield unknown(file, where, name, known, "is no frame of this room")
            elif name in seen:
                yield Fault(file, where, f"frame {quote(name)} is on a clock line already", name)
            seen.add(name)
    seats = line_seats(room)
    used = {frame.name for frame in room.frame if frame.pins}
    for frame in room.frame:
        board = boards.get(frame.board or "")
        if frame.name in seats and board is not None:
            yield from _frame_on_line(file, (*path, "frame", frame.name), frame, seats[frame.name], board, used)


def _frame_on_line(
    file: str, path: Path, frame: Frame, seat: LineSeat, board: Board, used: set[str]
) -> Iterator[Fault]:
    """What a frame's board and settings say against its place on the line, as far as no build could be otherwise.

    A frame that is not used ends nothing: what only builds with it break is left to the search and to the check.

    Parameters
    ----------
    used
        The frames that every build uses, by name.
    """
    clock = board.clock_input
    if clock is None:
        return
    ends = terminates(clock, frame.straps)
    key = ("board",) if clock.termination != "switched" else ("straps", clock.strap_group or "")
    found = board.id if clock.termination != "switched" else frame.straps.get(clock.strap_group or "")
    always = f"{board.id} always ends" if clock.termination == "fixed" else f"{quote(found or '')} ends"
    against = None
    if ends and seat.terminator:
        against = f"{always} the clock line, and {seat.beyond or 'a terminator'} ends it too"
    elif clock.termination == "switched" and ends is False and seat.last and not seat.terminator:
        against = f"{quote(found or '')} does not end the clock line, and {frame.name} is the last on it"
    if against is not None and frame.name in used:
        yield Fault(file, (*path, *key), against, found)
    elif against is not None:
        yield Fault(file, (*path, *key), f"{against}, so the frame can never be used", found, severity="warning")
    after = ", ".join(name for name in seat.later if name in used)
    if ends and not seat.terminator and after and frame.name in used:
        yield Fault(file, (*path, *key), f"{always} the clock line, and {after} comes after it; name it last", found)
    if clock.impedance_ohm not in (None, seat.impedance_ohm):
        message = (
            f"the clock line has {seat.impedance_ohm} ohm, the clock input of {board.id} {clock.impedance_ohm} ohm"
        )
        yield Fault(file, (*path, "board"), message, board.id, severity="warning")
