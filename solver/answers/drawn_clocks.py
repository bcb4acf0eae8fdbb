"""What is wrong with the clock lines that a scenario draws, by a build or before there is one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.files.reading import Loaded
from solver.judge.clocks import Tree, drawn_tree
from solver.reports.clock_tree import tree_faults
from solver.reports.element import BrokenLimit
from solver.room.build import Build
from solver.room.hardware import Board, Hardware
from solver.room.phases import in_phase
from solver.room.scenario import Room, Scenario
from solver.room.setups import of_day, scenario_of


def drawn_clock_faults(loaded: Loaded, build: Build | None = None) -> list[BrokenLimit]:
    """What is wrong with the drawn lines of all rooms, on every kind of day and in every phase.

    A fault that is not one of all days or phases says of which it is one.
    """
    scenario = loaded.scenario
    if not any(line.source is not None for room in scenario.rooms() for line in room.clock_line):
        return []
    times: dict[str, tuple[Scenario, Build | None]] = {"": (scenario, build)}
    if scenario.setup:
        days = {day.name: scenario_of(scenario, day) for day in scenario.setup}
        times = {name: (own, None if build is None else of_day(build, name)) for name, own in days.items()}
    elif scenario.phase and build is not None:
        times = {phase.name: (scenario, in_phase(build, phase.name)) for phase in scenario.phase}
    found = {name: list(_faults(own, loaded.hardware, then)) for name, (own, then) in times.items()}
    told: list[BrokenLimit] = []
    for name, faults in found.items():
        for fault in faults:
            always = all(fault in others for others in found.values())
            said = fault if always else fault.model_copy(update={"text": f"{name}: {fault.text}"})
            told += [] if said in told else [said]
    return told


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
