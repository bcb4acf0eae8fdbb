"""What is wrong with the clock lines that a scenario draws, by a build or before there is one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.answers.times import times, told_once
from solver.files.reading import Loaded
from solver.judge.clocks import Tree, drawn_tree
from solver.reports.clock_tree import tree_faults
from solver.reports.element import BrokenLimit
from solver.room.build import Build
from solver.room.hardware import Board, Hardware
from solver.room.scenario import Room, Scenario


def drawn_clock_faults(loaded: Loaded, build: Build | None = None) -> list[BrokenLimit]:
    """What is wrong with the drawn lines of all rooms, on every kind of day and in every phase.

    A fault that is not one of all days or phases says of which it is one.
    """
    scenario = loaded.scenario
    if not any(line.source is not None for room in scenario.rooms() for line in room.clock_line):
        return []
    each = {"": (loaded, None)} if build is None and not scenario.setup else times(loaded, build or Build(frame=()))
    found = {
        name: list(_faults(own.scenario, loaded.hardware, None if build is None else then))
        for name, (own, then) in each.items()
    }
    return told_once(found)


def _faults(scenario: Scenario, hardware: Hardware, build: Build | None) -> Iterator[BrokenLimit]:
    for room in scenario.rooms():
        known = boards_of(room, hardware, build)
        tree = drawn(room, room.sample_rate or scenario.sample_rate, known, build)
        if tree is not None:
            yield from tree_faults(tree, room.name or None)


def drawn(room: Room, sample_rate: int, known: Mapping[str, Board], build: Build | None) -> Tree | None:
    """The tree that a room draws; of a build without the frames that it does not use."""
    return drawn_tree(room, sample_rate, known, unused(room, known, build))


def unused(room: Room, known: Mapping[str, Board], build: Build | None) -> frozenset[str]:
    """The frames of a room that a build does not use; none without a build."""
    return frozenset() if build is None else frozenset(frame.name for frame in room.frame if frame.name not in known)


def boards_of(room: Room, hardware: Hardware, build: Build | None) -> dict[str, Board]:
    """The boards of a room's frames that are known, by the frames' names: those of a build, else of the files."""
    boards = {board.id: board for board in hardware.board}
    if build is None:
        return {frame.name: boards[frame.board] for frame in room.frame if frame.board in boards}
    return {frame.name: boards[frame.board] for frame in build.frame if (frame.room or "") == (room.name or "")}
