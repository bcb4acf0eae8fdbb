"""Racks on the page of a pack: drawn to scale with every unit numbered, told in words, or said not to be drawn."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import html5lib
import pytest

import solver
from cli.page.draw import page_html
from cli.page.elevation import elevation
from solver.reports.pack import Pack
from solver.reports.rack import RackPlace, RackSheet
from solver.room.build import Build, BuiltRack
from solver.room.racks import RackItem

ROOM = "scenarios/quay-live-room.toml"
AT = {"A": 6, "A supply": 3, "cue amplifier": 1, "level meter": 13, "line bay": 12}
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(autouse=True)
def _root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(Path(__file__).parents[2])


def _packed(at: dict[str, int] | None, called: str = "cue amplifier") -> Pack:
    """The live room with its rack drawn, and a name for what stands at its foot."""
    files = solver.load(ROOM)
    text = Path("scenarios/quay-live-room-drawn.toml").read_text(encoding="utf-8")
    bare = Build.model_validate(tomllib.loads(text, parse_float=Decimal))
    (rack,) = files.scenario.rack
    items = tuple(
        RackItem.model_validate(item.model_dump() | {"name": called}) if item.name == "cue amplifier" else item
        for item in rack.item
    )
    scenario = files.scenario.model_copy(update={"rack": (rack.model_copy(update={"item": items, "at": {}}),)})
    own = () if at is None else (BuiltRack(name="R1", at={called if k == "cue amplifier" else k: at[k] for k in at}),)
    build = bare.model_copy(update={"rack": own})
    return solver.pack(scenario, build, hardware=files.hardware, made_on=date(2026, 3, 1))


def _drawing(page: str) -> ET.Element:
    (found,) = re.findall(r'<svg[^>]* aria-labelledby="rack-1-title rack-1-desc">.*?</svg>', page, re.DOTALL)
    return ET.fromstring(found.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


def test_a_drawn_rack_is_to_scale_and_every_unit_has_its_number() -> None:
    """Panels are 482.6 mm wide and 44.45 mm less 0.79 mm in all high for each unit (EIA-310, IEC 60297)."""
    (sheet,) = _packed(AT).racks
    drawn = elevation(sheet)
    for side in (min, max):
        x = side(words.x for words in drawn.words if words.sort == "slot")
        numbers = [words for words in drawn.words if words.x == x and words.sort == "slot"]
        assert [words.text for words in sorted(numbers, key=lambda words: -words.y)] == [str(n) for n in range(1, 21)]
        steps = {round(one.y - other.y, 6) for one, other in pairwise(numbers)}
        assert steps == {44.45 / 5}
    foot = drawn.height - 1
    for place in sheet.places:
        (words,) = (words for words in drawn.words if words.text == place.name)
        (box,) = (b for b in drawn.boxes if b.sort in ("card", "hole") and b.y <= words.y <= b.y + b.height)
        assert box.width * 5 == pytest.approx(482.6)
        assert box.height * 5 == pytest.approx(44.45 * place.height_u - 0.79)
        top = foot - (place.unit - 1 + place.height_u) * 44.45 / 5
        assert box.y == pytest.approx(top)
    free = [words.text for words in drawn.words if words.sort == "none"]
    assert (free.count("air, kept free"), free.count("free")) == (2, 7)


def test_the_page_has_the_drawing_with_its_words_and_a_table_that_says_the_same() -> None:
    packed = _packed(AT)
    page = page_html(packed)
    html5lib.HTMLParser(strict=True).parse(page)
    drawing = _drawing(page)
    title, told = drawing.find(f"{SVG}title"), drawing.find(f"{SVG}desc")
    assert title is not None
    assert title.text == "Rack R1 from the front, 20 units"
    assert told is not None
    assert told.text == (
        "From above: level meter in unit 13, line bay in unit 12, A in units 6-10, A supply in units 3-4, cue "
        "amplifier in units 1-2; kept free for air: 5, 11"
    )
    table = page.split('aria-label="What stands in rack R1"')[1].split("</table>")[0]
    assert [re.sub("<.*?>", " ", row).split()[0] for row in table.split("<tr>")[2:]] == [
        "13",
        "12",
        "6-10",
        "3-4",
        "1-2",
    ]
    assert "its centre 5.2 U above the foot" in page
    assert not packed.racks_not_drawn


def test_a_rack_that_no_build_draws_is_said_to_be_none() -> None:
    packed = _packed(None)
    assert packed.racks == []
    page = page_html(packed)
    assert "<b>NOT DRAWN</b> rack R1: the build does not say what stands where" in page
    assert "rack-1-title" not in page


def test_a_rack_that_is_drawn_wrong_makes_the_pack_faulty_and_is_drawn_as_it_is() -> None:
    packed = _packed({**AT, "level meter": 20, "line bay": 21})
    assert {fault.rule for fault in packed.faults} >= {"rack-space"}
    drawn = elevation(packed.racks[0])
    assert {words.text for words in drawn.words} >= {"21", "line bay"}
    assert all(box.y >= 0 and box.y + box.height <= drawn.height for box in drawn.boxes)


def test_a_name_in_a_rack_is_shown_and_never_run() -> None:
    hostile = "</svg><script>alert(1)</script>&lt;\u05e9\u05dc"
    page = page_html(_packed(AT, hostile))
    html5lib.HTMLParser(strict=True).parse(page)
    assert "<script>alert(1)" not in page
    assert [text.text for text in _drawing(page).iter(f"{SVG}text") if text.get("class") == "name"][-1] == hostile


def test_a_long_name_stays_within_its_panel() -> None:
    place = RackPlace(name="x" * 90, kind="item", unit=1, height_u=1)
    drawn = elevation(RackSheet(name="R", units=1, outcome="drawn", places=[place]))
    (words,) = (words for words in drawn.words if words.sort == "name")
    assert 90 * 0.6 * words.size <= 482.6 / 5
