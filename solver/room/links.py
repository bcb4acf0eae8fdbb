"""What frames are cabled to: ports of the recorder's interface, what of a frame's numbers they carry, and as what."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal, TypeAlias

from pydantic import Field, Strict

from solver.physics import link
from solver.room.hardware import Board, BoardPort, Framing, NumberLimit
from solver.room.words import DIRECTIONS, SIDES, Direction, Family, Flag, Id, Noun, Positive, Text

PacketTime = Literal[125, 250, 333, 1000, 4000]

Reach: TypeAlias = Mapping[Direction, int]
"""The last number of a frame that its host ports carry, by direction."""

STANDARD = ("madi", "aes3", "aes67")
"""Kinds whose channels follow from a standard; any other says how many it has."""


class HostPort(Noun):
    """A port of the recorder's interface, and the frame that is cabled to it; without `frame` none is.

    The ports of one frame carry its numbers one after the other. `first` is the host's number of a port's first
    channel; left out, it follows the port before it. `channels` are those of a kind that no standard tells, or fewer.
    What stands behind the frame of another port comes `through` that: its `channels` follow those of that frame.
    `varispeed` is of MADI; `streams` each way, `stream_channels` in each and `packet_us` are of AES67.
    """

    name: Text
    kind: Id
    frame: Text | None = None
    first: Positive | None = None
    channels: dict[Family, NumberLimit] = {}
    framing: Framing | None = None
    varispeed: Flag = False
    streams: Annotated[int, Strict(), Field(ge=1, le=1024)] | None = None
    stream_channels: Annotated[int, Strict(), Field(ge=1, le=120)] = link.PLAIN_STREAM
    packet_us: PacketTime = 1000
    through: Text | None = None

    def of_standard(self, family: Family) -> int | None:
        """Channels each way by its kind's standard; None where that says none."""
        if self.kind == "madi":
            return link.madi_channels(family, varispeed=self.varispeed)
        if self.kind == "aes3":
            return link.aes3_channels(family, two_lines=self.framing == "split")
        if self.kind == "aes67" and self.streams is not None:
            return self.streams * min(self.stream_channels, link.most_in_stream(self.packet_us, family))
        return None

    def carries(self, family: Family, direction: Direction) -> int:
        """Channels of a direction, whatever is cabled to it."""
        own = _told(self.channels, family, direction)
        known = [count for count in (own, self.of_standard(family)) if count is not None]
        return min(known, default=0)


def _told(channels: Mapping[Family, NumberLimit], family: Family, direction: Direction) -> int | None:
    """Channels that a file tells; a family that it does not name has none."""
    if not channels:
        return None
    own = channels.get(family)
    return 0 if own is None else int(getattr(own, SIDES[direction]))


@dataclass(frozen=True, slots=True)
class Cabled:
    """A port of the interface with the port of a board that it is cabled to; None where the board tells no ports."""

    port: HostPort
    of_board: BoardPort | None

    @property
    def unlike_framing(self) -> bool:
        """Whether both ends say how they frame channels of 96 kHz, and not the same."""
        board = self.of_board
        said = () if board is None else (board.framing, self.port.framing)
        return None not in said and len(set(said)) > 1

    def carries(self, family: Family, direction: Direction) -> int:
        """Channels of a direction that both ends carry."""
        board = self.of_board
        if board is not None and (board.kind != self.port.kind or (family != "48" and self.unlike_framing)):
            return 0
        own = self.port.carries(family, direction)
        told = None if board is None else _told(board.channels, family, direction)
        return own if told is None else min(own, told)


def cabled(ports: Sequence[HostPort], frame: str, board: Board) -> list[Cabled]:
    """The ports that a frame with a board is cabled to, in order; those for which the board has none are left out."""
    own = [port for port in ports if port.frame == frame and port.through is None]
    behind = [Cabled(port, None) for port in ports if port.frame == frame and port.through is not None]
    if not board.host_port:
        return [*(Cabled(port, None) for port in own), *behind]
    return [*(Cabled(port, of_board) for port, of_board in zip(own, board.host_port, strict=False)), *behind]


def reach(ports: Sequence[HostPort], frame: str, board: Board, family: Family) -> Reach | None:
    """The last number of each direction that comes to the host; None where no port names the frame."""
    if all(port.frame != frame for port in ports):
        return None
    own = cabled(ports, frame, board)
    return {d: sum(each.carries(family, d) for each in own) for d in DIRECTIONS}


def first_numbers(ports: Sequence[HostPort], family: Family, direction: Direction) -> Iterator[tuple[HostPort, int]]:
    """The host's number of each port's first channel; what comes through a port follows on what is cabled to it."""
    following = 1
    for port in ports:
        if port.through is None:
            following = port.first or following
            for each in (port, *(other for other in ports if other.through == port.name)):
                yield each, following
                following += each.carries(family, direction)


@dataclass(frozen=True, slots=True)
class HostChannel:
    """What a number of a frame is at the host: the port, the channel of it, counted from 1, and the host's number."""

    port: str
    channel: int
    number: int


def host_channels(
    ports: Sequence[HostPort], frame: str, board: Board, family: Family, direction: Direction
) -> list[HostChannel]:
    """What the numbers of a frame are at the host, from number 1 on; no more than come there."""
    firsts = {port.name: first for port, first in first_numbers(ports, family, direction)}
    found = []
    for each in cabled(ports, frame, board):
        port, first = each.port.through or each.port.name, firsts[each.port.name]
        before = first - firsts[port]
        for channel in range(each.carries(family, direction)):
            found.append(HostChannel(port, before + channel + 1, first + channel))
    return found
