"""The document of `clock`: who leads, which line feeds whom and how each is ended, and what is wrong."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal

from solver.judge.clocks import Line, Tree, faults, not_checked
from solver.reports.element import BrokenLimit, Element, FileFault
from solver.reports.wording import kilohertz
from solver.room.clocks import ClockKind, clock_rates


class ClockTreeLine(Element):
    """One line from its source on.

    `ended_by` says what ends a line of coax at its last device, `ended_before` names others that end it whatever is
    set, which is a fault, `shares` what all of its ends are set to above 48 kHz;
    null: nothing is.
    """

    source: str
    kind: ClockKind
    devices: list[str]
    ended_by: Literal["switch", "fixed", "terminator", "unknown", "none"]
    ended_before: list[str] = []
    shares: str | None = None
    cable_m: float | None = None


class ClockTree(Element):
    """The clock of one room. `in_the_way` names devices without any one of which the others have a tree."""

    room: str | None = None
    sample_rate: int
    outcome: Literal["found", "impossible", "unknown", "drawn"]
    proven: bool = False
    reference: str | None = None
    ppm: float | None = None
    lines: list[ClockTreeLine] = []
    cable_m: float | None = None
    terminators: int = 0
    converted: list[str] = []
    in_the_way: list[str] = []
    not_checked: list[str] = []


class ClockTrees(Element):
    """The clocks of all rooms that have devices for one."""

    format: Literal[1] = 1
    scenario: str
    outcome: Literal["found", "impossible", "unknown", "faulty"]
    proven: bool
    trees: list[ClockTree]
    faults: list[BrokenLimit] = []
    warnings: list[FileFault] = []


def drawn_faults(trees: Mapping[str | None, Tree]) -> list[BrokenLimit]:
    """What is wrong with the drawn trees of rooms."""
    return [fault for room, tree in trees.items() for fault in tree_faults(tree, room)]


def tree_report(
    tree: Tree,
    room: str | None,
    outcome: Literal["found", "drawn"],
    *,
    proven: bool,
    boardless: Collection[str] = (),
) -> ClockTree:
    """A tree as the document has it; `boardless` are frames whose boards are left open."""
    lengths = [tree.cable_mm(line) for line in tree.lines]
    leads = tree.leading[0] if len(tree.leading) == 1 else None
    told = any(device.cables for device in tree.devices)
    return ClockTree(
        room=room,
        sample_rate=tree.sample_rate,
        outcome=outcome,
        proven=proven,
        reference=None if leads is None else leads.name,
        ppm=None if leads is None or leads.ppm is None else float(leads.ppm),
        lines=[_line(tree, line, told) for line in tree.in_order],
        cable_m=sum(mm for mm in lengths if mm is not None) / 1000 if told and None not in lengths else None,
        terminators=sum(tree.ends_by(line) == "terminator" for line in tree.lines),
        converted=[device.name for device in tree.devices if device.apart],
        not_checked=not_checked(tree, boardless),
    )


def _line(tree: Tree, line: Line, told: bool) -> ClockTreeLine:
    length = tree.cable_mm(line)
    return ClockTreeLine(
        source=line.source,
        kind=line.kind,
        devices=list(line.devices),
        ended_by=tree.ends_by(line),
        ended_before=tree.ended_before(line),
        shares=shared_by(tree, line),
        cable_m=length / 1000 if told and length is not None else None,
    )


def shared_by(tree: Tree, line: Line) -> str | None:
    """What is set alike on all ends of a line above 48 kHz, where rate and framing can be otherwise."""
    if tree.sample_rate <= 48000 or line.kind == "network":
        return None
    sockets = tree.sockets(line)
    if line.kind == "word":
        rates = sorted({own.rate for own in sockets if own.rate is not None})
        return " or ".join(kilohertz(rate) for rate in rates or clock_rates(tree.sample_rate))
    framings = sorted({own.framing for own in sockets if own.framing is not None})
    return f"framed {' or '.join(framings or ('whole', 'split'))}"


def tree_faults(tree: Tree, room: str | None) -> list[BrokenLimit]:
    """What is wrong with a drawn tree."""
    return [
        BrokenLimit(
            rule=code, room=room, frame=None, slot=None, subject=about, found=1, limit=0, unit="faults", text=text
        )
        for code, about, text in faults(tree)
    ]
