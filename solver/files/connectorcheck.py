"""Connectors and pinouts: every pin once, every channel on one connector, and pins for all that a connector carries."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from solver.room.connectors import SHELL, Connector, Pinout, Wires
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import Card, Hardware
from solver.room.pinouts import published
from solver.room.words import DIRECTIONS, Direction, parse_ranges, write_ranges


def same_pinouts(parts: Sequence[tuple[str, Hardware]]) -> Iterator[Fault]:
    """Pinouts that two tables bear the id of."""
    first: dict[str, str] = {}
    for file, part in parts:
        for pinout in part.pinout:
            if pinout.id in first:
                where = "this file" if first[pinout.id] == file else first[pinout.id]
                message = f"{quote(pinout.id)} is already the id of a pinout in {where}"
                yield Fault(file, ("pinout", pinout.id, "id"), message, pinout.id)
            first.setdefault(pinout.id, file)


def check_pinout(file: str, pinout: Pinout, known: Mapping[str, Pinout]) -> Iterator[Fault]:
    """Faults of one pinout: each pin has a line or is named as unused, and each line has what it needs.

    Parameters
    ----------
    known
        Every pinout that can be named, by id.
    """
    place: Path = ("pinout", pinout.id)
    if pinout.id in published():
        message = f"{quote(pinout.id)} is a published pinout that every scenario knows; take another id"
        yield Fault(file, (*place, "id"), message, pinout.id)
    pins = pinout.every_pin()
    for pin in _again(pins):
        yield Fault(file, (*place, "pins"), f"pin {quote(pin)} stands there twice", pin)
    if SHELL in pins:
        yield Fault(file, (*place, "pins"), f'"{SHELL}" is no pin: lines may name it as their shield', SHELL)
    yield from _pins_once(file, place, pinout, dict.fromkeys(pins))
    yield from _lines(file, place, pinout)
    if pinout.mates is not None:
        yield from _mates(file, (*place, "mates"), pinout, known)


def _again(names: Sequence[str]) -> Iterator[str]:
    yield from (name for name, count in Counter(names).items() if count > 1)


def _pins_once(file: str, place: Path, pinout: Pinout, pins: Mapping[str, None]) -> Iterator[Fault]:
    taken: dict[str, str] = {}
    for number, wires in enumerate(pinout.lines, 1):
        for key in ("hot", "cold", "shield"):
            pin = getattr(wires, key)
            where = (*place, "lines", number, key)
            if pin is None or (pin == SHELL and key == "shield"):
                continue
            if pin not in pins:
                yield unknown(file, where, pin, pins, f"is no pin of {pinout.id}")
            elif pin in taken:
                yield Fault(file, where, f"pin {quote(pin)} is {taken[pin]} already", pin)
            taken.setdefault(pin, f"{key} of {_told(wires)}")
    for pin in _again(pinout.unused):
        yield Fault(file, (*place, "unused"), f"pin {quote(pin)} stands there twice", pin)
    for pin in dict.fromkeys(pinout.unused):
        if pin not in pins:
            yield unknown(file, (*place, "unused"), pin, pins, f"is no pin of {pinout.id}")
        elif pin in taken:
            yield Fault(file, (*place, "unused"), f"pin {quote(pin)} is {taken[pin]}", pin)
    bare = [pin for pin in pins if pin not in taken and pin not in pinout.unused and pin != SHELL]
    if bare:
        told = ", ".join(map(quote, bare))
        verb = "s have" if len(bare) > 1 else " has"
        yield Fault(file, (*place, "lines"), f"pin{verb} no line: {told}; name what is not used under unused", told)


def _told(wires: Wires) -> str:
    return f"line {wires.line}{f' {wires.direction}' if wires.direction else ''}"


def _lines(file: str, place: Path, pinout: Pinout) -> Iterator[Fault]:
    for number, wires in enumerate(pinout.lines, 1):
        where = (*place, "lines", number)
        if pinout.both_ways and wires.direction is None:
            yield Fault(file, (*where, "direction"), "is missing, and other lines have one")
        if pinout.balanced and wires.cold is None:
            yield Fault(file, (*where, "cold"), "is missing; write balanced = false if no line has one")
        if not pinout.balanced and wires.cold is not None:
            message = "a line that is not balanced has no cold; leave balanced out if it is"
            yield Fault(file, (*where, "cold"), message, wires.cold)
    for direction in (*DIRECTIONS, None):
        lines = [wires.line for wires in pinout.lines if wires.direction == direction]
        way = f" {direction}" if direction else ""
        for line in _again([str(line) for line in lines]):
            yield Fault(file, (*place, "lines"), f"line {line}{way} stands there twice", line)
        missing = sorted(set(range(1, max(lines, default=0))) - set(lines))
        if missing:
            told = write_ranges(missing)
            message = f"lines{way} are counted from 1 on, and {told} {'are' if len(missing) > 1 else 'is'} missing"
            yield Fault(file, (*place, "lines"), message, told)


def _mates(file: str, place: Path, pinout: Pinout, known: Mapping[str, Pinout]) -> Iterator[Fault]:
    """The pinout at the other end of a straight cable: there each pin is the same line the other way."""
    assert pinout.mates is not None
    other = known.get(pinout.mates)
    if other is None:
        yield unknown(file, place, pinout.mates, known, "is no pinout of these hardware files")
        return
    turned: dict[Direction | None, Direction | None] = {"in": "out", "out": "in", None: None}
    mine = {(w.hot, w.cold, w.shield): (w.line, turned[w.direction]) for w in pinout.lines}
    theirs = {(w.hot, w.cold, w.shield): (w.line, w.direction) for w in other.lines}
    if mine != theirs or pinout.channels_per_line != other.channels_per_line:
        message = f"the pins of {other.id} are not those of {pinout.id} with inputs and outputs exchanged"
        yield Fault(file, place, message, pinout.mates)


def check_connectors(file: str, card: Card, known: Mapping[str, Pinout]) -> Iterator[Fault]:
    """Faults of one card's connectors: their channels are there, each on one of them, with pins for all of them.

    Parameters
    ----------
    known
        Every pinout that can be named, by id.
    """
    carried: dict[tuple[int, int], str] = {}
    for connector in card.connector:
        place: Path = ("card", card.id, "connector", connector.id)
        yield from _carries(file, place, card, connector, carried)
        yield from _pinned(file, place, card, connector, known)
    for name in _again([connector.id for connector in card.connector]):
        message = f"{quote(name)} is already the id of another connector of this card"
        yield Fault(file, ("card", card.id, "connector", name, "id"), message, name)
    if not card.connector:
        return
    for number, port in enumerate(card.ports, 1):
        place = ("card", card.id, "ports", number)
        if port.connector is not None:
            message = "is told by [[card.connector]] already; take it out here"
            yield Fault(file, (*place, "connector"), message, port.connector)
        bare = [ch for ch in range(1, most_channels(card, number) + 1) if (number, ch) not in carried]
        if bare:
            told = write_ranges(bare)
            message = f"channel{'s' if len(bare) > 1 else ''} {told}: no connector carries "
            message += "them" if len(bare) > 1 else "it"
            yield Fault(file, place, message, told, severity="warning")


def most_channels(card: Card, port: int) -> int:
    """How many channels a port, counted from 1, has at the rate that has most of them; none if it is not there."""
    return max(card.ports[port - 1].channels.values(), default=0) if port <= len(card.ports) else 0


def _carries(
    file: str, place: Path, card: Card, connector: Connector, carried: dict[tuple[int, int], str]
) -> Iterator[Fault]:
    for number, entry in enumerate(connector.carries, 1):
        where = (*place, "carries", number)
        most = most_channels(card, entry.port)
        if entry.port > len(card.ports):
            count = len(card.ports)
            message = f"{card.id} has {f'ports 1 to {count}' if count > 1 else 'one port' if count else 'no ports'}"
            yield Fault(file, (*where, "port"), message, str(entry.port))
            continue
        channels = range(1, most + 1) if entry.channels is None else parse_ranges(entry.channels)
        past = [channel for channel in channels if channel > most]
        if past:
            told = write_ranges(past)
            yield Fault(file, (*where, "channels"), f"port {entry.port} has channels 1 to {most}, not {told}", told)
        twice: dict[str, list[int]] = {}
        for channel in channels:
            if (entry.port, channel) in carried:
                twice.setdefault(carried[entry.port, channel], []).append(channel)
            carried.setdefault((entry.port, channel), connector.id)
        for other, own in twice.items():
            told = write_ranges(own)
            message = f"channel{'s' if len(own) > 1 else ''} {told} of port {entry.port} "
            message += f"{'are' if len(own) > 1 else 'is'} on {quote(other)} already"
            yield Fault(file, (*where, "channels"), message, told)


def _pinned(file: str, place: Path, card: Card, connector: Connector, known: Mapping[str, Pinout]) -> Iterator[Fault]:
    if connector.pinout is None:
        return
    pinout = known.get(connector.pinout)
    where = (*place, "pinout")
    if pinout is None:
        yield unknown(file, where, connector.pinout, known, "is no pinout of these hardware files")
        return
    if pinout.type != connector.type:
        message = f"{pinout.id} is a pinout of {quote(pinout.type)}, and this connector is {quote(connector.type)}"
        yield Fault(file, where, message, connector.pinout)
    counts = dict.fromkeys(DIRECTIONS, 0)
    for entry in connector.carries:
        if entry.port <= len(card.ports):
            most = most_channels(card, entry.port)
            own = most if entry.channels is None else len(parse_ranges(entry.channels))
            counts[card.ports[entry.port - 1].direction] += own
    for direction, count in counts.items():
        room = pinout.room(direction)
        if count > room:
            message = f"carries {count} channels {direction}, and {pinout.id} has pins for {room}"
            yield Fault(file, where, message, connector.pinout)
    if all(counts.values()) and not pinout.both_ways:
        message = f"carries channels in and out, and {pinout.id} has lines of one direction"
        yield Fault(file, where, message, connector.pinout)
    for number, entry in enumerate(connector.carries, 1):
        if entry.port <= len(card.ports) and card.ports[entry.port - 1].grain % pinout.channels_per_line:
            grain, per = card.ports[entry.port - 1].grain, pinout.channels_per_line
            message = f"port {entry.port} has a grain of {grain}, and a line of {pinout.id} carries {per} channels"
            yield Fault(file, (*place, "carries", number, "port"), message, str(entry.port))
