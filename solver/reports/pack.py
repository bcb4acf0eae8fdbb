"""The document of `pack`: all that is said of a build, to be left beside the frame; and the manifest of its files."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Literal

from solver.fitted.moves import Moves
from solver.reports.bayrows import BaySheet
from solver.reports.channels import ChannelList, ChannelRow
from solver.reports.clock_tree import ClockTrees
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.headers import StrapHeader
from solver.reports.inputlist import NumberedList
from solver.reports.labels import LabelList
from solver.reports.looms import LoomList
from solver.reports.rack import RackSheet
from solver.reports.report import Report
from solver.reports.spreadsheet import csv_text
from solver.reports.work_order import TestRow, TestSheet, WorkOrder
from solver.room.faults import quote
from solver.room.words import Direction

MANIFEST = "manifest.json"

WHAT = {
    "index.html": "the page: to be read in a browser, and printed",
    "labels.html": "labels to print to scale and to cut",
    "pack.json": "all of it for programs",
    "channels.csv": "every number, and what it carries",
    "looms.csv": "looms, pin by pin",
    "labels.csv": "texts for labels",
    "recorder.csv": "old numbers, new numbers, names",
    "test-sheet.csv": "what to test",
    "input-list.csv": "the input list with its numbers",
}
"""What the files of a pack are that are made of a build."""

FAULTY = "FAULTY-"
"""How names of tables begin that have no other place to say it."""


class PackedFile(Element):
    """A file of a pack: its name there, with slashes, what it is, how long it is and its digest."""

    name: str
    what: str
    size: int
    sha256: str


def packed_file(name: str, data: bytes, what: str | None = None) -> PackedFile:
    """A file with its digest; what it is where that is not known by its name."""
    told = what or WHAT[name.removeprefix(FAULTY)]
    return PackedFile(name=name, what=told, size=len(data), sha256=hashlib.sha256(data).hexdigest())


class RecorderRow(Element):
    """A need's channel as the recorder shows it, and the number that it had; null: it had none.

    `host` and `old_host` are its numbers at the host, where a host port carries it.
    """

    room: str | None = None
    frame: str
    direction: Direction
    number: int
    host: int | None = None
    old_frame: str | None
    old_number: int | None
    old_host: int | None = None
    name: str
    signal: str
    change: Literal["new", "same", "other number"]


class Pack(Element):
    """All that is said of a build. `revision` is short for the digests of its files; empty where it has none.

    `shelf` has what is owned and stands in no frame: stock that is left, and what the work order takes out.
    `work_order` goes from what stands, or from empty frames; its test sheet is among `tests`: in 10 minutes, in 30, and
    every check. `recorder` is what to retype. `input_list` is null where the scenario has none. `racks` has those that
    the build draws, `racks_not_drawn` says which it does not; so `clock` has the lines that the scenario draws.
    """

    format: Literal[1] = 1
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    made_on: date
    revision: str
    faults: list[BrokenLimit] = []
    report: Report
    shelf: dict[str, int] = {}
    headers: list[StrapHeader]
    channels: ChannelList
    looms: LoomList
    labels: LabelList
    bays: list[BaySheet]
    work_order: WorkOrder
    tests: list[TestSheet]
    recorder: list[RecorderRow]
    input_list: NumberedList | None = None
    racks: list[RackSheet] = []
    racks_not_drawn: list[str] = []
    clock: ClockTrees | None = None
    clock_not_drawn: list[str] = []
    files: list[PackedFile] = []
    warnings: list[FileFault] = []

    def tables(self) -> dict[str, str]:
        """Each CSV file by its name, which says so where the build is faulty."""
        found = {
            "channels.csv": self.channels.as_csv(),
            "looms.csv": self.looms.as_csv(),
            "labels.csv": self.labels.as_csv(),
            "recorder.csv": _recorder_csv(self.recorder),
            "test-sheet.csv": _test_csv(self.tests),
        }
        if self.input_list is not None:
            found["input-list.csv"] = self.input_list.as_csv()
        mark = FAULTY if self.faults else ""
        return {f"{mark}{name}": text for name, text in found.items()}


class Manifest(Element):
    """What is in the folder of a pack, and of what it is made; `files` is empty where nothing was written."""

    format: Literal[1] = 1
    strapwork: str
    scenario: str
    room: str | None = None
    sample_rate: int
    outcome: Literal["clean", "faulty"]
    made_on: date
    revision: str
    faults: list[BrokenLimit] = []
    files: list[PackedFile] = []


def no_pack(path: Path) -> str | None:
    """What a folder is, in words, if it is no pack, or has more in it than its manifest names, or otherwise."""
    only = "--force replaces packs only"
    try:
        manifest = Manifest.model_validate_json((path / MANIFEST).read_bytes())
    except (OSError, ValueError):
        return f"is no pack; {only}"
    named = {MANIFEST, *(file.name for file in manifest.files)}
    there = sorted(file.relative_to(path).as_posix() for file in path.rglob("*") if not file.is_dir())
    more = [name for name in there if name not in named]
    if more:
        return f"has {quote(more[0])} in it, which is of no pack; {only}"
    changed = [file.name for file in manifest.files if file.name in there and not _as_packed(path, file)]
    return f"has {quote(changed[0])} in it, which was changed since; {only}" if changed else None


def _as_packed(path: Path, file: PackedFile) -> bool:
    return packed_file(file.name, (path / file.name).read_bytes(), file.what).sha256 == file.sha256


def recorder_rows(
    rows: Sequence[ChannelRow],
    needs: Mapping[tuple[str | None, str], str],
    moved: Moves,
    at_host: Mapping[tuple[str | None, str, Direction, int], int],
) -> list[RecorderRow]:
    """Every used number in order, with the one that its channel had.

    Parameters
    ----------
    rows
        Those of `channels`, by number.
    needs
        The signal of each need, by room and name.
    moved
        What changes hands since what stands.
    at_host
        The numbers at the host of what stands.
    """
    moves = {(move.room, move.need, move.channel): move for move in moved.numbers}
    found = []
    for row in rows:
        if row.need is None:
            continue
        move = moves.get((row.room, row.need, row.channel or 0))
        was = (row.frame, row.number) if move is None else (None, None)
        if move is not None and move.before is not None and move.before.number is not None:
            was = move.before.frame, move.before.number
        old_host = None
        if was[0] is not None and was[1] is not None:
            old_host = at_host.get((row.room, was[0], row.direction, was[1]))
        found.append(
            RecorderRow(
                room=row.room,
                frame=row.frame,
                direction=row.direction,
                number=row.number,
                host=row.host,
                old_frame=was[0],
                old_number=was[1],
                old_host=old_host,
                name=row.carries,
                signal=needs[row.room, row.need],
                change="new" if was[1] is None else "same" if was == (row.frame, row.number) else "other number",
            )
        )
    return found


def _recorder_csv(rows: Sequence[RecorderRow]) -> str:
    maybe = ("room", "host", "old_host")
    names = [name for name in RecorderRow.model_fields if name not in maybe or any(getattr(row, name) for row in rows)]
    return csv_text(names, ([getattr(row, name) for name in names] for row in rows))


def _test_csv(tests: Sequence[TestSheet]) -> str:
    """The rows of every check, each with the shorter sheets that have it too."""
    whole = next(sheet for sheet in tests if sheet.time == "all")
    short = [sheet for sheet in tests if sheet.time != "all"]
    maybe = ("room", "host")
    names = [n for n in TestRow.model_fields if n not in maybe or any(getattr(row, n) for row in whole.rows)]
    rows = (
        ["; ".join(row.way) if name == "way" else getattr(row, name) for name in names]
        + [row.order <= len(sheet.rows) for sheet in short]
        for row in whole.rows
    )
    return csv_text([*names, *(f"in_{sheet.time}_minutes" for sheet in short)], rows)
