"""The clock of a scenario: the tree that its lines draw, or the best one; why there is none."""

from __future__ import annotations

from collections.abc import Mapping

from solver.files.reading import Loaded
from solver.judge.clocks import Line, Tree
from solver.reports.clock_tree import ClockTree, ClockTrees, tree_faults, tree_report
from solver.reports.element import BrokenLimit, file_warnings
from solver.room.build import Build
from solver.room.clocks import ClockDevice, ClockInputSocket
from solver.room.errors import WrongQuestion
from solver.room.hardware import Board, Hardware
from solver.room.scenario import Room
from solver.search.ask.clock_tree import best_tree, in_the_way
from solver.search.solve.clock import Clock


def clock_tree(loaded: Loaded, clock: Clock, build: Build | None = None) -> ClockTrees:
    """The clock of each room that has devices for one; of a build with the boards of its frames.

    Raises
    ------
    WrongQuestion
        If none has.
    """
    scenario = loaded.scenario
    rooms = [room for room in scenario.rooms() if room.clock]
    if not rooms:
        raise WrongQuestion(f"{loaded.name} has no device for a clock; begin one with [[clock]]", about="scenario")
    trees: list[ClockTree] = []
    faults: list[BrokenLimit] = []
    for room in rooms:
        name, rate = room.name or None, room.sample_rate or scenario.sample_rate
        known = _boards(room, loaded.hardware, build)
        drawn = [
            Line(line.source, line.kind, line.frames, line.terminator, line.impedance_ohm)
            for line in room.clock_line
            if line.source is not None
        ]
        devices = _devices(room, known)
        boardless = {frame.name for frame in room.frame} - set(known)
        if drawn:
            tree = Tree(devices, rate, tuple(drawn))
            faults += tree_faults(tree, name)
            trees.append(tree_report(tree, name, "drawn", proven=False, boardless=boardless))
            continue
        if build is not None:  # a frame that is not used takes no clock
            devices = tuple(device for device in devices if device.name not in boardless)
        found = best_tree(devices, rate, clock)
        if found.tree is not None:
            trees.append(tree_report(found.tree, name, "found", proven=found.proven, boardless=boardless))
            continue
        outcome = "impossible" if found.proven else "unknown"
        ways = in_the_way(devices, rate, clock) if found.proven else []
        trees.append(ClockTree(room=name, sample_rate=rate, outcome=outcome, proven=found.proven, in_the_way=ways))
    outcomes = {tree.outcome for tree in trees}
    outcome = "impossible" if "impossible" in outcomes else "unknown" if "unknown" in outcomes else "found"
    return ClockTrees(
        scenario=scenario.title,
        outcome="faulty" if faults else outcome,
        proven=all(tree.proven or tree.outcome == "drawn" for tree in trees),
        trees=trees,
        faults=faults,
        warnings=file_warnings(loaded.warnings),
    )


def _boards(room: Room, hardware: Hardware, build: Build | None) -> dict[str, Board]:
    """The boards of a room's frames that are known, by the frames' names: those of a build, else of the files."""
    boards = {board.id: board for board in hardware.board}
    if build is None:
        return {frame.name: boards[frame.board] for frame in room.frame if frame.board in boards}
    return {frame.name: boards[frame.board] for frame in build.frame if (frame.room or "") == (room.name or "")}


def _devices(room: Room, boards: Mapping[str, Board]) -> tuple[ClockDevice, ...]:
    """The devices of a room; frames on its lines that are none take word clock by what is known of their boards."""
    named = {device.name for device in room.clock}
    on_lines = {name for line in room.clock_line for name in line.frames}
    bare = [ClockDevice(name=frame, inputs=(ClockInputSocket(kind="word"),)) for frame in sorted(on_lines - named)]
    return tuple(_ending(device, boards.get(device.name)) for device in (*room.clock, *bare))


def _ending(device: ClockDevice, board: Board | None) -> ClockDevice:
    """A frame that ends a line as its board does, where the device does not say it."""
    if board is None or board.clock_input is None:
        return device
    known = {"termination": board.clock_input.termination}
    inputs = tuple(
        own.model_copy(update=known) if own.kind == "word" and own.termination is None else own for own in device.inputs
    )
    return device.model_copy(update={"inputs": inputs})
