"""The clock of a scenario: the tree that its lines draw, or the best one; why there is none."""

from __future__ import annotations

from solver.answers.drawn_clocks import boards_of, drawn, drawn_clock_faults, unused
from solver.files.reading import Loaded
from solver.judge.clocks import devices_of
from solver.reports.clock_tree import ClockTree, ClockTrees, tree_report
from solver.reports.element import file_warnings
from solver.room.build import Build
from solver.room.errors import WrongQuestion
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
    faults = drawn_clock_faults(loaded, build)
    for room in rooms:
        name, rate = room.name or None, room.sample_rate or scenario.sample_rate
        known = boards_of(room, loaded.hardware, build)
        boardless = {frame.name for frame in room.frame} - set(known)
        tree = drawn(room, rate, known, build)
        if tree is not None:
            trees.append(tree_report(tree, name, "drawn", proven=False, boardless=boardless))
            continue
        left = unused(room, known, build)
        devices = tuple(device for device in devices_of(room, known) if device.name not in left)
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
        proven=all(tree.proven for tree in trees),
        trees=trees,
        faults=faults,
        warnings=file_warnings(loaded.warnings),
    )
