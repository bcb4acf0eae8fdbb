"""The screen of blocks: each setting and the numbers of each slot, alike empty slots merged."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text

from cli.screen.page import indented, labelled, page
from solver.answers.blocks import Fitted
from solver.reports.wording import kilohertz
from solver.room.straps import Block
from solver.room.words import write_ranges


def show_blocks(boards: Sequence[Fitted]) -> None:
    """Print every setting of every board in every chassis."""
    with page() as out:
        for index, one in enumerate(boards):
            if index:
                out.print()
            out.print(Text(f"{one.chassis} with {one.board.id} at {kilohertz(one.sample_rate)}", "bold"))
            if not one.runs:
                out.print(indented(Text("this board has no limits for that rate")))
                continue
            if one.silent:
                out.print(indented(Text(f"changes no numbers: {', '.join(one.silent)}")))
            for layout in one.layouts:
                said = ", ".join(f"{g} {s}" for g, s in layout.straps if g not in one.silent) or "no straps"
                out.print(indented(Text(said, "bold")))
                rows = [("  in", _sentence(layout.inputs)), ("  out", _sentence(layout.outputs))]
                out.print(indented(labelled(rows)))


def _sentence(blocks: Sequence[Block]) -> str:
    """Slots with their numbers: ``1: 1-16  2: 17-32  3-12: none``."""
    parts: list[str] = []
    empty: list[int] = []
    for slot, block in enumerate([*blocks, None], start=1):
        if block is not None and not block.width:
            empty.append(slot)
            continue
        if empty:
            parts.append(f"{write_ranges(empty)}: none")
            empty = []
        if block is not None:
            parts.append(f"{slot}: {write_ranges(list(block.numbers))}")
    return "; ".join(parts)
