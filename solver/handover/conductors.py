"""One driver, one receiver: what the conductors of looms join, where both ends are known (common practice, no source).

A straight cable joins like pins, a crossed one the lines of one direction to those of the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.handover.bays import Patched
from solver.handover.ends import FarPath
from solver.handover.looms import Carries, Loom, Note, Numbered, wire
from solver.room.connectors import Pinout, Wires
from solver.room.ends import Cable, Plug, misfit
from solver.room.faults import quote
from solver.room.signals import ON_ONE_PAIR
from solver.room.words import Direction, in_runs, write_ranges


@dataclass(frozen=True)
class Joined:
    """What is wrong with a loom, or with a line: so many of its conductors are, in words with both ends."""

    room: str | None
    loom: str
    found: int
    text: str


OTHER_WAY: Mapping[Direction, Direction] = {"in": "out", "out": "in"}
ROLE: Mapping[Direction, str] = {"in": "receiver", "out": "driver"}


def misjoined(
    looms: Mapping[Loom, Cable],
    points: Mapping[Numbered, Patched],
    far: Mapping[Numbered, FarPath],
    pinouts: Mapping[str, Pinout],
) -> Iterator[Joined]:
    """Looms that join drivers to drivers or receivers to receivers, or leave a leg or a screen on another pin.

    Parameters
    ----------
    looms
        Those that are a cable of which it is said how it is wired; others are made for what they join.
    points, far
        Points of bays and far ends, by channel.
    """
    for loom, cable in looms.items():
        there = _other_end(loom, points, far, pinouts)
        if loom.pinout is None or cable.wiring is None or there is None:
            continue
        where, pinout = there
        wrong = list(_wrong(loom, pinout, cable.wiring == "crossed"))
        if wrong:
            runs = in_runs(wrong, lambda one, other: one[1:] == other[1:] and one[0].line + 1 == other[0].line)
            told = "; ".join(_told(loom, run, where) for run in runs)
            text = f"cable {quote(cable.number)}, {cable.wiring}, as loom {loom.name}: {told}"
            yield Joined(loom.room, loom.name, len(wrong), text)


def _other_end(
    loom: Loom,
    points: Mapping[Numbered, Patched],
    far: Mapping[Numbered, FarPath],
    pinouts: Mapping[str, Pinout],
) -> tuple[str, Pinout] | None:
    """What is at the other end of a loom, and the pins there, where a file tells both."""
    for channel in loom.channels:
        if channel in points:
            bay = points[channel].bay
            found = None if bay.rear is None else bay.rear.pinout
            where = f"the back of bay {quote(bay.name)}"
        elif channel in far and not far[channel].hops:
            found, where = far[channel].end.pinout, quote(far[channel].end.equipment)
        else:
            continue
        if found is not None:
            return where, pinouts[found]
    return None


def _wrong(loom: Loom, there: Pinout, crossed: bool) -> Iterator[tuple[Wires, Direction, Direction | None]]:
    """Lines in use whose conductors meet the wrong ones: the card's direction and that of the equipment's line."""
    for line in loom.lines:
        if not any(channel.number is not None for channel in line.channels):
            continue
        other = _met(line.wires, line.direction, loom.pinout, there, crossed)
        if other is None:
            yield line.wires, line.direction, None
        elif (other.direction or OTHER_WAY[line.direction]) == line.direction:
            yield line.wires, line.direction, line.direction


def _met(wires: Wires, direction: Direction, here: Pinout | None, there: Pinout, crossed: bool) -> Wires | None:
    """The line at the other end whose pins a line's conductors come to; None where they come to no line's."""
    came: Wires | None = wires
    if crossed:
        lines = here.lines if here is not None and here.both_ways else ()
        came = next((w for w in lines if (w.direction, w.line) == (OTHER_WAY[direction], wires.line)), None)
    if came is None:
        return None
    return next((w for w in there.lines if (w.hot, w.cold, w.shield) == (came.hot, came.cold, came.shield)), None)


def _told(loom: Loom, run: list[tuple[Wires, Direction, Direction | None]], where: str) -> str:
    first, direction, other = run[0]
    lines = f"{direction} {first.line}" if len(run) == 1 else f"{direction} {first.line}-{run[-1][0].line}"
    card = f"{lines} of {loom.card} in {loom.frame} slot {loom.slot}"
    if other is None:
        return f"{card} meets pins of other lines at {where}"
    role = ROLE[direction]
    return f"{card} meets {other} lines of {where}, {role} to {role}"


def unfit(looms: Mapping[Loom, Cable]) -> Iterator[Note]:
    """Cables whose plug does not go into the connector of the card, in words."""
    for loom, cable in looms.items():
        own = loom.connector
        told = misfit(cable.card_end, Plug(connector=own.type, gender=own.gender))
        if told is not None:
            room = f"{loom.room}, " if loom.room else ""
            text = f"{room}cable {quote(cable.number)} as loom {loom.name}: {told} of {loom.card}"
            yield Note(text, frozenset(loom.channels))


def doubled(
    channels: Iterable[Numbered],
    points: Mapping[Numbered, Patched],
    far: Mapping[str | None, Mapping[tuple[str, int], FarPath]],
) -> Iterator[Joined]:
    """Lines that two things drive, or that drive two: pairs of wires whose channels have different far ends.

    Parameters
    ----------
    far
        The far ends of each room, by need and channel.
    """
    lines: dict[tuple[object, ...], list[Numbered]] = {}
    for channel in channels:
        if channel.number is not None:
            lines.setdefault(_pair(channel), []).append(channel)
    for line in lines.values():
        each = [[(c, path) for c in own.carries if (path := _far(own, c, far))] for own in line]
        met = {c: path for own in each for c, path in own}
        several = len({path.end.equipment for path in met.values()}) > 1
        if several or any(len({path.text for _, path in own}) > 1 for own in each):
            yield Joined(line[0].room, _line_name(line), len(met), _doubled_told(line, met, points.get(line[0])))


def _pair(channel: Numbered) -> tuple[object, ...]:
    """The pair of wires that a channel is on, as far as that is known: several are on one where that is digital."""
    known = channel.contact is not None and channel.contact.wires is not None
    return wire(channel) if known or channel.signals <= ON_ONE_PAIR else (*wire(channel), channel.card_channel)


def _far(
    channel: Numbered, carries: Carries, far: Mapping[str | None, Mapping[tuple[str, int], FarPath]]
) -> FarPath | None:
    return far[channel.room].get((carries.need.name, carries.channel))


def _line_name(line: Sequence[Numbered]) -> str:
    return f"{line[0].frame} {line[0].direction} {write_ranges([c.number for c in line if c.number is not None])}"


def _doubled_told(line: Sequence[Numbered], met: Mapping[Carries, FarPath], patched: Patched | None) -> str:
    """Both ends, and the points of a bay between."""
    first = line[0]
    ends = " and ".join(f"{quote(path.text)} for {quote(carries.text)}" for carries, path in met.items())
    way = ""
    if patched is not None:
        between = f"{patched.normal}-normalled" if patched.normal in ("full", "half") else patched.normal
        way = f", through {patched.bay.name} {patched.upper} and {patched.lower} ({between})"
    line_of = f"{_line_name(line)}, one line of {first.card} in {first.frame} slot {first.slot}"
    if first.direction == "in":
        return f"{line_of}, is driven by {ends}{way}: two drivers on one receiver"
    return f"{line_of}, drives {ends}{way}: one driver on two receivers"
