"""Cards that are known one by one: how files say it, where each is after a change, and what sheets say of them."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from amounts import some_or_all
from generate import random_out_of_service
from inside import strapwork
from samples import BUILD, HARDWARE, SCENARIO, change, faults_of, write

from solver.files.crosscheck import check_together
from solver.files.reading import load_scenario
from solver.fitted.card_moves import CardMove, Seat, Serials, card_moves
from solver.room.assets import SHELF, Asset
from solver.room.out_of_service import OutOfService
from solver.room.scenario import Scenario

ENTRY = '[[asset]]\ncard = "{card}"\nserial = "{serial}"\nat = "{at}"\n'
OUT = '[[out_of_service]]\n{key} = "{what}"\ndate = 2026-11-20\nsymptom = "hum"\nfound_by = "house technician"\n'
STANDS = change(change(BUILD, '"3" = "line-in-8"', '"3" = "line-in-8", "5" = "mic-4"'), '"1-8"', '"1-6"')
OFFER = '[[offer]]\ncard = "mic-4"\nprice = "810.50"\n'
MIC, SPARE, LINE = ("mic-4", "0117", "A:5"), ("mic-4", "0122", "shelf"), ("line-in-8", "0031", "A:3")


def _written(folder: Path, *assets: tuple[str, str, str], out: tuple[str, str] | None = None) -> Path:
    """A line card in slot 3 and a mic card in slot 5 stand, and another mic card is on the shelf."""
    (folder / "stands.toml").write_text(STANDS)
    text = change(SCENARIO, 'slack = { cost = "5 %" }\n', 'installed = "stands.toml"\n')
    text = change(text, "line-in-8 = 1", "line-in-8 = 1\nmic-4 = 2")
    text = change(text, 'rank = ["cost", "unused"]', 'rank = ["cards_moved", "cost", "unused"]')
    text = change(text, "channels = 8", "channels = 6")
    text = change(text, 'pins = { "3" = "line-in-8" }\n', "")
    text = change(text, '[[must_seat]]\ncard = "mic-4"\n', "")
    text += "".join(ENTRY.format(card=card, serial=serial, at=at) for card, serial, at in assets)
    return write(folder, text + (OUT.format(key=out[0], what=out[1]) if out else ""), HARDWARE)


def _steps(path: Path, build: Path) -> list[dict[str, Any]]:
    """The steps of a work order."""
    order = json.loads(strapwork("work-order", path, build, "--format", "json").stdout)
    return [step for section in order["sections"] for step in section["steps"]]


def _said(*args: str | Path) -> str:
    return " ".join(strapwork(*args).stdout.split())


@pytest.mark.parametrize(
    ("assets", "told"),
    [
        ([MIC, ("mic-4", "0117", "shelf")], "asset 2 > serial: is told twice, capitals and spaces at its ends apart"),
        ([("mic-4", "a", "A:5"), ("mic-4", "A", "shelf")], "asset 2 > serial: is told twice"),
        ([MIC, ("mic-4", "0118", "A:5")], 'asset 2 > at: "0117" is there: a slot has one card'),
        ([("line-in-8", "1", "A:5")], "asset 1 > at: mic-4 stands there, and not line-in-8"),
        ([("mic-4", "1", "A:4")], "asset 1 > at: no card has its first slot there in what stands"),
        ([("mic-4", "1", "B:5")], 'asset 1 > at: "B" is no frame of this scenario (A)'),
        ([("mic-4", "1", "5")], 'asset 1 > at: must be a slot, such as "A:5", or "shelf"'),
        ([("mic-9", "1", "shelf")], 'asset 1 > card: "mic-9" is no card of these hardware files'),
        ([SPARE, ("mic-4", "3", "shelf")], "stock has 1 x mic-4 beside those that stand, and this is one more"),
    ],
)
def test_an_asset_that_cannot_be_is_a_fault(tmp_path: Path, assets: list[tuple[str, str, str]], told: str) -> None:
    (text,) = [fault.text() for fault in faults_of(_written(tmp_path, *assets))][:1]
    assert told in text


def test_only_what_stands_has_cards_in_slots(tmp_path: Path) -> None:
    path = _written(tmp_path, MIC)
    path.write_text(change(path.read_text(), 'installed = "stands.toml"\n', "").replace("cards_moved", "idle"))
    assert ["name its build file as installed" in fault.text() for fault in faults_of(path)] == [True]


@pytest.mark.parametrize(
    ("out", "told"),
    [
        (("asset", "0118"), '"0118" is the serial of no asset; did you mean "0117"?'),
        (("stock", "mic-4"), "all that is left in stock has serial numbers: name the asset"),
    ],
)
def test_what_is_out_of_service_has_the_serial_of_an_asset(tmp_path: Path, out: tuple[str, str], told: str) -> None:
    (fault,) = faults_of(_written(tmp_path, MIC, SPARE, out=out))
    assert told in fault.text()


def test_a_slot_and_the_asset_in_it_are_one_thing(tmp_path: Path) -> None:
    path = _written(tmp_path, MIC, out=("slot", "A:5"))
    assert load_scenario(path).scenario.gone == {("A", 5): "mic-4"}
    path.write_text(path.read_text() + OUT.format(key="asset", what="0117"))
    assert [fault.path for fault in faults_of(path)] == [("out_of_service", 2, "asset")]


def _as_assets(scenario: Scenario) -> Scenario:
    """The same with serial numbers, by which all cards are named that are out of service."""
    assets, entries = [], []
    for n, entry in enumerate(scenario.out_of_service):
        item = scenario.item_of(entry)
        if entry.key in ("slot", "stock") and item is not None:
            assets.append(Asset(card=item, serial=str(n), at=entry.slot or SHELF))
            update = {"slot": None, "stock": None, "asset": str(n)}
            entries.append(entry.model_copy(update=update))
        else:
            entries.append(entry)
    return scenario.model_copy(update={"asset": tuple(assets), "out_of_service": tuple(entries)})


@some_or_all("seeds", range(300), range(3000))
def test_to_name_an_asset_is_to_name_its_slot_or_one_in_stock(seeds: range) -> None:
    named = 0
    for seed in seeds:
        scenario, hardware = random_out_of_service(seed)
        cards = {card.id for card in hardware.card}
        if any(entry.stock and entry.stock not in cards for entry in scenario.out_of_service):
            continue  # boards have no serial numbers
        own = _as_assets(scenario)
        named += len(own.asset)
        assert (own.stands, own.in_service, own.gone) == (scenario.stands, scenario.in_service, scenario.gone), seed
        texts, before = (
            {fault.text() for fault in check_together("room.toml", each, [("hardware.toml", hardware)])}
            for each in (own, scenario)
        )
        assert texts == before or any("out_of_service" in text for text in before), (seed, texts)
    assert named > 60


@some_or_all("seeds", range(300), range(10_000))
def test_whatever_is_moved_each_asset_is_one_card_in_one_place(seeds: range) -> None:
    moved = came = 0
    for seed in seeds:
        s = random.Random(seed)
        before, after = (
            {Seat(None, f, n): s.choice(["mic", "line"]) for f in "AB" for n in range(1, 5) if s.random() < 0.6}
            for _ in range(2)
        )
        seats = {seat: f"{n}" for n, seat in enumerate(before) if s.random() < 0.7}
        shelf = [(s.choice(["mic", "line"]), f"shelf {n}") for n in range(s.randint(0, 3))]
        cards = card_moves(before, after)
        here = Serials(seats, shelf)
        then = here.after(cards)
        kinds = {serial: before[seat] for seat, serial in seats.items()} | {serial: card for card, serial in shelf}
        assert Counter([*then.seats.values(), *(serial for _, serial in then.shelf)]) == Counter([*kinds]), seed
        assert all(kinds[serial] == after[seat] for seat, serial in then.seats.items()), seed
        assert all(kinds[serial] == card for card, serial in then.shelf), seed
        stay = {seat for seat in seats if after.get(seat) == before[seat]}
        assert {seat: then.seats[seat] for seat in stay} == {seat: seats[seat] for seat in stay}, seed
        # One from the shelf comes before one that nobody has numbered.
        fresh = {card: [move.serial for move in cards_of(here, cards, card)] for card in ("mic", "line")}
        for card, serials in fresh.items():
            there = [serial for own, serial in shelf if own == card]
            assert serials == [*there, *[None] * len(serials)][: len(serials)], seed
        moved += sum(move.before is not None and move.after is not None for move in cards)
        came += sum(map(len, fresh.values()))
    assert moved > 100
    assert came > 100


def cards_of(here: Serials, cards: Sequence[CardMove], card: str) -> list[CardMove]:
    """The moves of a card that comes."""
    return [move for move in here.named(cards) if move.before is None and move.card == card]


MOVED = change(STANDS, '"5" = "mic-4"', '"2" = "mic-4", "6" = "mic-4"')


def test_sheets_say_which_card_is_meant(tmp_path: Path) -> None:
    path, old, new = _written(tmp_path, MIC, SPARE, LINE), tmp_path / "stands.toml", tmp_path / "new.toml"
    new.write_text(MOVED)
    said = _said("diff", path, old, new)
    assert "mic-4 (serial 0117) A slot 5 A slot 2" in said
    assert "mic-4 (serial 0122) not in A slot 6" in said
    steps = _steps(path, new)
    said = " ".join(step["text"] for step in steps)
    for told in (
        "line-in-8 (serial 0031) in 3, mic-4 (serial 0117) in 5;",
        "Take mic-4 (serial 0117) out of slot 5, for slot 2",
        "Seat mic-4 (serial 0117) in slot 2, from slot 5",
        "Seat mic-4 (serial 0122) in slot 6",
        "Compare A: shale-64; mic-4 (serial 0117) in 2, line-in-8 (serial 0031) in 3, mic-4 (serial 0122) in 6;",
    ):
        assert told in said, (told, said)
    named = [(step["action"], step["serial"]) for step in steps if step["serial"]]
    assert named == [("card out", "0117"), ("card in", "0117"), ("card in", "0122")]
    assert "serials 0117 in slot 2, 0031 in slot 3, 0122 in slot 6" in _said("check", path, new)
    assert "mic-4 (serial 0117) in slot 5 of A" in _said("failed", path, old, "serial:0117")
    assert "slot 2 of A mic-4 (serial 0117)" in _said("find", path, new, "SERIAL:0117")
    assert "3: line-in-8 (serial 0031), channel 2 in" in _said("find", path, old, "A:in:14")


def test_a_repair_takes_a_numbered_card_from_the_shelf(tmp_path: Path) -> None:
    path, old = _written(tmp_path, MIC, SPARE), tmp_path / "stands.toml"
    path.write_text(change(path.read_text(), 'signal = "line"\nchannels = 6', 'signal = "mic"\nchannels = 2'))
    text = change(STANDS, 'slot = 3, channels = "1-6"', 'slot = 5, channels = "1-2"')
    old.write_text(text)
    assert "mic-4 (serial 0122) into slot 5 of A" in _said("failed", path, old, "slot:A:5")


def test_an_asset_on_the_shelf_is_in_no_slot(tmp_path: Path) -> None:
    path, old = _written(tmp_path, MIC, SPARE), tmp_path / "stands.toml"
    ran = strapwork("find", path, old, "serial:0122")
    assert (
        ran.returncode,
        "mic-4 (serial 0122) stands in no slot of this build: it is on the shelf" in ran.stderr,
    ) == (
        2,
        True,
    )


def test_moves_from_another_build_than_what_stands_name_no_serials(tmp_path: Path) -> None:
    path, other, new = _written(tmp_path, MIC), tmp_path / "other.toml", tmp_path / "new.toml"
    other.write_text(change(STANDS, '"5" = "mic-4"', '"5" = "mic-4", "7" = "mic-4"'))
    new.write_text(change(STANDS, '"5" = "mic-4"', '"6" = "mic-4", "7" = "mic-4"'))
    assert "mic-4 A slot 5 A slot 6" in _said("diff", path, other, new)


def test_a_card_in_the_place_of_one_that_is_out_of_service_is_another(tmp_path: Path) -> None:
    path, new = _written(tmp_path, MIC, LINE, out=("asset", "0117")), tmp_path / "new.toml"
    new.write_text(STANDS)
    assert "serials 0031 in slot 3 loads" in _said("check", path, new)


@pytest.mark.parametrize("out", [("asset", "0117"), ("slot", "A:5")])
def test_a_work_order_takes_out_the_asset_that_is_out_of_service(tmp_path: Path, out: tuple[str, str]) -> None:
    path, new = _written(tmp_path, MIC, SPARE, out=out), tmp_path / "new.toml"
    new.write_text(STANDS)
    said = " ".join(step["text"] for step in _steps(path, new))
    assert "Take mic-4 (serial 0117), which is out of service, out of slot 5" in said
    assert "Seat mic-4 (serial 0122) in slot 5" in said
    told = 'out of service: mic-4 (serial 0117) in slot A:5: "hum", found by house technician'
    assert told in _said("work-order", path, new)


def test_one_on_the_shelf_that_is_out_of_service_is_not_seated(tmp_path: Path) -> None:
    path, new = _written(tmp_path, MIC, SPARE, out=("asset", "0122")), tmp_path / "new.toml"
    new.write_text(change(STANDS, '"5" = "mic-4"', '"5" = "mic-4", "6" = "mic-4"'))
    path.write_text(change(path.read_text(), OFFER, ""))
    said = _said("check", path, new)
    assert "0122 in slot" not in said
    assert "mic-4: the build counts on the card with serial 0122, which is out of service" in said


def test_a_way_out_brings_the_asset_back_into_service(tmp_path: Path) -> None:
    path, mended = _written(tmp_path, LINE, out=("asset", "0031")), tmp_path / "mended.toml"
    path.write_text(change(path.read_text(), OFFER, "").replace("mic-4 = 2", ""))
    (number,) = re.findall(r"([0-9]+) repair off bring the card with serial 0031 back into", _said("why", path))
    assert strapwork("why", path, "--apply", number, "--to", mended).returncode == 0
    assert "[[out_of_service]]" not in mended.read_text()
    assert strapwork("plan", mended, "--top", "1").returncode == 0


def test_a_pack_names_serials_and_begins_with_what_is_out_of_service(tmp_path: Path) -> None:
    path, new = _written(tmp_path, MIC, SPARE, out=("asset", "0117")), tmp_path / "new.toml"
    new.write_text(STANDS)
    assert strapwork("pack", path, new, "--to", tmp_path / "pack").returncode in (0, 1)
    page = (tmp_path / "pack" / "index.html").read_text()
    door = page[page.index("for the rack door") : page.index("Slots of frame")]
    assert "<dt>Serials</dt><dd>0122 (mic-4) in slot 5" in door  # the one from the shelf: 0117 is out of service
    assert "Take mic-4 (serial 0117), which is out of service" in " ".join(page.split())


def test_entries_are_nouns_with_their_words() -> None:
    entry = OutOfService.model_validate({"asset": "0117", "date": "2026-11-20", "symptom": "hum", "found_by": "us"})
    assert (entry.key, entry.what, entry.told) == ("asset", "0117", "the card with serial 0117")
