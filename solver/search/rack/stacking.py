"""How little cable things need that are stacked as near to each other as the rules let them be: a bound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from solver.racks.pieces import Piece, RackStand

MOST_STACKED = 11
"""Things that cables join, directly or not, up to which they are stacked in every order."""


def joined(stand: RackStand) -> Iterator[tuple[list[Piece], Counter[tuple[int, int]]]]:
    """Things that cables join, directly or not, and how many go from one to another of them by their places there."""
    groups = [{piece.name} for piece in stand.pieces]
    for run in stand.runs:
        ours = [group for group in groups if group & set(run.ends)]
        groups = [group for group in groups if group not in ours] + [set().union(*ours)]
    for group in sorted(groups, key=min):
        pieces = [piece for piece in stand.pieces if piece.name in group]
        place = {piece.name: n for n, piece in enumerate(pieces)}
        counts: Counter[tuple[int, int]] = Counter()
        for run in stand.runs:
            if run.ends[0] in group:
                one, other = sorted(place[end] for end in run.ends)
                counts[one, other] += run.count
        if counts:
            yield pieces, counts


def least_cable(pieces: Sequence[Piece], counts: Counter[tuple[int, int]]) -> int:
    """The least that all cables of a group come to, in half units from middle to middle.

    Held and Karp's recursion over which of them stand below: what is added on the way up from one middle to the next
    is that way for each cable with one end below.
    """
    every = range(len(pieces))
    fed = {piece.name: n for n, piece in enumerate(pieces)}
    needs = [0] * len(pieces)
    for n, piece in enumerate(pieces):
        if piece.feeds in fed:
            needs[fed[piece.feeds]] |= 1 << n
    open_ends = [
        sum(count for (one, other), count in counts.items() if (below >> one & 1) != (below >> other & 1))
        for below in range(1 << len(pieces))
    ]
    least: list[dict[int, int]] = [{} for _ in range(1 << len(pieces))]
    for n in every:
        if not needs[n]:
            least[1 << n][n] = 0
    for below, reached in enumerate(least):
        for last, cost in reached.items():
            for n in every:
                if below >> n & 1 or needs[n] & ~below:
                    continue
                far = pieces[last].height_u + pieces[n].height_u + 2 * _between(pieces[last], pieces[n])
                more = cost + far * open_ends[below]
                own = least[below | 1 << n]
                own[n] = min(more, own.get(n, more))
    return min(least[-1].values(), default=0)


def _between(lower: Piece, higher: Piece) -> int:
    """Units that stay free between two things that stand directly above each other."""
    return int(lower.draught or higher.draught or lower.feeds == higher.name)
