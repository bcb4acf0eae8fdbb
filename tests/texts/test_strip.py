"""The strip that draws a frame: to scale, from its rear, numbers under each card, whole."""

from __future__ import annotations

import pytest

from cli.screen.strip import strip
from solver.reports.report import FrameReport, Slot


def frame(slots: list[Slot], hottest: tuple[int, ...] = (), slot_1: str = "left") -> FrameReport:
    return FrameReport.model_validate(
        {"name": "A", "room": None, "chassis": "c", "board": "b", "straps": {}, "cards": {}, "slot_1": slot_1,
         "slots": slots, "cooling": {"margin_k": 9.0, "slots": list(hottest)}}
    )  # fmt: skip


def card(name: str, *slots: int, inputs: str = "-", outputs: str = "-") -> Slot:
    return Slot.model_validate({"slots": list(slots), "card": name, "in": inputs, "out": outputs})


def empty(*slots: int) -> Slot:
    return Slot(slots=list(slots), card=None)


FOUR = [
    card("line-in-8", 1, inputs="1-8"),
    card("line-out-16", 2, 3, outputs="1-16"),
    empty(4),
]


def drawn(shown: FrameReport, columns: int) -> str:
    return "\n".join(strip(shown, columns)) + "\n"


def test_a_card_of_two_slots_is_twice_as_wide_and_the_hottest_gap_is_marked() -> None:
    assert (
        drawn(frame(FOUR, (1, 2)), 50)
        == """\
seen from the rear, slot 1 on the left
slot |    1     |         2-3         |    4     |
     +----------+---------------------+----------+
card |line-in-8 |     line-out-16     |  empty   |
in   |   1-8    |                     |          |
out  |          |        1-16         |          |
     +----------+---------------------+----------+
                ^ hottest gap
"""
    )


def test_seen_from_the_rear_slot_1_may_be_on_the_right() -> None:
    assert (
        drawn(frame(FOUR, (1,), "right"), 50)
        == """\
seen from the rear, slot 1 on the right
slot |    4     |         2-3         |    1     |
     +----------+---------------------+----------+
card |  empty   |     line-out-16     |line-in-8 |
in   |          |                     |   1-8    |
out  |          |        1-16         |          |
     +----------+---------------------+----------+
                                hottest gap ^
"""
    )


def test_flat_cards_are_drawn_turned_from_slot_1_on() -> None:
    for side in ("top", "bottom"):
        lines = strip(frame(FOUR, (1, 2), side), 50)
        assert lines == [f"seen from the rear, turned: {side} on the left", *strip(frame(FOUR, (1, 2)), 50)[1:]]


def test_sixteen_slots_fit_into_eighty_columns_with_letters_for_names_and_numbers_below_each_other() -> None:
    slots = [card("mic-8" if n % 2 else "line-in-8", n, inputs=f"{8 * n - 7}-{8 * n}") for n in range(1, 17)]
    assert (
        drawn(frame(slots, (4, 5)), 78)
        == """\
seen from the rear, slot 1 on the left
slot | 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9 |10 |11 |12 |13 |14 |15 |16 |
     +---+---+---+---+---+---+---+---+---+---+---+---+---+---+---+---+
card | a | b | a | b | a | b | a | b | a | b | a | b | a | b | a | b |
in   | 1 | 9 |17 |25 |33 |41 |49 |57 |65 |73 |81 |89 |97 |105|113|121|
 to  | 8 |16 |24 |32 |40 |48 |56 |64 |72 |80 |88 |96 |104|112|120|128|
out  |   |   |   |   |   |   |   |   |   |   |   |   |   |   |   |   |
     +---+---+---+---+---+---+---+---+---+---+---+---+---+---+---+---+
                     ^ hottest gap
     a mic-8, b line-in-8
"""
    )


def test_beyond_sixteen_slots_it_takes_two_rows_and_a_card_across_them_is_drawn_in_both() -> None:
    slots = [card("mic-8", 1, inputs="1-8"), empty(*range(2, 10)), card("line-out-16", 10, 11, outputs="1-16")]
    slots.append(empty(*range(12, 21)))
    assert (
        drawn(frame(slots), 78)
        == """\
seen from the rear, slot 1 on the left
slot |  1   |  2   |  3   |  4   |  5   |  6   |  7   |  8   |  9   |  10  |
     +------+------+------+------+------+------+------+------+------+------+
card |mic-8 |empty |empty |empty |empty |empty |empty |empty |empty |line- |
     |      |      |      |      |      |      |      |      |      |out-16|
in   | 1-8  |      |      |      |      |      |      |      |      |      |
out  |      |      |      |      |      |      |      |      |      | 1-16 |
     +------+------+------+------+------+------+------+------+------+------+
slot |  11  |  12  |  13  |  14  |  15  |  16  |  17  |  18  |  19  |  20  |
     +------+------+------+------+------+------+------+------+------+------+
card |line- |empty |empty |empty |empty |empty |empty |empty |empty |empty |
     |out-16|      |      |      |      |      |      |      |      |      |
in   |      |      |      |      |      |      |      |      |      |      |
out  | 1-16 |      |      |      |      |      |      |      |      |      |
     +------+------+------+------+------+------+------+------+------+------+
"""
    )


@pytest.mark.parametrize("room", range(20, 131))
@pytest.mark.parametrize("count", [1, 4, 9, 16, 20, 64])
def test_no_line_is_longer_than_there_is_room_whatever_the_frame(room: int, count: int) -> None:
    slots = [card(f"a-card-with-a-long-name-{n}", n, inputs=f"{16 * n - 15}-{16 * n}") for n in range(1, count + 1)]
    lines = strip(frame(slots, (1,)), room)
    assert all(len(line) <= max(room, 39) and line.isascii() for line in lines)
    digits = max(3, len(str(16 * count)))
    assert bool(lines) == (room >= 6 + 4 * (digits + 1))
