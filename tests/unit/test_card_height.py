"""The height of the cards within the draught's stack, as files give it."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from samples import HARDWARE, change, texts_of, write

from solver.physics.heat import margin_mk
from solver.room.airway import air_of
from solver.room.hardware import Chassis
from solver.room.scenario import Frame, RoomAir

DRAUGHT = 'air = { path = "draught", gap_area_cm2 = 38, opening_below_cm2 = 60, opening_above_cm2 = 60, stack_mm = 190'


def _hardware(card_mm: str) -> str:
    return change(HARDWARE, 'air = { path = "fan", flow_m3_h = 40 }', f"{DRAUGHT}{card_mm} }}")


def test_cards_are_not_higher_than_the_stack(tmp_path: Path) -> None:
    assert texts_of(write(tmp_path, hardware=_hardware(", card_mm = 190.5"))) == [
        'chassis "petrel-12" > air > card_mm: must be at most stack_mm, 190'
    ]


def test_cards_without_height_are_none(tmp_path: Path) -> None:
    assert texts_of(write(tmp_path, hardware=_hardware(", card_mm = 0"))) == [
        'chassis "petrel-12" > air > card_mm: must be more than 0, found 0'
    ]


def test_a_fan_has_no_height_of_cards(tmp_path: Path) -> None:
    fan = change(HARDWARE, "flow_m3_h = 40 }", "flow_m3_h = 40, card_mm = 100 }")
    assert len(texts_of(write(tmp_path, hardware=fan))) == 1


def _margin(**air: object) -> int:
    path = {"path": "draught", "gap_area_cm2": 38, "opening_below_cm2": 60, "opening_above_cm2": 60, "stack_mm": 190}
    chassis = Chassis.model_validate({"id": "c", "slot_count": 12, "boards": ["b"], "air": {**path, **air}})
    room = RoomAir(inlet_c=Decimal(27), altitude_m=Decimal(0))
    stream = air_of(Frame(name="A", chassis="c"), chassis, room)
    assert stream is not None
    return margin_mk(stream, 55_000, 14_845)


def test_the_key_reaches_the_formula() -> None:
    # 14.845 W is the heat of 20 K worked by hand in physics/test_column.py; low cards in the same stack pull harder.
    assert abs(_margin() - 8_000) < 10
    assert _margin(card_mm=Decimal(190)) == _margin()
    assert _margin(card_mm=Decimal(95)) > _margin() + 2_000
