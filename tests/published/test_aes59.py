"""The pinouts that every scenario knows, against the published ones."""

from __future__ import annotations

from solver.room.pinouts import published
from solver.room.words import Direction

AES59 = {1: "24/12/25", 2: "10/23/11", 3: "21/9/22", 4: "7/20/8", 5: "18/6/19", 6: "4/17/5", 7: "15/3/16", 8: "1/14/2"}
"""AES59, 25-pin D-sub, pins of hot/cold/shield for analogue channels 1-8, written down from a text that quotes it."""


def _pins(pinout: str, direction: Direction) -> dict[int, str]:
    """By channel of one direction, hot, cold and shield."""
    table = published()[pinout]
    lines = {n: table.wires(direction, n) for n in range(1, 17)}
    return {n: f"{w.hot}/{w.cold}/{w.shield}" for n, w in lines.items() if w is not None}


def test_eight_analogue_channels_of_one_direction_have_the_published_pins() -> None:
    assert _pins("aes59", "in") == _pins("aes59", "out") == AES59


def test_digital_inputs_have_the_pins_of_channels_1_to_4_and_outputs_those_of_5_to_8() -> None:
    ways: dict[str, tuple[Direction, Direction]] = {
        "aes59-digital": ("in", "out"),
        "aes59-digital-crossed": ("out", "in"),
    }
    for pinout, (first, second) in ways.items():
        for way, skipped in ((first, 0), (second, 4)):
            lines = {n: AES59[(n + 1) // 2 + skipped] for n in range(1, 9)}  # two channels a line
            assert _pins(pinout, way) == lines


def test_pin_13_alone_is_not_used() -> None:
    for table in published().values():
        used = [pin for wires in table.lines for pin in wires.pins]
        assert len(used) == len(set(used)) == 24
        assert sorted([*used, "13"], key=int) == [str(n) for n in range(1, 26)]
        assert table.unused == ("13",)


def test_a_straight_cable_between_two_digital_tables_joins_outputs_to_outputs() -> None:
    """So the other end of a straight one has the crossed table: there every pin is the same line the other way."""
    digital, crossed = published()["aes59-digital"], published()["aes59-digital-crossed"]
    assert (digital.mates, crossed.mates) == (crossed.id, digital.id)
    assert published()["aes59"].mates is None
    outputs = {w.hot for w in digital.lines if w.direction == "out"}
    assert outputs == {w.hot for w in crossed.lines if w.direction == "in"}
