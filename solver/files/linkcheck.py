"""Host ports: they are told apart, say what no standard does, and both ends of a cable are of one kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.files.partcheck import same_names
from solver.physics.link import PLAIN_STREAM, most_in_stream
from solver.room.faults import Fault, Path, quote, unknown
from solver.room.hardware import Board
from solver.room.links import STANDARD, HostPort, first_numbers
from solver.room.scenario import Room
from solver.room.words import DIRECTIONS, SIDES, Family

OWN_KEYS = {"varispeed": ("madi",), "framing": ("madi", "aes3")}
OWN_KEYS |= dict.fromkeys(("streams", "stream_channels", "packet_us"), ("aes67",))
"""Keys that only ports of some kinds have."""


def check_links(
    file: str, path: Path, room: Room, boards: Mapping[str, Board], family: Family | None
) -> Iterator[Fault]:
    """Faults of a room's host ports.

    Parameters
    ----------
    boards
        Those of the hardware, by id.
    family
        That of the room's sample rate; None where that is none: then names alone are checked.
    """
    yield from same_names(file, path, "host_port", [port.name for port in room.host_port])
    if family is None:
        return
    frames = {frame.name: frame for frame in room.frame}
    cabled: dict[str, int] = {}
    for port in room.host_port:
        place: Path = (*path, "host_port", port.name)
        yield from _port(file, place, port, family)
        if port.frame is None:
            continue
        if port.frame not in frames:
            yield unknown(file, (*place, "frame"), port.frame, frames, "is no frame of this room")
            continue
        board = boards.get(frames[port.frame].board or "")
        if port.through is not None:
            continue
        at = cabled.setdefault(port.frame, 0)
        cabled[port.frame] += 1
        if board is not None and board.host_port:
            yield from _cable(file, place, port, board, at, family)
    behind = list(_behind(file, path, room, family))
    yield from behind or _overlapping(file, path, room, family)


def _behind(file: str, path: Path, room: Room, family: Family) -> Iterator[Fault]:
    """What comes through the port of another frame: it has room for all of it, and says how much that is."""
    direct = {port.name: port for port in room.host_port if port.through is None}
    for port in room.host_port:
        place: Path = (*path, "host_port", port.name)
        if port.through is None:
            continue
        whole = direct.get(port.through)
        if whole is None:
            what = "is no port that a frame is cabled to" if port.through != port.name else "is this port itself"
            yield unknown(file, (*place, "through"), port.through, direct, what)
        elif whole.frame is None or port.frame in (None, whole.frame):
            yield Fault(file, (*place, "frame"), f"is another frame than that of {quote(whole.name)}", port.frame)
        elif any(other.frame == port.frame for other in direct.values()):
            yield Fault(file, (*place, "through"), f"frame {port.frame} is cabled to a port itself", port.through)
        elif port.kind != whole.kind:
            yield Fault(file, (*place, "kind"), f"{quote(whole.name)} is of kind {quote(whole.kind)}", port.kind)
        elif not port.channels:
            yield Fault(file, (*place, "channels"), "is missing: how many of that port's channels are its own")
        elif port.first is not None:
            yield Fault(file, (*place, "first"), f"follows {quote(whole.name)}; leave it out", str(port.first))
    for port in direct.values():
        most, others = port.of_standard(family), [own for own in room.host_port if own.through == port.name]
        for direction in DIRECTIONS if most is not None and others else ():
            own, more = port.carries(family, direction), sum(each.carries(family, direction) for each in others)
            if own + more > (most or 0):
                message = (
                    f"{most} {SIDES[direction]} are all that such a port has at this rate, "
                    f"{own} are frame {port.frame}'s and {more} those of frames behind it; tell the channels of each"
                )
                yield Fault(file, (*path, "host_port", port.name, "channels"), message, str(own + more))


def _port(file: str, place: Path, port: HostPort, family: Family) -> Iterator[Fault]:
    for key, kinds in OWN_KEYS.items():
        if key in port.model_fields_set and port.kind not in kinds:
            yield Fault(file, (*place, key), f"only ports of kind {' or '.join(map(quote, kinds))} have it", port.kind)
    if port.kind not in STANDARD and not port.channels:
        message = f"is missing; no standard says how many channels {quote(port.kind)} has"
        yield Fault(file, (*place, "channels"), message)
    if port.kind == "aes67":
        most = most_in_stream(port.packet_us, family)
        if port.streams is None and not port.channels:
            yield Fault(file, (*place, "streams"), "is missing: how many streams the port has each way")
        if "stream_channels" in port.model_fields_set and port.stream_channels > most:
            message = f"a packet has room for {most} channels of {port.packet_us} microseconds"
            yield Fault(file, (*place, "stream_channels"), message, str(port.stream_channels))
        elif port.stream_channels > PLAIN_STREAM:
            message = f"not every receiver takes more than {PLAIN_STREAM} channels of one stream"
            yield Fault(file, (*place, "stream_channels"), message, str(port.stream_channels), severity="warning")
    most_told = port.of_standard(family)
    for direction in DIRECTIONS:
        told = getattr(port.channels.get(family), SIDES[direction], 0)
        if most_told is not None and told > most_told:
            message = f"{told} {SIDES[direction]}; such a port has {most_told} at this rate, and that counts"
            yield Fault(file, (*place, "channels", family), message, str(told), severity="warning")
    if not any(port.carries(family, direction) for direction in DIRECTIONS) and (
        port.channels or most_told is not None
    ):
        yield Fault(file, (*place, "channels"), "carries nothing at this rate", family, severity="warning")


def _cable(file: str, place: Path, port: HostPort, board: Board, at: int, family: Family) -> Iterator[Fault]:
    """What both ends of a cable do not agree on; `at` counts the ports of its frame from 0."""
    count = len(board.host_port)
    if at >= count:
        message = f"{board.id} has {count} host port{'s' if count > 1 else ''}, and they are cabled already"
        yield Fault(file, (*place, "frame"), message, port.frame)
        return
    other = board.host_port[at]
    if other.kind != port.kind:
        message = f"{quote(other.name)} of {board.id} is of kind {quote(other.kind)}; both ends are of one kind"
        yield Fault(file, (*place, "kind"), message, port.kind)
    elif family != "48" and None not in (other.framing, port.framing) and other.framing != port.framing:
        message = f"{quote(other.name)} of {board.id} has {quote(other.framing or '')}; both ends share it at this rate"
        yield Fault(file, (*place, "framing"), message, port.framing)


def _overlapping(file: str, path: Path, room: Room, family: Family) -> Iterator[Fault]:
    """Numbers of the host that two ports have."""
    for direction in DIRECTIONS:
        taken: dict[int, str] = {}
        for port, first in first_numbers(room.host_port, family, direction):
            own = range(first, first + port.carries(family, direction))
            both = [number for number in own if number in taken]
            if both:
                message = f"{direction} {both[0]} of the host is on {quote(taken[both[0]])} already"
                yield Fault(file, (*path, "host_port", port.name, "first"), message, str(first))
                return
            taken.update(dict.fromkeys(own, port.name))
