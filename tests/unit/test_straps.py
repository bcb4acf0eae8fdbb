"""Numbering, against examples worked by hand, and laws that hold for any board."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.room.hardware import Board
from solver.room.straps import Block, lay_out, layouts, legal_settings, number


def _runs(blocks: tuple[Block, ...]) -> list[tuple[int, int] | None]:
    return [(b.first, b.first + b.width - 1) if b.width else None for b in blocks]


def _board(**changes: object) -> Board:
    plain = {
        "id": "board",
        "limits": {"48": {"in": 64, "out": 64}},
        "inputs": {"first_slot": 1, "widths": 8},
        "outputs": {"first_slot": 5, "widths": 8},
    }
    return Board.model_validate({**plain, **changes})


# Worked by hand; common practice, no source.


def test_slots_past_the_limit_get_no_numbers() -> None:
    assert _runs(number(1, [8] * 6, 32, drop=False)) == [(1, 8), (9, 16), (17, 24), (25, 32), None, None]


def test_uneven_widths_run_on() -> None:
    assert number(1, [8] * 3 + [4] * 5, 64, drop=False)[6].first == 3 * 8 + 3 * 4 + 1 == 37


def test_outputs_begin_in_their_first_slot() -> None:
    blocks = number(6, [8] * 8, 64, drop=False)
    assert _runs(blocks[:5]) == [None] * 5
    assert blocks[7].first == 17


@pytest.mark.parametrize(("drop", "fourth"), [(False, (41, 44)), (True, None)])
def test_a_block_that_crosses_the_limit_is_cut_or_dropped(drop: bool, fourth: tuple[int, ...] | None) -> None:
    assert _runs(number(1, [16, 16, 8, 8, 8], 44, drop=drop)) == [(1, 16), (17, 32), (33, 40), fourth, None]


@given(st.integers(1, 9), st.lists(st.integers(0, 20), min_size=1, max_size=12), st.integers(0, 99), st.booleans())
def test_numbers_never_overlap_skip_or_pass_the_limit(
    first_slot: int, widths: list[int], limit: int, drop: bool
) -> None:
    blocks = number(first_slot, widths, limit, drop=drop)
    numbers = [n for block in blocks for n in block.numbers if block.width]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) == min(limit, sum(widths[first_slot - 1 :])) or drop
    assert len(numbers) <= limit
    assert all(block.width in (0, width) or not drop for block, width in zip(blocks, widths, strict=True))


GROUPS = [
    {
        "name": "width",
        "kind": "links",
        "straps": ["W1", "W2"],
        "setting": [{"closed": ["W1"], "inputs": {"widths": 4}}, {"closed": ["W1", "W2"], "inputs": {"widths": 16}}],
    },
    {
        "name": "start",
        "kind": "switch",
        "setting": [
            {"position": "1", "outputs": {"first_slot": 3}},
            {"position": "2", "outputs": {"first_slot": 6}},
        ],
    },
    {
        "name": "clock",
        "kind": "links",
        "straps": ["C1"],
        "setting": [{"closed": ["C1"]}],
        "wanted": "C1",
    },
]


def test_open_is_a_setting_and_groups_that_change_nothing_are_not_searched() -> None:
    found = [{g: s.name for g, s in c.items()} for c in legal_settings(_board(strap_group=GROUPS))]
    assert [(c["width"], c["start"], c["clock"]) for c in found] == [
        (width, start, "C1") for width in ("open", "W1", "W1+W2") for start in ("1", "2")
    ]


def test_open_can_be_illegal_and_combinations_can_be_banned() -> None:
    groups = [{**GROUPS[0], "open_is_legal": False}, GROUPS[1]]
    board = _board(strap_group=groups, never_together=[{"width": "W1", "start": "2"}])
    found = [(c["width"].name, c["start"].name) for c in legal_settings(board)]
    assert found == [("W1", "1"), ("W1+W2", "1"), ("W1+W2", "2")]


def test_what_the_scenario_asks_of_a_silent_group_is_set() -> None:
    board = _board(strap_group=GROUPS)
    assert {dict(layout.straps)["clock"] for layout in layouts(board, 4, "48", {"clock": "open"})} == {"open"}


def test_a_setting_overrides_only_what_it_names() -> None:
    board = _board(strap_group=GROUPS)
    settings = {g.name: next(s for s in g.settings() if s.name != "open") for g in board.strap_group[:2]}
    layout = lay_out(board, 4, "48", settings)
    assert _runs(layout.inputs) == [(1, 4), (5, 8), (9, 12), (13, 16)]
    assert _runs(layout.outputs) == [None, None, (1, 8), (9, 16)]
    assert layout.closed == 1


def test_a_family_without_limits_numbers_nothing() -> None:
    board = _board()
    assert _runs(lay_out(board, 3, "96", {}).inputs) == [None] * 3
