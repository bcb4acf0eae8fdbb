"""What mends a build that was faulty before, one whose spare fails too, and what a repair does to wishes of needs."""

from __future__ import annotations

from pathlib import Path

from inside import strapwork
from samples import change

import solver
from solver.room.words import parse_ranges

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


def test_a_new_card_is_not_the_one_on_the_shelf_that_has_failed(tmp_path: Path) -> None:
    offer = '[[offer]]\ncard = "mic-8"\nprice = "1.00"\n'
    room = _room(tmp_path, ("[stock]\nmic-8 = 1", "[stock]\nmic-8 = 2"), more=ASSET + offer)
    order = solver.failed(room, STANDS, "slot:A:3", "serial:0117").repairs[-1]
    assert (order.how, [(card.card, card.serial) for card in order.cards]) == ("order", [("mic-8", None)])
    assert order.text.startswith("mic-8 into slot 3 of A")


def test_a_spare_that_is_out_of_service_already_is_not_counted_twice(tmp_path: Path) -> None:
    out = '[[out_of_service]]\nasset = "0117"\ndate = 2026-11-20\nsymptom = "hum"\nfound_by = "house technician"\n'
    room = _room(tmp_path, ("[stock]\nmic-8 = 1", "[stock]\nmic-8 = 3"), more=ASSET + out)
    assert solver.failed(room, STANDS, "slot:A:3", "serial:0117").repairs[1].outcome == "whole"


def _stereo(
    folder: Path, *, cards: int, mono: str, latency: tuple[int, int] = (5, 5), wish: str = "pairs = true"
) -> Path:
    """Cards of four lines, in slot 1 `stereo` with a wish, in slot 2 `mono` on some of them, others idle."""
    models = "".join(
        f'[[card]]\nid = "line-{n}"\nlatency_samples = {{ "48" = {samples} }}\n'
        'ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]\n'
        for n, samples in enumerate(latency, 1)
    )
    (folder / "cards.toml").write_text(
        f"""format = 1
{models}
[[board]]
id = "plain"
limits = {{ "48" = {{ in = 16, out = 16 }} }}
at_limit = "cut"
inputs = {{ first_slot = 1, widths = 4 }}
outputs = {{ first_slot = 1, widths = 4 }}
[[chassis]]
id = "four"
slot_count = 4
boards = ["plain"]
"""
    )
    count = len(parse_ranges(mono))
    (folder / "stereo.toml").write_text(
        f"""format = 1
title = "Stereo"
hardware = ["cards.toml"]
currency = "GBP"
stock = {{ line-1 = 4, line-2 = 4 }}
[[frame]]
name = "A"
chassis = "four"
board = "plain"
[[need]]
name = "stereo"
direction = "in"
signal = "line"
channels = 2
{wish}
[[need]]
name = "mono"
direction = "in"
signal = "line"
channels = {count}
"""
    )
    (folder / "stereo-stands.toml").write_text(
        f"""format = 1
[[frame]]
name = "A"
board = "plain"
cards = {{ {", ".join(f'{slot} = "line-{1 + slot // 3}"' for slot in range(1, cards + 1))} }}
serves = [
    {{ need = "stereo", slot = 1, channels = "1-2" }},
    {{ need = "mono", slot = 2, channels = "{mono}" }},
]
"""
    )
    return folder / "stereo.toml"


def _patched(room: Path) -> tuple[dict[str, str | None], list[str]]:
    patching = solver.failed(room, room.with_name("stereo-stands.toml"), "slot:A:1").repairs[0]
    assert (patching.how, patching.proven) == ("patching", True)
    return {f"{each.need} {each.channel}": each.now for each in patching.moved}, patching.notes


def test_a_pair_stays_a_pair_where_it_can(tmp_path: Path) -> None:
    """Number 8 is idle as well, and lower: but 9 and 10 are an odd one and the next."""
    room = _stereo(tmp_path, cards=3, mono="1-3")
    assert _patched(room) == ({"stereo 1": "A:in:9", "stereo 2": "A:in:10"}, [])


def test_what_works_moves_where_that_keeps_a_pair(tmp_path: Path) -> None:
    """Of 5 to 8 mono has 5 and 7: one of it moves to 6, and the pair has 7 and 8."""
    moved, notes = _patched(_stereo(tmp_path, cards=2, mono="1,3"))
    assert (moved, notes) == ({"mono 2": "A:in:6", "stereo 1": "A:in:7", "stereo 2": "A:in:8"}, [])


def test_a_pair_that_has_to_part_is_told(tmp_path: Path) -> None:
    """No even number works any more."""
    room = _stereo(tmp_path, cards=3, mono="1")
    even = [f"A:in:{number}" for number in (6, 8, 10, 12)]
    patching = solver.failed(room, room.with_name("stereo-stands.toml"), "slot:A:1", *even).repairs[0]
    assert [each.now for each in patching.moved] == ["A:in:7", "A:in:9"]
    asked = "asks for pairs of an odd number and the next one on one card"
    assert patching.notes == [f'"stereo" {asked}: "stereo" 2 not so']


def test_numbers_that_are_asked_for_and_not_kept_are_told(tmp_path: Path) -> None:
    moved, notes = _patched(_stereo(tmp_path, cards=3, mono="1-3", wish='numbers = "1-2"'))
    assert len(moved) == 2
    assert notes == ['"stereo" asks for inputs 1-2: "stereo" 1-2 not so']


def test_one_latency_is_kept_where_it_can_and_told_where_not(tmp_path: Path) -> None:
    """Cards 1 and 2 have 5 samples, card 3 has 9: one number of 5 is idle, so both go to card 3."""
    room = _stereo(tmp_path, cards=3, mono="1-3", latency=(5, 9), wish="same_latency = true")
    moved, notes = _patched(room)
    assert moved == {"stereo 1": "A:in:9", "stereo 2": "A:in:10"}
    assert notes == ['"stereo" 1-2: 9 samples of latency, 5 before']


def test_what_the_build_needs_is_not_on_the_shelf_beside_it(tmp_path: Path) -> None:
    """Of two in stock that are told to be on the shelf one stands in the build, so the second is its spare."""
    one, other = ASSET, ASSET.replace("0117", "0121")
    room = _room(tmp_path, ("[stock]\nmic-8 = 1", "[stock]\nmic-8 = 2"), more=one + other)
    found = solver.failed(room, STANDS, "slot:A:3")
    assert found.cards == ["mic-8 (serial 0117) in slot 3 of A"]
    assert found.repairs[1].text.startswith("mic-8 (serial 0121) into slot 3 of A")
