"""Devices of a clock: they are told apart, name each other, and have one socket of each kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.files.partcheck import repeated, same_names
from solver.room.clocks import ClockDevice
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import Board
from solver.room.scenario import Room
from solver.room.words import SAMPLE_RATES


def check_clock(file: str, path: Path, room: Room, boards: Mapping[str, Board]) -> Iterator[Fault]:
    """Faults of a room's devices for a clock, and of the sources of its lines."""
    frames = {frame.name: frame for frame in room.frame}
    names = [device.name for device in room.clock]
    yield from same_names(file, path, "clock", names)
    known = {*names, *(frame.name for frame in room.frame)}
    leading = [device.name for device in room.clock if device.leads]
    for device in room.clock:
        place: Path = (*path, "clock", device.name)
        yield from _sockets(file, place, device)
        if device.name in frames:
            yield from _against_board(file, place, device, boards.get(frames[device.name].board or ""))
        for other in device.cables:
            if other not in known:
                yield unknown(file, (*place, "cables", other), other, known, "is no device and no frame of this room")
            elif other == device.name:
                yield Fault(file, (*place, "cables", other), "is this device itself", other)
        if device.leads and (device.ppm is None or leading[0] != device.name):
            why = f"{quote(leading[0])} leads already"
            none = "it has no clock of its own: give its ppm"
            yield Fault(file, (*place, "leads"), none if device.ppm is None else why, "true")
        if device.converted and not device.asynchronous:
            yield Fault(file, (*place, "converted"), "only an asynchronous device is", "true")
    fed = {*names, *(name for line in room.clock_line for name in line.frames)}
    for name in frames if names else ():
        if name not in fed:
            message = "has no [[clock]] and is on no line, so nothing says who feeds its clock"
            yield Fault(file, (*path, "frame", name), message, name, severity="warning")
    for n, line in enumerate(room.clock_line, 1):
        where: Path = (*path, "clock_line", n)
        if line.source is not None and line.source not in names:
            yield unknown(file, (*where, "source"), line.source, names, "has no [[clock]]")
        if line.source is None and line.kind != "word":
            yield Fault(file, (*where, "source"), "is missing, for a line that is no coax", line.kind)


def _against_board(file: str, place: Path, device: ClockDevice, board: Board | None) -> Iterator[Fault]:
    """What is said of how a frame ends a line, where its board ends lines otherwise."""
    if board is None or board.clock_input is None:
        return
    for n, own in enumerate(device.inputs, 1):
        if own.termination not in (None, board.clock_input.termination):
            why = f"{board.id} has {quote(board.clock_input.termination)}; leave it out"
            yield Fault(file, (*place, "inputs", n, "termination"), why, own.termination)


def _sockets(file: str, place: Path, device: ClockDevice) -> Iterator[Fault]:
    """Keys that only sockets of other kinds have, and kinds that stand twice."""
    for key, sockets in (("inputs", device.inputs), ("outputs", device.outputs)):
        yield from repeated(file, (*place, key), [socket.kind for socket in sockets])
        for n, socket in enumerate(sockets, 1):
            if socket.rate is not None and socket.kind != "word":
                yield Fault(file, (*place, key, n, "rate"), "only word clock has it", socket.kind)
            elif socket.rate is not None and socket.rate not in SAMPLE_RATES:
                allowed = tuple(map(str, sorted(SAMPLE_RATES)))
                message = f"{socket.rate} Hz is no known sample rate"
                yield Fault(file, (*place, key, n, "rate"), message, str(socket.rate), allowed)
            if socket.framing is not None and socket.kind not in ("aes3", "madi"):
                yield Fault(file, (*place, key, n, "framing"), "only AES3 and MADI have it", socket.kind)
    for n, own in enumerate(device.inputs, 1):
        if own.termination is not None and own.kind != "word":
            yield Fault(file, (*place, "inputs", n, "termination"), "only word clock has it", own.kind)
    for n, output in enumerate(device.outputs, 1):
        if output.most > 1 and output.kind != "word":
            yield Fault(file, (*place, "outputs", n, "most"), "only word clock has more than one", str(output.most))
