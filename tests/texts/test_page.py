"""The page of a pack: HTML without an error, drawings that are XML, nothing from outside, names that are shown only."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Literal
from xml.etree import ElementTree as ET

import html5lib
import pytest
from connected import connected
from samples import write_four_frames
from two_builds import two_builds

import solver
from cli.page.draw import page_html
from cli.page.rear import LETTER, Box, Rear, rear, shape_of
from solver.answers.pack import pack
from solver.files.reading import Loaded
from solver.reports.pack import Pack
from solver.reports.report import CardSetTo, Cooling, FrameReport, Slot
from solver.room.words import channel_told

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DAY = date(2026, 3, 1)
H = "{http://www.w3.org/1999/xhtml}"
SHIPPED = {
    "mix rig": ("quay-mix-rig", "quay-mix-rig-next-drawn", "quay-mix-rig-first-drawn"),
    "filled, faulty": ("quay-filled", "quay-filled-drawn", None),
    "drum day": ("quay-drum-day", "quay-drum-day-drawn", None),
    "drum list": ("quay-drum-list", "quay-drum-list-drawn", "quay-drum-list-drawn"),
}

HOSTILE = (
    "<script>alert(1)</script>",
    "</style><script>alert(2)</script>",
    '"><img src=x onerror=alert(3)>',
    "</title></svg>&lt;&amp;&#x3c;",
    "' onmouseover='alert(4)",
    "{{ 7 * 7 }} {% raw %} {# x #}",
    "]]><!-- -- > \\27 } body { display: none",
    "\u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "\U0001f3b8 \U0001f941 \u9f13",
    "x" * 90,
)


FAR_ENDS = """
[[tie_line]]
name = "T1"
far = { at = "booth box", numbers = "1-8" }
near = { at = "machine room", numbers = "101-108" }

[[cable]]
number = "C7"
card_end = { connector = "db25", gender = "male" }
other_end = { connector = "db25", gender = "male" }

[[far_end]]
need = "outboard returns"
equipment = "rack"
channels = "1-8"
sockets = "1-8"
place = "booth"
via = [{ tie_line = "T1", numbers = "1-8" }]
cable = "C7"
"""


def _packed(name: str) -> Pack:
    scenario, build, old = (None if file is None else SCENARIOS / f"{file}.toml" for file in SHIPPED[name])
    assert scenario is not None
    assert build is not None
    return solver.pack(scenario, build, old=old, made_on=DAY)


def _made_up(seed: int) -> Pack:
    """The pack of two builds made up, with connectors made up too."""
    pair = two_builds(seed)
    return pack(Loaded(pair.scenario, connected(seed, pair.hardware)), pair.new, DAY, pair.old)


def _parsed(page: str) -> ET.Element:
    """The page as a strict parser reads it, which stands no error."""
    root: ET.Element = html5lib.HTMLParser(strict=True).parse(page)
    return root


def _text(element: ET.Element) -> str:
    return " ".join("".join(element.itertext()).split())


def _rows(root: ET.Element, section: str) -> list[list[str]]:
    """The cells of every row of a sheet's tables, headings left out."""
    (own,) = (found for found in root.iter(f"{H}section") if found.get("id") == section)
    return [[_text(cell) for cell in row] for body in own.iter(f"{H}tbody") for row in body.iter(f"{H}tr")]


@pytest.fixture(params=SHIPPED)
def packed(request: pytest.FixtureRequest) -> Pack:
    return _packed(request.param)


def test_the_page_parses_without_an_error_and_names_its_language(packed: Pack) -> None:
    root = _parsed(page_html(packed))
    assert root.get("lang") == "en"
    (title,) = root.iter(f"{H}title")
    assert packed.scenario in _text(title)
    assert ("FAULTY" in _text(title)) == bool(packed.faults)


def test_builds_made_up_have_pages_that_parse_and_drawings_that_are_xml() -> None:
    drawn = 0
    for seed in range(60):
        page = page_html(_made_up(seed))
        _parsed(page)
        for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
            ET.fromstring(svg)
            drawn += 1
    assert drawn > 100


def test_nothing_comes_from_outside_and_the_browser_is_told_so(packed: Pack) -> None:
    page = page_html(packed)
    root = _parsed(page)
    assert not re.search(r"https?:|//[a-z]|url\(|@import|data:|<link|<i?frame|<object|<embed|<img|\bsrc=", page)
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    for element in root.iter():
        for key, value in element.attrib.items():
            assert key.rpartition("}")[2] not in ("src", "style", "action", "ping", "srcset")
            assert not key.startswith("on")
            if key.rpartition("}")[2] == "href":
                assert value.startswith("#")
                assert value[1:] in ids
    (policy,) = (meta.get("content") for meta in root.iter(f"{H}meta") if meta.get("http-equiv"))
    assert policy is not None
    (style,), (script,) = root.iter(f"{H}style"), root.iter(f"{H}script")
    digests = {
        kind: base64.b64encode(hashlib.sha256((element.text or "").encode()).digest()).decode()
        for kind, element in (("style-src", style), ("script-src", script))
    }
    assert policy == (
        f"default-src 'none'; style-src 'sha256-{digests['style-src']}'; script-src 'sha256-{digests['script-src']}'; "
        "base-uri 'none'; form-action 'none'"
    )


def test_headings_go_step_by_step_and_every_heading_of_a_table_has_its_scope(packed: Pack) -> None:
    root = _parsed(page_html(packed))
    levels = [
        int(element.tag[-1]) for element in root.iter() if re.fullmatch(rf"{re.escape(H)}h[1-6]", str(element.tag))
    ]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(later <= level + 1 for level, later in pairwise(levels))
    for table in root.iter(f"{H}table"):
        assert [heading.get("scope") for head in table.iter(f"{H}thead") for heading in head.iter(f"{H}th")]
        for heading in table.iter(f"{H}th"):
            assert heading.get("scope") == ("col" if heading in list(_heads(table)) else "row")
    for section in root.iter(f"{H}section"):
        heading_id = section.get("aria-labelledby")
        assert [element for element in section.iter(f"{H}h2") if element.get("id") == heading_id]


def _heads(table: ET.Element) -> Iterator[ET.Element]:
    for head in table.iter(f"{H}thead"):
        yield from head.iter(f"{H}th")


def test_every_number_pin_step_and_test_of_the_document_is_on_the_page(packed: Pack) -> None:
    root = _parsed(page_html(packed))
    numbers = [f"{row.frame} {row.direction} {row.number}" for row in packed.channels.rows]
    rows = _rows(root, "channels")
    assert [row[0] for row in rows] == numbers
    assert [row[1] for row in rows] == [row.carries for row in packed.channels.rows]
    assert [row[6] for row in rows] == [
        "NOT WIRED" if row.hot is None else f"{row.hot}/{row.cold or '-'}/{row.shield}" for row in packed.channels.rows
    ]
    pins = [(line.hot, line.cold or "-", line.shield) for loom in packed.looms.looms for line in loom.lines]
    assert [tuple(row[3:]) for row in _rows(root, "looms") if len(row) == 6] == pins
    steps = [(str(step.number), step.text) for part in packed.work_order.sections for step in part.steps]
    assert [(row[1], row[2]) for row in _rows(root, "work-order")] == steps
    for sheet, name in zip(packed.tests, ("tests", "tests-30", "tests-all"), strict=True):
        assert [(row[0], row[1]) for row in _rows(root, name)] == [
            (f"{row.frame} {row.direction} {row.number}", channel_told(row.need, row.channel, row.name, row.spare))
            for row in sheet.rows
        ]
    assert [(row[2], row[3]) for row in _rows(root, "recorder")] == [
        (f"{row.frame} {row.direction} {row.number}", row.name) for row in packed.recorder
    ]
    assert [row[2] for row in _rows(root, "rest")] == [file.sha256 for file in packed.files]


def test_far_ends_ways_and_cables_are_on_the_page(tmp_path: Path) -> None:
    text = (SCENARIOS / "quay-mix-rig.toml").read_text(encoding="utf-8")
    text = text.replace('"hardware/', f'"{SCENARIOS}/hardware/') + FAR_ENDS
    (tmp_path / "rig.toml").write_text(text, encoding="utf-8")
    packed = solver.pack(tmp_path / "rig.toml", SCENARIOS / "quay-mix-rig-next-drawn.toml", made_on=DAY)
    root = _parsed(page_html(packed))
    rows = {row[0]: row[-1] for row in _rows(root, "channels")}
    first = next(row for row in packed.channels.rows if row.need == "outboard returns")
    assert (first.far_end, len(first.via), first.cables) == ("rack 1", 1, ["C7"])
    assert rows["M in 1"] == f"rack 1, booth; {first.via[0]}; cable C7"
    assert rows["M out 9"] == "-"
    (loom,) = (loom for loom in packed.looms.looms if loom.name == "M1-in")
    ends = [row[-1] for row in _rows(root, "looms") if row[0].startswith("in") and len(row) == 7]
    assert ends[:8] == [line.far_end for line in loom.lines]
    assert [label.at for label in packed.labels.labels if label.on == "cable"] == ["C7, card end", "C7, other end"]


def test_what_is_set_on_cards_is_on_their_sheet() -> None:
    packed = _packed("mix rig")
    (frame,) = packed.report.builds[0].frames
    entry = CardSetTo(slot=1, setting="full scale", direction="in", to="+18 dBu", channels="1-4")
    slots = [frame.slots[0].model_copy(update={"settings": [entry]}), *frame.slots[1:]]
    frames = [frame.model_copy(update={"slots": slots})]
    build = packed.report.builds[0].model_copy(update={"frames": frames})
    report = packed.report.model_copy(update={"builds": [build]})
    page = page_html(packed.model_copy(update={"report": report}))
    assert "Set on line-in-8 in slot 1</b> full scale, channels 1-4 +18 dBu" in page


def test_every_box_to_tick_of_a_test_is_on_the_page(packed: Pack) -> None:
    root = _parsed(page_html(packed))
    for sheet, name in zip(packed.tests, ("tests", "tests-30", "tests-all"), strict=True):
        (own,) = (found for found in root.iter(f"{H}section") if found.get("id") == name)
        boxes = sum(element.get("class") == "box" for element in own.iter())
        assert boxes == len(sheet.clock) + sum(len(row.checks) for row in sheet.rows)


def test_a_bay_is_there_from_the_front_and_mirrored_from_the_rear() -> None:
    packed = _packed("mix rig")
    rows = _rows(_parsed(page_html(packed)), "bays")
    bay = packed.bays[0]
    first = bay.pairs[0].places[: bay.block]
    assert rows[0] == ["A from", *(place.upper or "-" for place in first)]
    assert rows[1] == ["normal", *(place.normal for place in first)]
    assert rows[2] == ["B to", *(place.lower or "-" for place in first)]
    bands = 3 * 2  # of 24 points in blocks of 8, and two pairs of rows
    last = bay.pairs[0].places[-bay.block :]
    assert rows[3 * bands] == ["A from", *(place.upper or "-" for place in reversed(last))]
    points = sorted((pair.upper_row, place.point) for pair in bay.pairs for place in pair.places)
    assert points == [(row, point) for row in "AC" for point in range(1, 25)]


def test_faulty_is_on_every_sheet_and_in_the_heads_of_pages() -> None:
    faulty, clean = page_html(_packed("filled, faulty")), page_html(_packed("mix rig"))
    root = _parsed(faulty)
    headings = [_text(element) for element in root.iter(f"{H}h2")]
    assert len(headings) >= 9
    assert all(heading.endswith("FAULTY") for heading in headings)
    assert '@top-center { content: "FAULTY"' in faulty
    assert "FAULTY" not in clean.replace("FAULTY-", "")


@pytest.mark.parametrize("hostile", HOSTILE)
def test_a_name_is_shown_as_it_is_and_never_run(tmp_path: Path, hostile: str) -> None:
    quoted = hostile.replace("\\", "\\\\").replace('"', '\\"')
    for file in ("quay-mix-rig", "quay-mix-rig-next-drawn"):
        text = (SCENARIOS / f"{file}.toml").read_text(encoding="utf-8").replace('"hardware/', f'"{SCENARIOS}/hardware/')
        for name in ("Gannet Quay, mix rig", "outboard returns", "P1", "M"):
            text = text.replace(f'"{name}"', f'"{quoted} {name}"').replace(f"{{ {name} = ", f'{{ "{quoted} {name}" = ')
        (tmp_path / f"{file}.toml").write_text(text, encoding="utf-8")
    found = solver.pack(tmp_path / "quay-mix-rig.toml", tmp_path / "quay-mix-rig-next-drawn.toml", made_on=DAY)
    page = page_html(found)
    root = _parsed(page)
    shown = " ".join(hostile.split())
    assert f"{shown} Gannet Quay, mix rig, 44.1 kHz" in [_text(element) for element in root.iter(f"{H}h1")]
    rows = _rows(root, "channels")
    assert rows[0][:2] == [f"{shown} M in 1", f"{shown} outboard returns 1"]
    assert _text(next(root.iter(f"{H}h2"))) == f"Frame {shown} M: for the rack door"
    elements = [str(element.tag) for element in root.iter()]
    assert (elements.count(f"{H}script"), elements.count(f"{H}style"), elements.count(f"{H}img")) == (1, 1, 0)
    assert not [key for element in root.iter() for key in element.attrib if key.startswith("on")]
    for svg in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        ET.fromstring(svg)


def test_four_frames_of_256_channels_make_a_page_under_400_kilobytes(tmp_path: Path) -> None:
    found = solver.pack(*write_four_frames(tmp_path), made_on=DAY)
    assert [row.need is None for row in found.channels.rows] == [False] * 256
    assert (found.faults, len(found.looms.looms)) == ([], 32)
    assert len(page_html(found).encode()) < 400_000


def _inside(inner: Box, outer: Box) -> bool:
    return (
        inner.x >= outer.x - 0.01
        and inner.y >= outer.y - 0.01
        and inner.x + inner.width <= outer.x + outer.width + 0.01
        and inner.y + inner.height <= outer.y + outer.height + 0.01
    )


def _cards(drawn: Rear) -> list[Box]:
    return [box for box in drawn.boxes if box.sort in ("card", "empty")]


def test_the_drawing_has_every_slot_in_its_place_and_every_text_in_its_card() -> None:
    cards = 0
    for seed in range(200):
        found = _made_up(seed)
        for frame in (frame for build in found.report.builds for frame in build.frames):
            if any(fault.rule == "seats" for fault in found.faults):
                continue
            drawn = rear(frame, found.looms.looms)
            boxes = _cards(drawn)
            assert len(boxes) == sum(1 if slot.card else len(slot.slots) for slot in frame.slots)
            for n, box in enumerate(boxes):
                assert any(_inside(box, panel) for panel in drawn.panels)
                assert not any(_inside(box, other) for other in boxes[:n])
            for words in drawn.words:
                long = words.size * LETTER * len(words.text)
                wide, high = (words.size, long) if words.turned else (long, words.size)
                own = Box(words.x - wide / 2, words.y - high / 2, wide, high, "")
                if words.sort in ("name", "in", "out", "none", "plug"):
                    assert any(_inside(own, box) for box in boxes), words
            for plug in drawn.plugs:
                own = Box(plug.x, plug.y, plug.width, plug.height, "")
                assert any(_inside(own, box) for box in boxes), plug
            cards += sum(box.sort == "card" for box in boxes)
    assert cards > 200


@pytest.mark.parametrize(
    ("side", "seen"), [("left", "1 2 3-4"), ("right", "3-4 2 1"), ("top", "1 2 3-4"), ("bottom", "3-4 2 1")]
)
def test_slot_1_is_on_its_own_side(side: str, seen: str) -> None:
    frame = FrameReport.model_validate(
        {
            "name": "A",
            "room": None,
            "chassis": "petrel-4",
            "board": "shale-64",
            "straps": {},
            "cards": {},
            "slot_1": side,
            "slots": [
                {"slots": [1], "card": "mic-8", "in": "1-8", "out": "-"},
                {"slots": [2], "card": None},
                {"slots": [3, 4], "card": "line-out-16", "in": "-", "out": "1-16"},
            ],
        }
    )
    drawn = rear(frame, [])
    told = [words for words in drawn.words if words.sort == "slot"]
    flat = side in ("top", "bottom")
    assert " ".join(words.text for words in sorted(told, key=lambda w: w.y if flat else w.x)) == seen
    wide = max(_cards(drawn), key=lambda box: box.height if flat else box.width)
    narrow = min(_cards(drawn), key=lambda box: box.height if flat else box.width)
    assert wide.sort == "card"
    assert (wide.height if flat else wide.width) > 1.9 * (narrow.height if flat else narrow.width)


@pytest.mark.parametrize("side", ["left", "right", "top"])
@pytest.mark.parametrize("hottest", [[2, 3], [2]])
def test_the_hottest_gap_is_marked_between_its_slots_or_at_the_one_beside_it(
    side: Literal["left", "right", "top"], hottest: list[int]
) -> None:
    slots = [Slot(slots=[n], card="mic-8", inputs="-", outputs="-") for n in (1, 2, 3)]
    frame = FrameReport(
        name="A",
        room=None,
        chassis="petrel-4",
        board="shale-64",
        straps={},
        cards={},
        slot_1=side,
        slots=slots,
        cooling=Cooling(margin_k=12.7, frame="A", slots=hottest),
    )
    drawn = rear(frame, [])
    (mark,) = drawn.marks
    flat = side == "top"
    edges = [(box.y, box.y + box.height) if flat else (box.x, box.x + box.width) for box in _cards(drawn)]
    first, second, third = edges if side != "right" else edges[::-1]
    at = mark.y if flat else mark.x
    if len(hottest) == 1:
        assert at == pytest.approx(sum(second) / 2)
    else:
        before, after = sorted((second, third))
        assert before[1] <= at <= after[0]
    assert mark.text.text == "hottest gap, about 12 K to spare"
    assert first != second


def test_a_frame_of_many_slots_goes_on_below_and_is_marked_once() -> None:
    slots = [Slot(slots=[n], card="mic-8", inputs=f"{8 * n - 7}-{8 * n}", outputs="-") for n in range(1, 37)]
    for hottest in ([17, 18], [18, 19], [19, 20]):
        frame = FrameReport(
            name="A",
            room=None,
            chassis="petrel-36",
            board="shale-64",
            straps={},
            cards={},
            slots=slots,
            cooling=Cooling(margin_k=12.7, frame="A", slots=hottest),
        )
        drawn = rear(frame, [])
        assert len(drawn.panels) == 2
        assert [words.text for words in drawn.words if words.sort == "end" and "continued" in words.text] == [
            "continued below: slots after 18"
        ]
        (mark,) = drawn.marks
        assert (mark.y < drawn.panels[1].y) == (hottest[0] <= 18)


def test_straps_are_drawn_closed_open_or_to_be_asked(tmp_path: Path) -> None:
    packed = _packed("filled, faulty")
    headers = {header.group: header for header in packed.headers}
    assert [(strap.name, strap.state) for strap in headers["input width"].straps] == [
        ("W1", "closed"),
        ("W2", "open"),
        ("W3", "open"),
    ]
    page = page_html(packed)
    drawings = dict(re.findall(r'aria-label="Straps ([^:]+): [^"]*">(.*?)</svg>', page, re.DOTALL))
    assert drawings.keys() == headers.keys()
    for group, drawing in drawings.items():
        rects = re.findall(r'<rect class="(closed|open|ask)"', drawing)
        assert rects == [strap.state for strap in headers[group].straps]
        assert re.findall(r">([^<\n]+)</text>", drawing)[::2] == [strap.name for strap in headers[group].straps]
    switch = _packed("mix rig").headers[0]
    assert (switch.kind, switch.positions, switch.position) == ("switch", ["1", "2", "3"], "2")


@pytest.mark.parametrize(
    ("kind", "shape"),
    [
        ("db25", "dsub"),
        ("xlr", "xlr"),
        ("jack-6.35", "jack"),
        ("bantam", "jack"),
        ("bnc-75", "bnc"),
        ("rj45", "rj45"),
        ("screws", "other"),
    ],
)
def test_connectors_are_drawn_by_what_they_are(kind: str, shape: str) -> None:
    assert shape_of(kind) == shape
