"""All that is said of a build, with the files that it is made of."""

from __future__ import annotations

import hashlib
import os
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Literal

from solver.answers.asking import LABEL_WIDTH, TESTED
from solver.answers.channels import channels
from solver.answers.check import check
from solver.answers.input_list import input_list
from solver.answers.labels import labels
from solver.answers.looms import looms
from solver.answers.on_day import Earlier
from solver.answers.racks import drawn_at, racks
from solver.answers.standing_rooms import standing_rooms
from solver.answers.work_order import moves_between, work_order
from solver.files.contents import read_bytes
from solver.files.reading import Loaded
from solver.fitted.moves import Moves
from solver.handover.ends import room_of
from solver.handover.wiring import Wiring
from solver.reports.bayrows import bay_sheets
from solver.reports.clock_tree import ClockTrees, drawn_faults, tree_report
from solver.reports.element import BrokenLimit, file_warnings
from solver.reports.headers import strap_headers
from solver.reports.pack import Pack, PackedFile, packed_file, recorder_rows
from solver.reports.rack import RackSheet, sheet
from solver.reports.report import Report
from solver.reports.testing import test_sheet
from solver.room.build import Build
from solver.room.faults import Fault, FileFaults

BUILDS = {"the build of this command": "build.toml", "the build that stands": "as-found.toml"}
"""What builds are called in a pack; other files keep their names, and lie as they lay beside each other."""


def pack(
    loaded: Loaded,
    build: Build,
    made_on: date,
    old: Build | None = None,
    room: str | None = None,
    width: int = LABEL_WIDTH,
    contents: Mapping[str, tuple[str, bytes]] | None = None,
    earlier: Earlier | None = None,
) -> Pack:
    """Say all that is said of a build.

    Parameters
    ----------
    made_on
        The date that sheets bear.
    old
        What stands; None for what the scenario says, or else for frames in which nothing stands.
    room
        One of several rooms; None for all of them.
    width
        Characters that a label has room for.
    contents
        The files that it is made of, as `contents_of` gives them.
    earlier
        The scenario at the time of which `old` is, where that is another kind of day or phase.

    Raises
    ------
    WrongQuestion
        If no room has that name.
    """
    stands = old or loaded.scenario.as_found
    after = standing_rooms(loaded, build, room)
    before = [] if stands is None else standing_rooms(earlier.loaded if earlier else loaded, stands, room)
    moved = moves_between(before, after, stays_plugged=earlier is not None and earlier.stays_plugged)
    wiring = Wiring(tuple(after))
    listed, loomed = channels(loaded, build, room), looms(loaded, build, room)
    labelled, report = labels(loaded, build, room, width), _of_room(check(loaded, build), room)
    needs = {(own.survey.room, need.name): need.signal for own in after for need in own.survey.needs}
    clock, clock_not_drawn = _clock(wiring, loaded.scenario.title)
    of_clock = [] if clock is None else clock.faults
    found = _once([*listed.faults, *loomed.faults, *labelled.faults, *report.faults, *of_clock])
    one = room is not None or len(loaded.scenario.rooms()) == 1
    has_list = any(room is None or own.room == room for own in loaded.lists)
    boards = {board.id: board for board in loaded.hardware.board}
    frames = [frame for own in report.builds for frame in own.frames]
    drawn, not_drawn = _racks(loaded, build, room)
    files = [packed_file(name, data, what) for name, (what, data) in (contents or {}).items()]
    return Pack(
        scenario=loaded.scenario.title,
        room=room,
        sample_rate=listed.sample_rate,
        outcome="faulty" if found else "clean",
        made_on=made_on,
        revision=_revision(files),
        faults=found,
        report=report,
        shelf=_shelf(report, moved),
        headers=strap_headers(frames, boards),
        channels=listed,
        looms=loomed,
        labels=labelled,
        bays=bay_sheets(after, labelled.labels),
        work_order=work_order(loaded, build, old, room, earlier=earlier).model_copy(update={"test_sheet": None}),
        tests=[test_sheet(wiring, moved, time) for time in TESTED.values()],
        recorder=recorder_rows(listed.rows, needs, moved, Wiring(tuple(before)).at_host),
        input_list=input_list(loaded, build, room) if one and has_list else None,
        racks=drawn,
        racks_not_drawn=not_drawn,
        clock=clock,
        clock_not_drawn=clock_not_drawn,
        files=files,
        warnings=file_warnings(loaded.warnings),
    )


def _racks(loaded: Loaded, build: Build, room: str | None) -> tuple[list[RackSheet], list[str]]:
    """The racks that a build draws, and which it does not."""
    drawn: list[RackSheet] = []
    not_drawn: list[str] = []
    for name, stand in racks(loaded, build):
        placement = drawn_at(build, name, stand)
        if room is not None and name != room:
            continue
        if placement is not None:
            drawn.append(sheet(placement, name, "drawn"))
        else:
            called = f"rack {stand.rack.name}" if name is None else f"{name}, rack {stand.rack.name}"
            not_drawn.append(f"{called}: the build does not say what stands where; strapwork rack finds and saves it")
    return drawn, not_drawn


def _clock(wiring: Wiring, title: str) -> tuple[ClockTrees | None, list[str]]:
    """The clock lines that the scenario draws, and the rooms that have devices for a clock and no such line."""
    faults = drawn_faults(wiring.clocks)
    trees = [tree_report(tree, room, "drawn", proven=False) for room, tree in wiring.clocks.items()]
    names = [room.survey.room for room in wiring.rooms if room_of(room.survey).clock]
    not_drawn = [
        f"{f'{name}: ' if name else ''}the scenario draws no clock line from its source on; strapwork clock finds the "
        "best ones"
        for name in names
        if name not in wiring.clocks
    ]
    if not trees:
        return None, not_drawn
    outcome: Literal["faulty", "found"] = "faulty" if faults else "found"
    return ClockTrees(scenario=title, outcome=outcome, proven=False, trees=trees, faults=faults), not_drawn


def contents_of(read: Mapping[Path, str]) -> dict[str, tuple[str, bytes]]:
    """What stands in each file that was read, by its name in a pack, with what it is.

    Raises
    ------
    FileFaults
        If one cannot be read any more.
    """
    others = [path for path, what in read.items() if what not in BUILDS]
    names = dict(zip(others, _beside_each_other(others), strict=True))
    found: dict[str, tuple[str, bytes]] = {}
    for path, what in read.items():
        data = read_bytes(str(path), path)
        if isinstance(data, Fault):
            raise FileFaults([data])
        name = BUILDS.get(what) or _free(f"files/{names[path]}", found)
        found[name] = what.removesuffix(" of this command").removesuffix(" of this scenario"), data
    return found


def _beside_each_other(paths: Sequence[Path]) -> list[str]:
    """Names of files below the nearest folder that has them all; bare ones where that is the root of all files."""
    whole = [os.path.abspath(path) for path in paths]
    try:
        top = os.path.commonpath([os.path.dirname(path) for path in whole])
    except ValueError:  # on two drives
        top = os.path.sep
    flat = os.path.dirname(top) == top
    names = [os.path.basename(path) if flat else os.path.relpath(path, top).replace(os.path.sep, "/") for path in whole]
    return ["".join(c if c.isprintable() else "_" for c in name) for name in names]


def _free(name: str, taken: Mapping[str, object]) -> str:
    """The name, with a number where it is taken."""
    stem, dot, ending = name.rpartition(".")
    others = (f"{stem}-{n}{dot}{ending}" if dot else f"{name}-{n}" for n in range(2, len(taken) + 3))
    return next(free for free in (name, *others) if free.casefold() not in map(str.casefold, taken))


def _revision(files: Sequence[PackedFile]) -> str:
    """Eight hexadecimal digits that change with what any of the files holds."""
    if not files:
        return ""
    digests = "".join(file.sha256 for file in sorted(files, key=lambda file: file.name))
    return hashlib.sha256(digests.encode()).hexdigest()[:8]


def _of_room(report: Report, room: str | None) -> Report:
    """A check with the frames and faults of one room alone."""
    if room is None:
        return report
    builds = [
        build.model_copy(update={"frames": [frame for frame in build.frames if frame.room == room]})
        for build in report.builds
    ]
    faults = [fault for fault in report.faults if fault.room in (None, room)]
    return report.model_copy(update={"builds": builds, "faults": faults})


def _shelf(report: Report, moved: Moves) -> dict[str, int]:
    """What stands in no frame: stock may count what the work order takes out, so no item of either is counted twice."""
    left = {item: count for build in report.builds for item, count in build.stock_left.items()}
    out = Counter(move.card for move in moved.cards if move.after is None and not move.dead)
    boards = [frame for frame in moved.frames if frame.board_moves]
    out += Counter(f.board_before for f in boards if f.board_before is not None) - Counter(
        f.board_after for f in boards if f.board_after is not None
    )
    return {item: max(left.get(item, 0), out[item]) for item in sorted({*left, *out})}


def _once(faults: Sequence[BrokenLimit]) -> list[BrokenLimit]:
    return [fault for n, fault in enumerate(faults) if fault not in faults[:n]]
