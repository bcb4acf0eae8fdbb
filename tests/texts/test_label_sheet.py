"""The sheet of labels: every label once in its place, within its lines, no piece wider than the paper."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree as ET

import html5lib
import pytest
from inside import strapwork
from samples import write_four_frames

import solver
from cli.page.draw import labels_html
from cli.page.rear import LETTER
from cli.page.strips import ACROSS, Strip, strips
from solver.reports.pack import Pack

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DAY = date(2026, 3, 1)
RIG, NEXT = SCENARIOS / "quay-mix-rig.toml", SCENARIOS / "quay-mix-rig-next-drawn.toml"


@pytest.fixture(scope="module", params=["rig", "four"])
def packed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Pack:
    if request.param == "rig":
        return solver.pack(RIG, NEXT, made_on=DAY)
    return solver.pack(*write_four_frames(tmp_path_factory.mktemp("four")), made_on=DAY)


def _labels(strip: Strip) -> list[tuple[str, str]]:
    """Place and text of each label of a strip, in order."""
    found: list[tuple[str, list[str]]] = []
    for piece in strip.pieces:
        for words in piece.words:
            if words.sort == "at":
                found.append((words.text, []))
            else:
                found[-1][1].append(words.text)
    return [(at, " ".join(told)) for at, told in found]


@pytest.mark.parametrize("wide", [9.4, 18, 60])
def test_every_label_is_there_once_in_its_place_and_within_its_lines(packed: Pack, wide: float) -> None:
    found = strips(packed, wide)
    told = Counter((at, text) for strip in found for at, text in _labels(strip) if text)
    assert told == Counter((label.at, label.text) for label in packed.labels.labels)
    for strip in found:
        for piece in strip.pieces:
            assert piece.width <= ACROSS
            assert [box.x for box in piece.boxes] == pytest.approx([wide * n for n in range(len(piece.boxes))])
            assert {box.width for box in piece.boxes} == {wide}
            for words in (words for words in piece.words if words.sort == "label"):
                long = words.size * LETTER * len(words.text)
                box = next(box for box in piece.boxes if box.x <= words.x <= box.x + box.width)
                assert box.x <= words.x - long / 2
                assert words.x + long / 2 <= box.x + box.width
                assert box.y <= words.y - words.size / 2
                assert words.y + words.size / 2 <= box.y + box.height


def test_a_row_of_a_bay_has_a_label_for_each_point_used_or_not() -> None:
    found = {strip.name: _labels(strip) for strip in strips(solver.pack(RIG, NEXT, made_on=DAY), 18)}
    assert [at for at, _ in found["Bay P1, row C"]] == [f"C{point}" for point in range(1, 25)]
    assert [text for _, text in found["Bay P1, row C"]][15:17] == ["M out 32", ""]
    assert [text for _, text in found["Bay P1, row A"]][:2] == ["outb rtns 1", "outb rtns 2"]


def test_a_label_breaks_where_its_letters_are_largest(packed: Pack) -> None:
    words = [words for strip in strips(packed, 9.4) for piece in strip.pieces for words in piece.words]
    assert all(words.size > 1.2 for words in words if words.sort == "label")


def test_the_sheet_is_as_sound_as_the_page(packed: Pack) -> None:
    page = labels_html(packed, Decimal(18))
    html5lib.HTMLParser(strict=True).parse(page)
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        ET.fromstring(svg)
    assert "<script" not in page
    assert not re.search(r"https?:|url\(|@import|data:|\bsrc=|<link|<img", page)
    assert re.search(
        r"default-src 'none'; style-src 'sha256-[^']+'; base-uri 'none'; form-action 'none'\"",
        page.replace("&#39;", "'"),
    )
    assert 'width="102mm"' in page


def test_a_faulty_build_has_faulty_labels() -> None:
    faulty = solver.pack(SCENARIOS / "quay-filled.toml", SCENARIOS / "quay-filled-drawn.toml", made_on=DAY)
    page = labels_html(faulty, Decimal(18))
    assert '<strong class="faulty">FAULTY</strong></h1>' in page
    assert '@top-center { content: "FAULTY"' in page


@pytest.mark.parametrize("given", ["5.9", "60.1", "18.55", "", "1e1", "x"])
def test_a_width_that_is_none_is_refused(tmp_path: Path, given: str) -> None:
    ran = strapwork("pack", RIG, NEXT, "--to", tmp_path / "out", "--label-mm", given)
    assert ran.returncode == 2
    assert "--label-mm" in ran.stderr
    assert "must be 6 to 60 with one decimal at most" in ran.stderr
    assert not (tmp_path / "out").exists()
