"""What mends a build that was faulty before, one whose spare fails too, and what a repair does to wishes of needs."""

from __future__ import annotations

from pathlib import Path

from inside import strapwork
from samples import change

import solver

ROOT = Path(__file__).parents[2]
ROOM = ROOT / "scenarios/quay-live-room.toml"
STANDS = ROOT / "scenarios/quay-live-room-drawn.toml"
ASSET = '[[asset]]\ncard = "mic-8"\nserial = "0117"\nat = "shelf"\n'


def _room(folder: Path, *changes: tuple[str, str], more: str = "") -> Path:
    text = change(ROOM.read_text("utf-8"), "hardware/", f"{ROOT}/scenarios/hardware/")
    for old, new in changes:
        text = change(text, old, new)
    path = folder / "room.toml"
    path.write_text(text + more, "utf-8")
    return path


def _drawn(folder: Path, *changes: tuple[str, str]) -> Path:
    text = STANDS.read_text("utf-8")
    for old, new in changes:
        text = change(text, old, new)
    path = folder / "drawn.toml"
    path.write_text(text, "utf-8")
    return path


def test_what_was_short_before_is_not_bought_with_the_repair(tmp_path: Path) -> None:
    """One of two cards of headphone sends is missing: that is told at the top, and no order has one."""
    out = [('9 = "line-out-8", ', ""), ('    {need = "headphone sends", slot = 9, channels = "1-8"},\n', "")]
    stands = _drawn(tmp_path, *out)
    found = solver.failed(ROOM, stands, "slot:A:5")
    assert [fault.rule for fault in found.faults] == ["needs"]
    order = found.repairs[-1]
    assert (order.how, [(line.item, line.count) for line in order.order_lines]) == ("order", [("mic-8", 1)])
    assert [(card.card, card.after and card.after.slot) for card in order.cards] == [("mic-8", 5)]
    ran = strapwork("failed", ROOM, stands, "slot:A:5")
    assert (ran.returncode, ran.stdout.splitlines()[0][:16]) == (1, "FAULTY, 1 fault:")


def test_a_repair_that_mends_what_was_wrong_before_says_so(tmp_path: Path) -> None:
    """By hand: two more hot cards draw rail +5 over what it gives, and one of them comes out."""
    stands = _drawn(tmp_path, ('10 = "line-out-8"', '10 = "line-out-8", 11 = "mic-8-hot", 12 = "mic-8-hot"'))
    order = solver.failed(ROOM, stands, "slot:A:2").repairs[-1]
    assert {card.card: card.after is None for card in order.cards} == {"instrument-4": False, "mic-8-hot": True}
    (note,) = order.notes
    assert note.startswith("this mends what was wrong with the build, too: frame A: rail +5 carries")
    assert solver.failed(ROOM, STANDS, "slot:A:2").repairs[-1].notes == []


def test_nothing_is_lost_with_a_card_on_the_shelf_and_it_is_no_spare(tmp_path: Path) -> None:
    room = _room(tmp_path, ("[stock]\nmic-8 = 1", "[stock]\nmic-8 = 2"), more=ASSET)
    found = solver.failed(room, STANDS, "serial:0117")
    assert (found.affected, found.repairs) == ([], [])
    assert found.notes[0] == "mic-8 (serial 0117) is on the shelf: nothing is lost with it, and here it is no spare"
    assert strapwork("failed", room, STANDS, "serial:0117").returncode == 0
    whole = solver.failed(room, STANDS, "slot:A:3").repairs[1]
    assert (whole.outcome, whole.from_shelf, whole.text[:34]) == (
        "whole",
        {"mic-8": 1},
        "mic-8 (serial 0117) into slot 3 of",
    )
    both = solver.failed(room, STANDS, "slot:A:3", "serial:0117")
    assert len(both.affected) == 8
    assert both.repairs[1].text == "nothing on the shelf makes up for it"


def test_a_spare_that_is_out_of_service_already_is_not_counted_twice(tmp_path: Path) -> None:
    out = '[[out_of_service]]\nasset = "0117"\ndate = 2026-11-20\nsymptom = "hum"\nfound_by = "house technician"\n'
    room = _room(tmp_path, ("[stock]\nmic-8 = 1", "[stock]\nmic-8 = 3"), more=ASSET + out)
    assert solver.failed(room, STANDS, "slot:A:3", "serial:0117").repairs[1].outcome == "whole"
