"""Boards with many settings: numbers are worked out once for all that agree, and too many are refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from largest import STRAPS, Size, write

from solver.files.reading import load_scenario
from solver.room.faults import FileFaults
from solver.room.ready import survey_room
from solver.room.straps import lay_out, layouts, legal_settings
from solver.room.words import MOST_ITEMS, MOST_SLOTS


def test_a_layout_is_the_same_alone_and_among_all(tmp_path: Path) -> None:
    hardware = load_scenario(write(tmp_path, replace(STRAPS, combinations=64))).hardware
    board = hardware.board[0]
    alone = [lay_out(board, 20, "48", settings) for settings in legal_settings(board)]
    assert layouts(board, 20, "48") == alone
    assert len({(layout.inputs, layout.outputs) for layout in alone}) == 64


def test_frames_that_may_be_set_alike_share_their_layouts(tmp_path: Path) -> None:
    loaded = load_scenario(write(tmp_path, replace(STRAPS, frames=30)))
    sites = survey_room(loaded.scenario, loaded.hardware).frames
    assert [len(site.layouts) for site in sites] == [4096] * 30
    assert all(site.layouts is sites[0].layouts for site in sites)


def test_more_settings_than_can_be_laid_out_are_refused(tmp_path: Path) -> None:
    size = Size(kinds=4, needs=2, slots=MOST_SLOTS, frames=MOST_ITEMS, signals=2, combinations=1024, boards=20)
    scenario = write(tmp_path, size)
    with pytest.raises(FileFaults) as refused:
        load_scenario(scenario)
    assert (
        refused.value.render()
        == f"""\
{scenario}: 1 fault
  frame: frames with the boards that they may take make 20480 combinations of
    settings; must be at most 20000: say which boards they have"""
    )
    text = scenario.read_text(encoding="utf-8").replace('chassis = "f"', 'chassis = "f"\nboard = "b1"')
    Path(scenario).write_text(text, encoding="utf-8")
    assert len(load_scenario(scenario).scenario.frame) == MOST_ITEMS
