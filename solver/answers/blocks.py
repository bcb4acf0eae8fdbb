"""Every legal setting of the boards of a hardware file, and the numbers that it gives each slot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solver.reports.blocks import BlocksReport, board_report
from solver.reports.element import file_warnings
from solver.room.errors import WrongQuestion
from solver.room.faults import Fault, nearest
from solver.room.hardware import Board, Hardware
from solver.room.silent import changes_numbers
from solver.room.straps import Layout, layouts
from solver.room.words import SAMPLE_RATES


@dataclass(frozen=True)
class Fitted:
    """A board in a chassis with all its layouts at a sample rate in hertz."""

    chassis: str
    board: Board
    sample_rate: int
    layouts: Sequence[Layout]

    @property
    def runs(self) -> bool:
        """Whether the board has limits for the rate."""
        return SAMPLE_RATES[self.sample_rate] in self.board.limits

    @property
    def silent(self) -> list[str]:
        """Strap groups that change no number."""
        return [group.name for group in self.board.strap_group if not changes_numbers(group)]


def fitted(hardware: Hardware, file: str, chassis: str | None, board: str | None, sample_rate: int) -> list[Fitted]:
    """Every board in every chassis that takes it, or only those that are asked for.

    Raises
    ------
    WrongQuestion
        If there is no chassis or board of the name asked for, or no such sample rate.
    """
    for about, asked, known in (
        ("chassis", chassis, [c.id for c in hardware.chassis]),
        ("board", board, [b.id for b in hardware.board]),
    ):
        if asked is not None and asked not in known:
            near = nearest(asked, known)
            also = f'; did you mean "{near}"?' if near else ""
            raise WrongQuestion(f'"{asked}" is not in {file}{also}', about=about)
    if sample_rate not in SAMPLE_RATES:
        raise WrongQuestion(
            f"{sample_rate} is no known sample rate ({', '.join(map(str, SAMPLE_RATES))})", about="rate"
        )
    return list(_fitted(hardware, chassis, board, sample_rate))


def _fitted(hardware: Hardware, chassis: str | None, board: str | None, sample_rate: int) -> Iterator[Fitted]:
    boards = {b.id: b for b in hardware.board}
    for model in hardware.chassis:
        for name in model.boards:
            if name in boards and chassis in (None, model.id) and board in (None, name):
                found = layouts(boards[name], model.slot_count, SAMPLE_RATES[sample_rate])
                yield Fitted(model.id, boards[name], sample_rate, found)


def blocks(boards: Sequence[Fitted], warnings: Sequence[Fault]) -> BlocksReport:
    """The boards as the report has them."""
    return BlocksReport(
        boards=[board_report(one.chassis, one.board.id, one.sample_rate, one.layouts) for one in boards],
        warnings=file_warnings(warnings),
    )
