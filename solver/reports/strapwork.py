"""What is done to each strap group of a frame, and what that does to the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from solver.reports.report import StrapWork
from solver.room.hardware import Blocks, Board, StrapGroup
from solver.room.silent import changes_numbers
from solver.room.straps import SIDES
from solver.room.words import DIRECTIONS, parse_ranges, write_ranges

ONE = {"inputs": "input", "outputs": "output"}


def strap_work(board: Board, slot_count: int, straps: Mapping[str, str]) -> list[StrapWork]:
    """For each strap group of a board what to close, leave open or set, in the board's order.

    Parameters
    ----------
    straps
        The chosen setting of each group, by name; a group without one is told as a question.
    """
    found = []
    for group in board.strap_group:
        setting = next((s for s in group.settings() if s.name == straps.get(group.name)), None)
        closed = [s for s in group.straps if setting is not None and s in (setting.closed or ())]
        found.append(
            StrapWork(
                group=group.name,
                setting=None if setting is None else setting.name,
                close=closed,
                leave_open=[] if setting is None else [s for s in group.straps if s not in closed],
                position=None if setting is None else setting.position,
                effect="; ".join(_effects(board, slot_count, group, setting.name)) if setting is not None else "",
            )
        )
    return found


def _effects(board: Board, slot_count: int, group: StrapGroup, name: str) -> Iterator[str]:
    """What a setting decides, with the board's own values where it leaves them."""
    if not changes_numbers(group):
        yield "changes no number"
        return
    chosen = next(s for s in group.settings() if s.name == name)
    for direction in DIRECTIONS:
        side = SIDES[direction]
        own: Blocks = getattr(board, side)
        given: Blocks = getattr(chosen, side)
        others: list[Blocks] = [getattr(s, side) for s in group.settings()]
        if any(blocks.first_slot is not None for blocks in others):
            first = given.first_slot if given.first_slot is not None else own.first_slot
            yield f"{side} begin in slot {first or 1}"
        if any(blocks.widths is not None for blocks in others):
            widths = given.widths if given.widths is not None else own.widths
            yield _widths(ONE[side], Blocks(widths=widths), slot_count)


def _widths(way: str, blocks: Blocks, slot_count: int) -> str:
    if blocks.widths is None or isinstance(blocks.widths, int):
        return f"{blocks.widths or 'no'} {way} numbers a slot"
    said = []
    for run in blocks.widths:
        slots = [slot for slot in parse_ranges(run.slots) if slot <= slot_count]
        if slots:
            said.append(f"{run.width} in slot{'s' if len(slots) > 1 else ''} {write_ranges(slots)}")
    return f"{way} numbers {', '.join(said)}" if said else f"no {way} numbers"
