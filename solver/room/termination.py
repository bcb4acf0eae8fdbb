"""Who ends a clock line: the last frame on it that is used, by a setting that changes no number.

Any numbering of a board stands with its termination open or closed as a rule, so who ends the line is settled when it
is known which frames are used. Where bans, a setting that is asked for, or a board that always terminates leave only
one of the two, the layouts say so, and the search keeps to it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from solver.room.build import Build, BuiltFrame
from solver.room.hardware import Board, ClockInput, Setting
from solver.room.scenario import Room
from solver.room.silent import changes_numbers
from solver.room.straps import Layout, legal_settings

Choices = Sequence[tuple[Layout | None, Any]]
"""What a frame may be and the terms that say which holds; None for a frame that is not used."""


@dataclass(frozen=True, slots=True)
class LineSeat:
    """A frame's place on a clock line of its room: which line, the frames on it from the source on, and where.

    `index` counts the room's lines from 0, `position` the line's frames.
    """

    index: int
    frames: tuple[str, ...]
    position: int
    impedance_ohm: int
    terminator: bool
    beyond: str | None = None
    """The device behind all frames that ends the line."""

    @property
    def last(self) -> bool:
        """Whether no frame comes after it, used or not."""
        return self.position == len(self.frames) - 1

    @property
    def later(self) -> tuple[str, ...]:
        """The frames that come after it."""
        return self.frames[self.position + 1 :]


def line_seats(room: Room) -> dict[str, LineSeat]:
    """The place of every frame of a room that is on a clock line of coax."""
    found: dict[str, LineSeat] = {}
    devices = {device.name for device in room.clock} - {frame.name for frame in room.frame}
    for index, line in enumerate(room.clock_line):
        frames = tuple(name for name in line.frames if name not in devices)
        beyond = line.frames[-1] if line.frames[-1] in devices else None
        ended = line.terminator or beyond is not None
        for position, frame in enumerate(frames) if line.kind == "word" else ():
            found[frame] = LineSeat(index, frames, position, line.impedance_ohm, ended, beyond)
    return found


def terminates(clock: ClockInput | None, straps: Mapping[str, str]) -> bool | None:
    """Whether a board with these settings ends its clock line; None where the files do not say."""
    if clock is None:
        return None
    if clock.termination != "switched":
        return clock.termination == "fixed"
    setting = straps.get(clock.strap_group or "")
    return None if setting is None else setting == clock.setting


def settings_on_a_line(
    board: Board, asked: Mapping[str, str], seat: LineSeat | None
) -> Iterator[tuple[dict[str, Setting], bool | None]]:
    """Legal settings of a board for a frame, and where on its line they can stand: True ends it, False does not.

    None is for what can stand anywhere, as does everything off a line. What could stand nowhere is left out.
    """
    clock = board.clock_input
    if seat is None or clock is None or clock.termination == "none":
        yield from ((settings, None) for settings in legal_settings(board, asked))
        return
    if clock.termination == "fixed":
        if not seat.terminator:
            yield from ((settings, None if seat.last else True) for settings in legal_settings(board, asked))
        return
    closed, open_ = _with_termination(board, clock, asked, True), _with_termination(board, clock, asked, False)
    if seat.terminator or seat.last:
        yield from ((settings, None) for settings in (open_ if seat.terminator else closed).values())
        return
    apart = clock.strap_group in asked
    for key in {**open_, **closed}:
        if key in open_ and key in closed and not apart and _beside(open_[key], clock) == _beside(closed[key], clock):
            yield open_[key], None
            continue
        if key in open_:
            yield open_[key], False
        if key in closed:
            yield closed[key], True


def told_apart(boards: Iterable[Board], asked: Mapping[str, str], seat: LineSeat | None) -> str | None:
    """What a frame's place on its line leaves of its settings, where another place would leave others; else None."""
    role = "off" if seat is None else "terminated" if seat.terminator else "last" if seat.last else "passing"
    for board in boards:
        clock = board.clock_input
        if clock is not None and clock.termination == "fixed" and role == "terminated":
            return role
        if clock is not None and clock.termination == "switched":
            named = {*asked, *(group for ban in board.never_together for group in ban)}
            if clock.strap_group in named:
                return role
    return None


def _beside(settings: Mapping[str, Setting], clock: ClockInput) -> dict[str, str]:
    """All other settings: bans may tie some of them to the one that ends the line."""
    return {group: setting.name for group, setting in settings.items() if group != clock.strap_group}


def _with_termination(
    board: Board, clock: ClockInput, asked: Mapping[str, str], wanted: bool
) -> dict[object, dict[str, Setting]]:
    """Legal settings with the termination closed or open, by all that else is asked of them or numbers slots.

    Where several settings of its group do, the one that is asked for comes first, then the one that the board wants.
    """
    group = next(g for g in board.strap_group if g.name == clock.strap_group)
    first = [name for name in (asked.get(group.name), group.wanted) if name is not None]
    names = sorted(group.settings(), key=lambda s: (*(s.name != name for name in first), len(s.closed or ()), s.name))
    found: dict[object, dict[str, Setting]] = {}
    for setting in names:
        if (setting.name == clock.setting) != wanted:
            continue
        for settings in legal_settings(board, {**asked, group.name: setting.name}):
            if settings[group.name].name == setting.name:
                found.setdefault(_key(board, group.name, asked, settings), settings)
    return found


def _key(board: Board, group: str, asked: Mapping[str, str], settings: Mapping[str, Setting]) -> object:
    return tuple(
        (g.name, settings[g.name].name)
        for g in board.strap_group
        if g.name != group and (changes_numbers(g) or g.name in asked)
    )


def rows(
    seats: Iterable[tuple[int, LineSeat]], choices: Callable[[int], Choices]
) -> Iterator[tuple[bool, list[tuple[int, Any]]]]:
    """What ties the frames of lines together, as sums that must not exceed 0, and whether each is about ends too early.

    Parameters
    ----------
    seats
        The frames on lines, by index.
    choices
        What the frame of an index may be.
    """
    known = {(seat.index, seat.position): index for index, seat in seats}
    for (line, position), index in sorted(known.items()):
        later = [other for (its_line, at), other in sorted(known.items()) if its_line == line and at > position]
        ending = [(1, term) for layout, term in choices(index) if layout is not None and layout.ends is True]
        passing = [(1, term) for layout, term in choices(index) if layout is not None and layout.ends is False]
        used = {other: [term for layout, term in choices(other) if layout is not None] for other in later}
        if ending:
            for other in later:
                yield True, [*ending, *((1, term) for term in used[other]), (-1, 1)]
        if passing:
            yield False, [*passing, *((-1, term) for terms in used.values() for term in terms)]


def settled(
    build: Build,
    boards: Mapping[str, Board],
    seats: Mapping[str, LineSeat],
    asked: Mapping[str, Mapping[str, str]],
) -> Build:
    """A build of one room with every termination set as its place among the used frames of its line wants it.

    Parameters
    ----------
    boards
        By id.
    seats
        The frames on lines, by name.
    asked
        The settings that the scenario asks for, by frame.
    """
    used = {frame.name for frame in build.frame if frame.cards}
    frames = [_settled(f, boards, seats.get(f.name), used, asked.get(f.name, {})) for f in build.frame]
    return build.model_copy(update={"frame": tuple(frames)})


def _settled(
    built: BuiltFrame, boards: Mapping[str, Board], seat: LineSeat | None, used: set[str], asked: Mapping[str, str]
) -> BuiltFrame:
    board = boards[built.board]
    clock = board.clock_input
    if seat is None or clock is None or clock.termination != "switched" or not built.cards:
        return built
    ends = not seat.terminator and not used & set(seat.later)
    if terminates(clock, built.straps) == ends:
        return built
    for settings in _with_termination(board, clock, asked, ends).values():
        names = {group: setting.name for group, setting in settings.items()}
        kept = [g.name for g in board.strap_group if changes_numbers(g) or g.name in asked]
        if all(names[g] == built.straps.get(g) for g in kept if g != clock.strap_group):
            return built.model_copy(update={"straps": names})
    return built
