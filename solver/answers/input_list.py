"""The input list of a scenario with the numbers that a build gives its lines, and what an edited one has otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from solver.answers.asked import Asked
from solver.answers.standing_rooms import odd_frames, stood_rooms
from solver.files.inputlist import InputList, list_of_needs
from solver.files.listreading import read_list
from solver.files.reading import Loaded
from solver.handover.looms import numbered
from solver.reports.element import file_warnings
from solver.reports.inputlist import NumberedList, list_changes, list_lines
from solver.room.build import Build
from solver.room.faults import Fault, FileFaults, quote
from solver.room.survey import Need


def input_list(loaded: Loaded, build: Build, room: str | None = None, check: Path | None = None) -> NumberedList:
    """Fill the numbers of a build into the list of a scenario; without one, into a list of its needs.

    Parameters
    ----------
    room
        One of several rooms; None where there is one.
    check
        A list that somebody edited, to compare with the build.

    Raises
    ------
    WrongQuestion
        If no room has that name, or if there are several and none is named.
    FileFaults
        With all faults of the list to compare.
    """
    room_asked = Asked.of(loaded, room).survey.room
    stood = stood_rooms(loaded, build, room)
    (standing,) = stood.rooms
    frames = [frame.name for frame in standing.survey.frames]
    listed = next((each for each in loaded.lists if each.room == room_asked), None)
    needs = sorted(standing.survey.needs, key=lambda need: need.index)
    own = listed or list_of_needs(needs, room_asked)
    carried = {
        (carries.need.name, carries.channel): channel
        for channel in numbered(stood.rooms)
        for carries in channel.carries
        if channel.number is not None
    }
    lines = list_lines(own, carried)
    numbers = {
        channel.row: (line.frame or "", line.number)
        for channel, line in zip(own.channels, lines, strict=True)
        if line.number is not None
    }
    other = None if check is None else _read(check, own, frames)
    return NumberedList(
        scenario=loaded.scenario.title,
        room=room,
        file=None if listed is None else listed.file,
        sample_rate=stood.sample_rate,
        outcome="faulty" if stood.faults else "clean",
        faults=stood.faults,
        other_columns=own.other_columns,
        lines=lines,
        csv=own.with_numbers(numbers, len(frames) > 1),
        compared=None if check is None else str(check),
        compared_lines=0 if other is None else len(other[0].channels),
        compared_without_number=0 if other is None else sum(c.number is None for c in other[0].channels),
        changes=[] if other is None else list_changes(lines, other[0], own.columns),
        notes=[
            *_notes(own, needs),
            *(() if other is None else _notes_of(*other)),
            *odd_frames("the build", stood.rooms),
        ],
        warnings=file_warnings(loaded.warnings),
    )


def _read(check: Path, own: InputList, frames: list[str]) -> tuple[InputList, list[Fault]]:
    other, told = read_list(str(check), check, own.room, frames, ())
    if other is None:
        raise FileFaults(told)
    return other, told


def _notes(own: InputList, needs: list[Need]) -> Iterator[str]:
    """Needs that the list does not have."""
    listed = {channel.need for channel in own.channels}
    others = [need for need in needs if need.name not in listed]
    if others:
        told = ", ".join(f"{quote(need.name)} ({need.demand})" for need in others)
        yield f"not in the list: {told}; strapwork channels has their numbers"


def _notes_of(other: InputList, told: list[Fault]) -> Iterator[str]:
    """What is odd about the list that is compared."""
    for fault in told:
        yield f"{fault.file}: {fault.text()}"
