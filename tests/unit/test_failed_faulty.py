"""What mends a build that was faulty before: what has failed, and no wish of a need that was not kept anyhow."""

from __future__ import annotations

from pathlib import Path

import pytest
from samples import change

import solver
from solver.reports.failed import Failed
from solver.room.words import parse_ranges

HARDWARE = """format = 1
[[card]]
id = "line-in"
latency_samples = { "48" = 5 }
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[card]]
id = "line-in-late"
latency_samples = { "48" = 9 }
ports = [{ direction = "in", signals = ["line"], channels = { "48" = 4 } }]
[[card]]
id = "line-out"
latency_samples = { "48" = 5 }
ports = [{ direction = "out", signals = ["line"], channels = { "48" = 4 } }]
[[card]]
id = "loud-in"
setting = [{ name = "full_scale_level", direction = "in", per = "card", choices = ["+18 dBu"] }]
ports = [{ direction = "in", signals = ["loud"], channels = { "48" = 4 } }]
[[card]]
id = "loud-out"
setting = [{ name = "full_scale_level", direction = "out", per = "card", choices = ["+24 dBu"] }]
ports = [{ direction = "out", signals = ["loud"], channels = { "48" = 4 } }]
[[board]]
id = "plain"
limits = { "48" = { in = 24, out = 24 } }
at_limit = "cut"
inputs = { first_slot = 1, widths = 4 }
outputs = { first_slot = 2, widths = 4 }
[[chassis]]
id = "six"
slot_count = 6
boards = ["plain"]
"""

CARDS = {
    "A": {1: "line-in", 2: "line-in", 3: "line-in", 4: "line-in-late", 5: "loud-in", 6: "loud-out"},
    "B": {1: "line-in", 2: "line-out"},
}

OTHERS = {"other": ("in", "line", ["A:3:1-3"]), "away": ("in", "line", ["A:2:4"]), "loud": ("in", "loud", ["A:5:1"])}
"""Needs that ask for nothing: direction, signal, and frames, slots and channels of cards that serve them."""

WISHES = {
    "numbers": ("in", "line", 'numbers = { frame = "A", list = "1-2" }', ["A:2:1-2"]),
    "a run": ("in", "line", "consecutive = true", ["A:1:1,3"]),
    "a bank": ("in", "line", "consecutive = true\nbank_of = 4", ["A:1:2-3"]),
    "one card": ("in", "line", "consecutive = true\none_card = true", ["A:1:4", "A:2:1"]),
    "pairs": ("in", "line", "pairs = true", ["A:1:2-3"]),
    "pairs in one frame": ("in", "line", "pairs = true", ["A:1:1-2", "B:1:1-2"]),
    "few on a card": ("in", "line", "max_per_card = 1", ["A:1:1-2"]),
    "apart": ("in", "line", 'apart_from = ["away"]', ["A:2:1-2"]),
    "one latency": ("in", "line", "same_latency = true", ["A:1:1", "A:4:1"]),
    "returns": ("out", "line", 'returns_on = "away"', ["B:2:1"]),
    "alike levels": ("out", "loud", 'returns_on = "loud"', ["A:6:1"]),
}
"""The same of a need, with what it asks for and does not have there."""


def _room(folder: Path, wish: str) -> tuple[Path, Path]:
    direction, signal, keys, places = WISHES[wish]
    needs = {**OTHERS, "asking": (direction, signal, places)}
    serves: dict[str, list[str]] = {frame: [] for frame in CARDS}
    asked = ""
    for name, (way, kind, spots) in needs.items():
        split = [spot.split(":") for spot in spots]
        for frame, slot, channels in split:
            serves[frame].append(f'{{ need = "{name}", slot = {slot}, channels = "{channels}" }}')
        count = sum(len(parse_ranges(channels)) for *_, channels in split)
        asked += f'[[need]]\nname = "{name}"\ndirection = "{way}"\nsignal = "{kind}"\nchannels = {count}\n'
    offers = "".join(
        f'[[offer]]\ncard = "{card}"\nprice = "1"\n' for card in {c for own in CARDS.values() for c in own.values()}
    )
    frames = "".join(f'[[frame]]\nname = "{name}"\nchassis = "six"\nboard = "plain"\n' for name in CARDS)
    head = 'format = 1\ntitle = "Faulty"\nhardware = ["hardware.toml"]\ncurrency = "GBP"\n'
    built = "format = 1\n"
    for name, own in CARDS.items():
        seated = ", ".join(f'{slot} = "{card}"' for slot, card in own.items())
        built += f'[[frame]]\nname = "{name}"\nboard = "plain"\ncards = {{ {seated} }}\n'
        built += f"serves = [{', '.join(serves[name])}]\n"
    for file, text in (("hardware", HARDWARE), ("room", f"{head}{frames}{offers}{asked}{keys}\n"), ("stands", built)):
        (folder / f"{file}.toml").write_text(text, "utf-8")
    return folder / "room.toml", folder / "stands.toml"


@pytest.mark.parametrize("wish", WISHES)
def test_no_wish_that_was_not_kept_is_mended_with_what_has_failed(wish: str, tmp_path: Path) -> None:
    """A card of another need fails and one like it is on offer: that comes to its slot, and no channel moves."""
    found = solver.failed(*_room(tmp_path, wish), "slot:A:3")
    assert len(found.faults) == 1
    assert '"asking"' in found.faults[0].text
    _only_that_card(found)


def _only_that_card(found: Failed) -> None:
    shelf, order = (next(each for each in found.repairs if each.how == how) for how in ("shelf", "order"))
    assert (shelf.text, shelf.moved) == ("nothing on the shelf makes up for it", [])
    assert [(line.item, line.count) for line in order.order_lines] == [("line-in", 1)]
    assert [(card.before, card.after and card.after.slot) for card in order.cards] == [(None, 3)]
    assert (order.moved, order.straps, order.notes, order.outcome) == ([], [], [], "whole")


@pytest.mark.parametrize(
    ("rule", "entry"),
    [
        ("kept-empty", "keep_empty = [1]"),
        ("kept-empty", "keep_empty = [3]"),
        ("pins", 'pins = { 2 = "line-out" }'),
        ("must-use", '[[frame]]\nname = "C"\nchassis = "six"\nboard = "plain"\nmust_use = true'),
    ],
)
def test_no_card_moves_for_a_place_that_was_wrong_before(rule: str, entry: str, tmp_path: Path) -> None:
    room, stands = _room(tmp_path, "few on a card")
    text = change(room.read_text("utf-8"), "max_per_card = 1\n", "")
    room.write_text(change(text, 'board = "plain"\n', f'board = "plain"\n{entry}\n'), "utf-8")
    found = solver.failed(room, stands, "slot:A:3")
    assert [fault.rule for fault in found.faults] == [rule]
    _only_that_card(found)


@pytest.mark.parametrize("fixed", ["A", "A:3"])
def test_a_fixed_card_that_fails_is_replaced(fixed: str, tmp_path: Path) -> None:
    room, stands = _room(tmp_path, "few on a card")
    text = change(room.read_text("utf-8"), "max_per_card = 1\n", "")
    head = f'currency = "GBP"\ninstalled = "stands.toml"\nfixed = ["{fixed}"]\n'
    room.write_text(change(text, 'currency = "GBP"\n', head), "utf-8")
    found = solver.failed(room, stands, "slot:A:3")
    assert found.faults == []
    _only_that_card(found)
