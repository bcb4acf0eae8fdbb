"""What a margin asks of counts of cards, against every order in which these cards can stand in the slots of a frame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, permutations, product
from typing import Any, cast

import generated_rooms
import pytest

from solver.room.kind import Kind
from solver.room.ready import survey_room
from solver.room.survey import FrameSite, Survey
from solver.rules.cooling import Cooling, too_hot
from solver.rules.limit import Cell, Draft, Limit, Load, Seat

MARGIN_MK = 6000
SURVEY = survey_room(*generated_rooms.generated(1, frames=1, slots=12))
KINDS = [SURVEY.kinds[card] for card in ("k07-aes3-out-8", "k18-talkback-out-4", "k00-mic-in-8", "k10-mic-in-4")]
"""One that few may stand beside, one that some may, one that most may, and one that stands beside any."""


@dataclass
class Runs:
    """Cards of each kind counted over runs of slots; rows are written down."""

    cells_: Sequence[Cell]
    survey: Survey = SURVEY
    kinds: Sequence[Kind] = field(default_factory=lambda: KINDS)
    rows: list[tuple[Load, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.over = {
            cell.slots[0]: [
                Seat(cell.site, cell.slots[0], kind, cast("Any", (cell.slots[0], kind.id))) for kind in KINDS
            ]
            for cell in self.cells_
        }

    def layouts(self, site: FrameSite) -> list[tuple[object, int]]:
        return [(site.candidates[0], 1)]

    def seats(self, site: FrameSite, board: str) -> list[Seat]:
        return [seat for own in self.over.values() for seat in own]

    def cells(self, site: FrameSite, board: str) -> Sequence[Cell]:
        return self.cells_

    def covering(self, cell: Cell) -> list[tuple[int, Seat]]:
        return [(1, seat) for seat in self.over[cell.slots[0]]]

    def hold(self, limit: Limit, load: Load, cell: Cell | None = None, *, whole: bool = False) -> None:
        self.rows.append((load, limit.bound))


def _stand(site: FrameSite, board: str, lengths: Sequence[int], counts: Sequence[Sequence[int]]) -> bool:
    """Whether so many cards of each kind in each run can stand in some order."""
    apart = too_hot(site, board, KINDS, MARGIN_MK)

    def orders(length: int, own: Sequence[int]) -> set[tuple[str, ...]]:
        cards = [kind.id for kind, n in zip(KINDS, own, strict=True) for _ in range(n)]
        return set(permutations(cards + [""] * (length - len(cards))))

    def cool(order: Sequence[str]) -> bool:
        return not any(
            (left in c.lefts and right in c.rights) for left, right in pairwise(order) for c in apart.clashes
        )

    every = [orders(length, own) for length, own in zip(lengths, counts, strict=True)]
    return any(cool([card for own in chosen for card in own]) for chosen in product(*every))


def _counts(lengths: Sequence[int]) -> Iterator[list[tuple[int, ...]]]:
    of_run = [
        [own for own in product(range(length + 1), repeat=len(KINDS)) if sum(own) <= length] for length in lengths
    ]
    for chosen in product(*of_run):
        yield list(chosen)


@pytest.mark.parametrize("lengths", [(1,), (2,), (3,), (4,), (5,), (2, 1), (2, 2)])
def test_counts_that_can_stand_are_those_that_rows_allow(lengths: tuple[int, ...]) -> None:
    site = SURVEY.frames[0]
    board = site.candidates[0].board
    firsts = [1 + sum(lengths[:n]) for n in range(len(lengths))]
    cells = [Cell(site, range(f, f + length)) for f, length in zip(firsts, lengths, strict=True)]
    runs = Runs(cells)
    limit = next(limit for limit in Cooling().at(SURVEY, MARGIN_MK))
    Cooling().relax(cast("Draft", runs), limit)
    assert not too_hot(site, board, KINDS, MARGIN_MK).alone
    assert runs.rows
    allowed = missed = forbidden = 0
    for counts in _counts(lengths):
        value = {
            (first, kind.id): n
            for first, own in zip(firsts, counts, strict=True)
            for kind, n in zip(KINDS, own, strict=True)
        }
        kept = all(sum(amount * value[cast("Any", term)] for amount, term in load) <= most for load, most in runs.rows)
        can = _stand(site, board, lengths, counts)
        assert kept or not can, counts
        allowed += can
        forbidden += not kept
        missed += kept and not can
    assert allowed
    assert not missed
    assert forbidden or sum(lengths) == 1
