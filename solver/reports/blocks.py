"""What each strap setting of a board numbers, as a document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from pydantic import Field

from solver.reports.element import Element, FileFault
from solver.room.straps import Block, Layout


class SettingReport(Element):
    """One legal setting of a board. `in` and `out` have the first number and the width of each slot, slot 1 first.

    A slot without numbers has width 0.
    """

    straps: dict[str, str]
    inputs: list[list[int]] = Field(alias="in")
    outputs: list[list[int]] = Field(alias="out")


class BoardReport(Element):
    """A board in a chassis at a sample rate in hertz, with every legal setting."""

    chassis: str
    board: str
    sample_rate: int
    settings: list[SettingReport]


class BlocksReport(Element):
    """The answer to `blocks`. `warnings` are those about the hardware file."""

    format: Literal[1] = 1
    boards: list[BoardReport]
    warnings: list[FileFault] = []


def board_report(chassis: str, board: str, sample_rate: int, layouts: Sequence[Layout]) -> BoardReport:
    """A board with all its layouts."""
    return BoardReport(
        chassis=chassis,
        board=board,
        sample_rate=sample_rate,
        settings=[
            SettingReport(straps=dict(layout.straps), inputs=_plain(layout.inputs), outputs=_plain(layout.outputs))
            for layout in layouts
        ],
    )


def _plain(blocks: Sequence[Block]) -> list[list[int]]:
    return [[block.first, block.width] for block in blocks]
