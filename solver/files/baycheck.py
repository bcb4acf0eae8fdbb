"""Patch bays: what may be on jacks, how it may be normalled (common practice, no source), which points are there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set

from solver.room.bays import ROWS, Bay, Gauge, Normal, point_of
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.scenario import Need, Room
from solver.room.signals import NEVER_HALVED, NEVER_ON_JACKS
from solver.room.words import parse_ranges, write_ranges

IN_A_RACK_UNIT: Mapping[Gauge, int] = {"jack-6.35": 24, "b-gauge": 24, "bantam": 48}
"""Points in a row of one rack unit: two rows of 24 long-frame jacks, or of 48 bantam ones."""


def check_bays(file: str, path: Path, room: Room, signals: Set[str]) -> Iterator[Fault]:
    """Faults of a room's bays.

    Parameters
    ----------
    signals
        All signals of the hardware.
    """
    kept: dict[str, str] = {}
    yield from _blocks_of_one_size(file, path, room)
    for bay in room.bay:
        place: Path = (*path, "bay", bay.name)
        if bay.rows % 2:
            message = f"must be pairs, sources above destinations, found {bay.rows}"
            yield Fault(file, (*place, "rows"), message, str(bay.rows))
        most = IN_A_RACK_UNIT[bay.gauge]
        if bay.points > most:
            message = f"{bay.points} points in a row are more than a rack unit has of {bay.gauge}, {most}"
            yield Fault(file, (*place, "points"), message, str(bay.points), severity="warning")
        if bay.block > bay.points:
            message = f"a connector of {bay.block} points has no room on rows of {bay.points}"
            yield Fault(file, (*place, "rear", "block"), message, str(bay.block))
        elif bay.points % bay.block:
            message = f"rows of {bay.points} points end in a block of {bay.points % bay.block}; see that it is so"
            yield Fault(file, (*place, "rear", "block"), message, str(bay.block), severity="warning")
        yield from _signals(file, place, bay, signals)
        yield from _normals(file, place, bay)
        yield from _kept(file, place, bay, room, kept)


def _blocks_of_one_size(file: str, path: Path, room: Room) -> Iterator[Fault]:
    """A loom has to be in the same pieces on all bays that it may come on."""
    for at, bay in enumerate(room.bay):
        for other in room.bay[:at]:
            shared = sorted(set(bay.signals) & set(other.signals))
            one_way = None in (bay.direction, other.direction) or bay.direction == other.direction
            if shared and one_way and bay.block != other.block:
                message = (
                    f"has blocks of {bay.block} and {quote(other.name)} of {other.block}, and both take "
                    f"{quote(shared[0])}: write the same block for both, whatever their connectors are"
                )
                yield Fault(file, (*path, "bay", bay.name, "rear"), message)
                break


def _signals(file: str, place: Path, bay: Bay, signals: Set[str]) -> Iterator[Fault]:
    for signal in dict.fromkeys(bay.signals):
        if signal in NEVER_ON_JACKS:
            yield Fault(file, (*place, "signals"), f"{quote(signal)} is never on jacks", signal)
        elif signal not in signals:
            yield unknown(file, (*place, "signals"), signal, signals, "is no signal of these hardware files")
        if bay.signals.count(signal) > 1:
            yield Fault(file, (*place, "signals"), f"{quote(signal)} stands there twice", signal)


def halved(normal: Normal) -> bool:
    """Whether a normal leaves a source on two destinations."""
    return normal in ("half", "parallel")


def _normals(file: str, place: Path, bay: Bay) -> Iterator[Fault]:
    only = all(signal in NEVER_HALVED for signal in bay.signals)
    told = ", ".join(map(quote, bay.signals))
    if halved(bay.normal) and only:
        message = f"{quote(bay.normal)} is for analogue line alone; {told} is full or open"
        yield Fault(file, (*place, "normal"), message, bay.normal)
    named: dict[tuple[int, int], int] = {}
    for number, run in enumerate(bay.normals, 1):
        where = (*place, "normals", number)
        points = [point for point in parse_ranges(run.points) if named.setdefault((run.pair, point), number) != number]
        if points:
            message = f"entry {named[run.pair, points[0]]} says how {write_ranges(points)} of the pair are normalled"
            yield Fault(file, (*where, "points"), message, run.points)
        if halved(run.normal) and only:
            message = f"{quote(run.normal)} is for analogue line alone; {told} is full or open"
            yield Fault(file, (*where, "normal"), message, run.normal)
        if run.pair > bay.pairs:
            yield Fault(file, (*where, "pair"), f"this bay has pairs 1 to {bay.pairs}", str(run.pair))
        past = [point for point in parse_ranges(run.points) if point > bay.points]
        if past:
            message = f"a row has points 1 to {bay.points}, not {write_ranges(past)}"
            yield Fault(file, (*where, "points"), message, write_ranges(past))


def _kept(file: str, place: Path, bay: Bay, room: Room, kept: dict[str, str]) -> Iterator[Fault]:
    """Points that are labelled are there, and each says a channel of a need that no other one keeps."""
    needs = {need.name: need for need in room.need}
    pairs: dict[tuple[int, int], str] = {}
    for text, label in bay.keep.items():
        where = (*place, "keep", text)
        row, number = point_of(text)
        if ROWS.index(row) >= bay.rows or not 1 <= number <= bay.points:
            last = f"{ROWS[bay.rows - 1]}{bay.points}"
            yield Fault(file, where, f"is no point of this bay, which has A1 to {last}", text)
            continue
        column = ROWS.index(row) // 2, number
        if column in pairs:
            yield Fault(file, where, f"is the other point of {pairs[column]}, which is kept already", text)
        pairs[column] = text
        need = _named(label, needs)
        if need is None:
            message = f"{quote(label)} is no channel of a need of this room; write it as a list has it: NEED NUMBER"
            yield Fault(file, where, message, label)
            continue
        if need.signal not in bay.signals or need.direction != (bay.direction or need.direction):
            message = f"{quote(label)} is {need.signal} {need.direction}, which this bay does not take"
            yield Fault(file, where, message, label)
        if label in kept:
            yield Fault(file, where, f"{quote(label)} is kept at {kept[label]} already", label)
        kept.setdefault(label, f"{bay.name} {text}")


def _named(label: str, needs: Mapping[str, Need]) -> Need | None:
    """The need whose channel a label names."""
    name, _, number = label.rpartition(" ")
    need = needs.get(name)
    if need is None or not number.isdecimal() or not number.isascii() or number.startswith("0"):
        return None
    return need if len(number) < 5 and int(number) <= need.channels + need.spare else None
