"""Where looms go on bays, by hand: whole where an order alone would cut them, and what is said where that is open."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from solver.handover import closest
from solver.handover.filling import Chunk, Filled, filled
from solver.room.bays import Bay, Rear
from solver.room.points import Piece


def _bay(rows: int, points: int, block: int = 1, **keep: str) -> Bay:
    rear = None if block == 1 else Rear(connector="multi", block=block)
    return Bay(name="P", signals=("line",), rows=rows, points=points, gauge="bantam", rear=rear, keep=keep)


def _looms(*sizes: int) -> list[Chunk]:
    piece = Piece("in", frozenset({"line"}), 1)
    return [Chunk((n,), piece, {}) for n, size in enumerate(sizes) for _ in range(size)]


def _places(found: Filled, chunks: Sequence[Chunk]) -> list[list[tuple[int, int]]]:
    """Pair of rows and point of each piece of each loom."""
    at = {chunk: (block.pair, block.first) for block, chunk in found.on.items()}
    return [[at[c] for c in chunks if c.loom == loom and c in at] for loom in dict.fromkeys(c.loom for c in chunks)]


def test_a_loom_gives_way_to_one_that_would_be_cut() -> None:
    """In order, 2 would go after 1 on the first row, and 4 have no row of its own."""
    chunks = _looms(1, 2, 4, 3)
    found = filled([_bay(4, 5)], chunks)
    assert found.settled
    assert _places(found, chunks) == [
        [(1, 1)],
        [(2, 1), (2, 2)],
        [(1, 2), (1, 3), (1, 4), (1, 5)],
        [(2, 3), (2, 4), (2, 5)],
    ]


def test_of_looms_that_have_to_be_cut_the_pieces_are_close() -> None:
    """Twelve of three on rows of four: what is left of each row follows what is left of the next one, if at all."""
    chunks = _looms(3, 3, 2)
    found = filled([_bay(4, 4)], chunks)
    assert found.settled
    assert _places(found, chunks)[2] == [(1, 4), (2, 1)]


@pytest.mark.parametrize("most", [0, 3])
def test_what_takes_too_long_is_said(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    monkeypatch.setattr(closest, "MOST_STATES", most)
    chunks = _looms(1, 2, 4, 3)
    found = filled([_bay(4, 5)], chunks)
    assert not found.settled
    assert len(found.on) == 10
