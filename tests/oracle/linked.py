"""Which numbers of a frame come to the host, dealt out channel by channel to the ports that it is cabled to."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from solver.room.hardware import Board
from solver.room.links import HostPort
from solver.room.words import Family

Blocks = Sequence[tuple[int, int]]
"""First number and width of each slot."""

BY_STANDARD = {
    ("madi", "48"): 64,
    ("madi", "96"): 32,
    ("aes3", "48"): 2,
    ("aes3", "96"): 2,
    ("aes67", "48"): 8,
    ("aes67", "96"): 5,
}
"""Channels of a port, of AES67 in a stream of packets of 1 ms (AES10, AES3, AES67)."""


def that_come(
    ports: Sequence[HostPort], frame: str, board: Board, family: Family
) -> Callable[[str, Blocks], tuple[tuple[int, int], ...]]:
    """Blocks of a direction without the numbers that no port carries; of a frame without ports they stay whole."""
    own = [port for port in ports if port.frame == frame]

    def room(at: int, direction: str) -> int:
        port = own[at]
        if board.host_port and at >= len(board.host_port):
            return 0
        ends = [port.channels, *([board.host_port[at].channels] if board.host_port else [])]
        if board.host_port and board.host_port[at].kind != port.kind:
            return 0
        carried = [BY_STANDARD.get((port.kind, family), 999) * (port.streams or 1)]
        if port.varispeed:
            carried = [carried[0] * 56 // 64]
        for end in ends:
            if end:
                told = end.get(family)
                carried.append(0 if told is None else told.inputs if direction == "in" else told.outputs)
        return min(carried)

    def come(direction: str, blocks: Blocks) -> tuple[tuple[int, int], ...]:
        if not own:
            return tuple(blocks)
        on_ports = sum(room(at, direction) for at in range(len(own)))
        kept = [[n for n in range(first, first + width) if n <= on_ports] for first, width in blocks]
        return tuple((numbers[0], len(numbers)) if numbers else (0, 0) for numbers in kept)

    return come
