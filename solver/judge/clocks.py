"""A clock tree as it is drawn or found: who leads, which line feeds whom, and what is wrong with it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.room.clocks import (
    ClockDevice,
    ClockInputSocket,
    ClockKind,
    ClockOutput,
    ClockSocket,
    clock_rates,
    length_mm,
)
from solver.room.hardware import Board
from solver.room.scenario import Room
from solver.room.words import enumerated


@dataclass(frozen=True)
class Line:
    """One line from an output of a device to others in order; of all kinds but word clock to one."""

    source: str
    kind: ClockKind
    devices: tuple[str, ...]
    terminator: bool = False
    impedance_ohm: int = 75

    @property
    def told(self) -> str:
        """What faults call it."""
        return f"{self.kind} line {self.source} to {', '.join(self.devices)}"


@dataclass(frozen=True)
class Tree:
    """Devices of a room at a sample rate, and the lines between them."""

    devices: tuple[ClockDevice, ...]
    sample_rate: int
    lines: tuple[Line, ...]

    def device(self, name: str) -> ClockDevice | None:
        """A device by name."""
        return next((device for device in self.devices if device.name == name), None)

    @property
    def fed(self) -> Counter[str]:
        """How many lines feed each device."""
        return Counter(name for line in self.lines for name in line.devices)

    @property
    def leading(self) -> list[ClockDevice]:
        """Devices that nothing feeds and whose lines go through no rate conversion."""
        return [d for d in self.devices if not self.fed[d.name] and not d.apart]

    def depth(self, name: str) -> int:
        """How many lines there are from a reference to a device; more than there are lines where none leads there."""
        reached, depth = {device.name for device in self.leading}, 0
        while name not in reached and depth <= len(self.lines):
            reached |= {fed for line in self.lines if line.source in reached for fed in line.devices}
            depth += 1
        return depth

    @property
    def in_order(self) -> list[Line]:
        """Its lines from the reference on."""
        return sorted(self.lines, key=lambda line: self.depth(line.source))

    def feeding(self, name: str) -> Line | None:
        """The line that feeds a device."""
        return next((line for line in self.lines if name in line.devices), None)

    def below(self, name: str) -> list[str]:
        """Whatever gets its clock through a device, in the order of the devices."""
        found = {name}
        while more := {fed for line in self.lines if line.source in found for fed in line.devices} - found:
            found |= more
        return [device.name for device in self.devices if device.name in found - {name}]

    def sockets(self, line: Line) -> list[ClockSocket]:
        """The output that drives a line and the inputs on it, as far as the devices have them."""
        source = self.device(line.source)
        ends = [None if source is None else source.output(line.kind)]
        takers = [self.device(name) for name in line.devices]
        inputs = [None if device is None else device.input(line.kind) for device in takers]
        return [own for own in (*ends, *inputs) if own is not None]

    def cable_mm(self, line: Line) -> int | None:
        """Cable of a line; None where a length is not told. A network needs none of its own."""
        lengths = self._hops(line).values()
        return None if None in lengths else sum(length or 0 for length in lengths)

    def untold(self, line: Line) -> list[str]:
        """The stretches of a line whose cable is not told."""
        return [f"{one} to {other}" for (one, other), length in self._hops(line).items() if length is None]

    def _hops(self, line: Line) -> dict[tuple[str, str], int | None]:
        if line.kind == "network":
            return {}
        hops = zip((line.source, *line.devices), line.devices, strict=False)
        return {(one, other): length_mm(self.devices, one, other) for one, other in hops}

    def ends_by(self, line: Line) -> str:
        """Who ends a line of coax: `switch`, `fixed`, `terminator`, or `unknown`; else `none`."""
        if line.kind != "word":
            return "none"
        termination = self.termination(line.devices[-1])
        if line.terminator or termination == "none":
            return "terminator"
        return {"switched": "switch", "fixed": "fixed"}.get(termination or "", "unknown")

    def ended_before(self, line: Line) -> list[str]:
        """The devices before the last one of a line of coax that always end it."""
        return [name for name in line.devices[:-1] if line.kind == "word" and self.termination(name) == "fixed"]

    def termination(self, name: str) -> str | None:
        """What ends a line at the word clock input of a device; None where nobody says."""
        device = self.device(name)
        own = None if device is None else device.input("word")
        return None if own is None else own.termination


def drawn_tree(room: Room, sample_rate: int, boards: Mapping[str, Board], unused: Collection[str] = ()) -> Tree | None:
    """The tree that the lines of a room draw, as far as they have a source; None where none has.

    Parameters
    ----------
    boards
        The boards of frames, by the names of these, where they are known.
    unused
        Frames to which no clock lead goes.
    """
    lines = [
        Line(line.source, line.kind, reached, line.terminator, line.impedance_ohm)
        for line in room.clock_line
        if line.source is not None and (reached := tuple(name for name in line.frames if name not in unused))
    ]
    devices = tuple(device for device in devices_of(room, boards) if device.name not in unused)
    return Tree(devices, sample_rate, tuple(lines)) if lines else None


def devices_of(room: Room, boards: Mapping[str, Board]) -> tuple[ClockDevice, ...]:
    """The devices of a room; frames on its lines that are none take word clock by what is known of their boards."""
    named = {device.name for device in room.clock}
    on_lines = {name for line in room.clock_line for name in line.frames}
    bare = [ClockDevice(name=name, inputs=(ClockInputSocket(kind="word"),)) for name in sorted(on_lines - named)]
    return tuple(_with_board(device, boards.get(device.name)) for device in (*room.clock, *bare))


def _with_board(device: ClockDevice, board: Board | None) -> ClockDevice:
    """A frame whose board says how it ends a line, where the device does not."""
    if board is None or board.clock_input is None:
        return device
    known = {"termination": board.clock_input.termination}
    inputs = tuple(
        own.model_copy(update=known) if own.kind == "word" and own.termination is None else own for own in device.inputs
    )
    return device.model_copy(update={"inputs": inputs})


def faults(tree: Tree) -> list[tuple[str, str, str]]:
    """Everything that is wrong: a code, what it is about, and how it is told."""
    return [*_reference(tree), *_reached(tree), *(fault for line in tree.lines for fault in _line(tree, line))]


def _reference(tree: Tree) -> Iterator[tuple[str, str, str]]:
    names = [device.name for device in tree.leading]
    if len(names) > 1:
        yield "one-reference", names[0], f"{enumerated(names)} each run by themselves; one leads, and feeds the others"
    for device in tree.devices:
        if device.leads and tree.fed[device.name]:
            yield "one-reference", device.name, f"{device.name} is to lead, and a line feeds it"
        if device.asynchronous and tree.fed[device.name]:
            yield "asynchronous", device.name, f"{device.name} takes no clock, and a line feeds it"
    for device in tree.leading:
        if device.ppm is None:
            yield "one-reference", device.name, f"{device.name} has no clock of its own, and no line feeds it"
        if device.asynchronous and len(names) > 1:
            text = f"{device.name} shares no clock with the others: let it lead, or send it through rate conversion"
            yield "asynchronous", device.name, text


def _reached(tree: Tree) -> Iterator[tuple[str, str, str]]:
    """Devices that are fed twice, or in a circle."""
    for name, count in sorted(tree.fed.items()):
        if count > 1:
            yield "fed-once", name, f"{name} is fed by {count} lines; one feeds it"
    reached = {device.name for device in tree.leading}
    before = 0
    while len(reached) > before:
        before = len(reached)
        reached |= {name for line in tree.lines if line.source in reached for name in line.devices}
    circle = [device.name for device in tree.devices if device.name not in reached and tree.fed[device.name]]
    if circle:
        fed = ("feed each other", "them") if len(circle) > 1 else ("feeds itself", "it")
        yield "no-circle", circle[0], f"{enumerated(circle)} {fed[0]}, and no reference feeds {fed[1]}"


def _line(tree: Tree, line: Line) -> Iterator[tuple[str, str, str]]:
    source = tree.device(line.source)
    output = None if source is None else source.output(line.kind)
    if source is not None and source.apart:
        yield "asynchronous", line.source, f"{line.told}: {line.source} is converted, and leads nothing"
    if output is None:
        yield "output", line.source, f"{line.told}: {line.source} has no such output"
    elif line.kind != "network":
        beside = [own for own in tree.lines if (own.source, own.kind) == (line.source, line.kind)]
        if line is beside[0] and len(beside) > output.count:
            text = f"{line.source} has {output.count} {line.kind} outputs, and {len(beside)} lines begin there"
            yield "outputs", line.source, text
    for name in line.devices:
        device = tree.device(name)
        if device is None or device.input(line.kind) is None:
            yield "input", name, f"{line.told}: {name} has no such input"
    if line.kind == "word":
        yield from _coax(tree, line, output)
    elif len(line.devices) > 1:
        yield "devices", line.source, f"{line.told}: such a line goes to one device"
    yield from _agree(tree, line, tree.sockets(line))


def _coax(tree: Tree, line: Line, output: ClockOutput | None) -> Iterator[tuple[str, str, str]]:
    """A line of coax carries so many devices, has 75 ohms, and is ended once, at its last device."""
    *before, last = line.devices
    if output is not None and len(line.devices) > output.most:
        yield (
            "devices",
            line.source,
            f"{line.told}: {len(line.devices)} devices; at most {output.most} on such an output",
        )
    if line.impedance_ohm != 75:
        yield "impedance", line.source, f"{line.told}: {line.impedance_ohm} ohm; word clock has 75"
    for name in before:
        if tree.termination(name) == "fixed":
            yield "ended-once", name, f"{line.told}: {name} always ends the line, and is not its last device"
    if line.terminator and tree.termination(last) == "fixed":
        yield "ended-once", last, f"{line.told}: {last} always ends the line, and a terminator too"


def _agree(tree: Tree, line: Line, sockets: Sequence[ClockSocket]) -> Iterator[tuple[str, str, str]]:
    """All ends of a line have one rate, which is of the sample rate, and above 48 kHz one framing."""
    rates = {own.rate for own in sockets if own.rate is not None}
    fitting = clock_rates(tree.sample_rate)
    if line.kind == "word" and (len(rates) > 1 or not rates <= set(fitting)):
        told = enumerated([f"{rate / 1000:g}" for rate in sorted(rates)])
        fit = " or ".join(f"{rate / 1000:g}" for rate in fitting)
        yield "rate", line.source, f"{line.told}: its ends have {told} kHz; all have one of {fit} kHz"
    framings = {own.framing for own in sockets if own.framing is not None}
    if line.kind in ("aes3", "madi") and tree.sample_rate > 48000 and len(framings) > 1:
        yield "framing", line.source, f"{line.told}: one end is framed whole, another split; both share it"


def not_checked(tree: Tree, boardless: Collection[str] = ()) -> list[str]:
    """What no file tells; `boardless` are frames whose boards are left open."""
    found = []
    if not any(device.cables for device in tree.devices):
        found.append("cable: no device tells its cables")
    for line in tree.lines:
        for name in line.devices if line.kind == "word" else ():
            if tree.termination(name) is None:
                why = "depends on its board, which a build says" if name in boardless else "is not told"
                found.append(f"{line.told}: whether {name} can end a line {why}")
        if any(device.cables for device in tree.devices):
            found += [f"{line.told}: the cable from {hop} is not told" for hop in tree.untold(line)]
    return found
