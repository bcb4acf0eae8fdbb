"""The page of a pack in Debian's Chromium: what axe finds, what it asks for, how it is searched, and how it prints.

Run with ``pytest -m browser``; needs the packages of the extra `browser` and a Chromium on the path, or the one that
STRAPWORK_CHROMIUM names.
"""

from __future__ import annotations

import io
import os
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest
from samples import write_four_frames

import solver
from cli.page.draw import labels_html, page_html
from solver.reports.pack import Pack
from solver.room.words import channel_told

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DAY = date(2026, 3, 1)
PAPERS = ("A4", "Letter")
KINDS = ("rig", "faulty", "four")

ENDS = """
[[tie_line]]
name = "T1"
far = { at = "booth box", numbers = "1-8" }
near = { at = "machine room", numbers = "101-108" }

[[far_end]]
equipment = "plate"
need = "outboard returns"
channels = "1-2"
sockets = "1-2"
place = "booth"
nominal = "+4 dBu"
via = [{ tie_line = "T1", numbers = "3-4" }]

[[far_end]]
equipment = "near fields"
need = "outboard sends"
channels = "1-2"
sockets = "1-2"
feeds = "loudspeaker"
"""

HOSTILE = (
    """"><img src=x onerror=alert(1)><script>alert(2)</script></style>' onload='a()' &lt; \u05e9\u05dc \U0001f3b8"""
)


@dataclass(frozen=True)
class Written:
    """A page with the document that it is drawn from."""

    pack: Pack
    url: str


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    chromium = os.environ.get("STRAPWORK_CHROMIUM") or shutil.which("chromium")
    assert chromium, "no Chromium on the path; STRAPWORK_CHROMIUM may name one"
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="session")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Written]:
    """Write the page of a kind once."""
    folder = tmp_path_factory.mktemp("pages")
    found: dict[str, Written] = {}

    def write(kind: str) -> Written:
        if kind not in found:
            packed = _packed(kind, folder)
            path = folder / f"{kind}.html"
            drawn = labels_html(packed, Decimal("12.5")) if kind == "labels" else page_html(packed)
            path.write_text(drawn, encoding="utf-8")
            found[kind] = Written(packed, path.as_uri())
        return found[kind]

    return write


def _packed(kind: str, folder: Path) -> Pack:
    if kind == "faulty":
        return solver.pack(SCENARIOS / "quay-filled.toml", SCENARIOS / "quay-filled-drawn.toml", made_on=DAY)
    if kind == "four":
        return solver.pack(*write_four_frames(folder), made_on=DAY)
    scenario, build, first = (f"quay-mix-rig{end}.toml" for end in ("", "-next-drawn", "-first-drawn"))
    if kind == "ends":
        text = (SCENARIOS / scenario).read_text(encoding="utf-8").replace('"hardware/', f'"{SCENARIOS}/hardware/')
        (folder / "ends.toml").write_text(text + ENDS, encoding="utf-8")
        return solver.pack(folder / "ends.toml", SCENARIOS / build, old=SCENARIOS / first, made_on=DAY)
    if kind == "hostile":
        for name in (scenario, build):
            text = (SCENARIOS / name).read_text(encoding="utf-8").replace('"hardware/', f'"{SCENARIOS}/hardware/')
            quoted = HOSTILE.replace('"', '\\"')
            for own in ("Gannet Quay, mix rig", "outboard returns", "P1", "M"):
                text = text.replace(f'"{own}"', f'"{quoted}{own[:9]}"')
            text = text.replace("cables = { M =", f'cables = {{ "{quoted}M" =')
            (folder / name).write_text(text, encoding="utf-8")
        return solver.pack(folder / scenario, folder / build, made_on=DAY)
    return solver.pack(SCENARIOS / scenario, SCENARIOS / build, old=SCENARIOS / first, made_on=DAY)


@pytest.fixture
def opened(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Open a page with the network off; at its end nothing else was asked for, refused, run or thrown."""
    contexts = []
    told: list[str] = []

    def open_page(
        url: str, width: int = 1100, scheme: Literal["light", "dark"] = "light", scripts: bool = True
    ) -> Page:
        context = browser.new_context(
            offline=True,
            color_scheme=scheme,
            viewport={"width": width, "height": 800},
            java_script_enabled=scripts,
        )
        context.set_default_timeout(120_000)  # milliseconds: both cores may be busy
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: told.append(f"asks for {request.url}") if request.url != url else None)
        page.on("console", lambda message: told.append(f"says {message.text}"))
        page.on("pageerror", lambda error: told.append(f"throws {error}"))
        page.on("dialog", lambda dialog: told.append(f"asks {dialog.message}"))
        page.goto(url)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert told == []


@pytest.mark.parametrize(
    ("kind", "width", "scheme"),
    [
        ("rig", 1100, "light"),
        ("rig", 1100, "dark"),
        ("rig", 360, "light"),
        ("faulty", 1100, "dark"),
        ("faulty", 360, "light"),
        ("four", 1100, "light"),
        ("four", 1100, "dark"),
        ("four", 550, "light"),
        ("four", 360, "dark"),
        ("ends", 1100, "light"),
        ("ends", 360, "dark"),
        ("hostile", 360, "dark"),
        ("labels", 1100, "dark"),
    ],
)
def test_axe_finds_nothing(
    written: Callable[[str], Written], opened: Callable[..., Page], kind: str, width: int, scheme: str
) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = opened(written(kind).url, width, scheme)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert len(found.response["passes"]) > 20


def test_axe_would_find_something(written: Callable[[str], Written], opened: Callable[..., Page]) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = opened(written("rig").url)
    page.evaluate("document.querySelector('th[scope]').scope = 'x'; document.documentElement.lang = ''")
    found = {violation["id"] for violation in Axe().run(page).response["violations"]}
    assert {"html-has-lang", "scope-attr-valid"} <= found


@pytest.mark.parametrize("width", [320, 550, 1100])
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_wider_than_a_phone_or_half_a_screen(
    written: Callable[[str], Written], opened: Callable[..., Page], kind: str, width: int
) -> None:
    """Half of 1100 is what a zoom of 200 % leaves; wide tables and drawings scroll by themselves."""
    page = opened(written(kind).url, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_search_leaves_the_rows_that_have_every_word(
    written: Callable[[str], Written], opened: Callable[..., Page]
) -> None:
    one = written("rig")
    page = opened(one.url)
    rows = page.locator("tbody tr:visible")
    every = rows.count()
    page.get_by_label("Show only rows with").fill("OUTBOARD  sends 12")
    left = rows.all_inner_texts()
    assert 0 < len(left) < every
    assert all(word in text.lower() for text in left for word in ("outboard", "sends", "12"))
    assert any("outboard sends 12" in " ".join(text.split()) for text in left)
    assert page.locator("#found").inner_text() == f"{len(left)} of {every} rows"
    page.get_by_label("Show only rows with").fill("no such thing")
    assert rows.count() == 0
    page.emulate_media(media="print")
    assert rows.count() == every
    page.emulate_media(media="screen")
    page.get_by_label("Show only rows with").fill("")
    assert rows.count() == every
    assert page.locator("#found").inner_text() == ""


def test_without_scripts_everything_is_there_but_the_search(
    written: Callable[[str], Written], opened: Callable[..., Page]
) -> None:
    one = written("rig")
    page = opened(one.url, scripts=False)
    assert not page.locator("#search").is_visible()
    rows = page.locator("#channels tbody tr")
    assert rows.count() == len(one.pack.channels.rows)
    assert rows.last.is_visible()


def test_the_keyboard_reaches_links_search_and_what_scrolls_and_shows_where_it_is(
    written: Callable[[str], Written], opened: Callable[..., Page]
) -> None:
    page = opened(written("rig").url, 360)
    seen = []
    for _ in range(12):
        page.keyboard.press("Tab")
        seen.append(
            page.evaluate(
                "(e => [e.tagName, e.className, getComputedStyle(e).outlineStyle !== 'none'])(document.activeElement)"
            )
        )
    assert all(shown for _, _, shown in seen)
    assert {tag for tag, _, _ in seen} >= {"A", "INPUT", "DIV"}


def test_every_text_of_a_drawing_stays_within_it(
    written: Callable[[str], Written], opened: Callable[..., Page]
) -> None:
    for kind in KINDS:
        page = opened(written(kind).url)
        out = page.evaluate(
            """() => [...document.querySelectorAll("svg text")].filter((text) => {
              const own = text.getBoundingClientRect(), all = text.ownerSVGElement.getBoundingClientRect();
              return own.left < all.left - 1 || own.right > all.right + 1 || own.bottom > all.bottom + 1;
            }).map((text) => text.textContent)"""
        )
        assert out == []


@pytest.fixture(scope="module")
def printed(browser: Browser, written: Callable[[str], Written]) -> Callable[[str, str], list[str]]:
    """Print the page of a kind once: the text of each page of paper, blanks evened out."""
    from pypdf import PdfReader

    found: dict[tuple[str, str], list[str]] = {}

    def print_page(kind: str, paper: str) -> list[str]:
        if (kind, paper) not in found:
            page = browser.new_page()
            page.goto(written(kind).url)
            sheets = PdfReader(io.BytesIO(page.pdf(format=paper))).pages
            found[kind, paper] = [" ".join(sheet.extract_text().split()) for sheet in sheets]
            page.close()
        return found[kind, paper]

    return print_page


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_row_is_printed_whole_below_its_headings(
    written: Callable[[str], Written], printed: Callable[[str, str], list[str]], kind: str, paper: str
) -> None:
    one, pages = written(kind), printed(kind, paper)
    for row in one.pack.channels.rows:
        number, seat = f"{row.frame} {row.direction} {row.number}", f"{row.slot} {row.card} {row.card_channel}"
        line = f"{number} {row.carries} {seat} {row.loom} {row.hot}/{row.cold or '-'}/{row.shield}"
        own = next((text for text in pages if f"{line} " in f"{text} "), f"missing: {line}")
        assert "Number Carries Slot Card Ch Loom Pins" in own
    for loom in one.pack.looms.looms:
        for wires in loom.lines:
            told = f"{wires.hot} {wires.cold or '-'} {wires.shield}"
            assert any(f"{loom.name} " in text and told in text for text in pages)
    for part in one.pack.work_order.sections:
        for step in part.steps:
            line = f" {step.number} {step.text}".replace("- ", "-")
            own = next((text for text in pages if line in text.replace("- ", "-")), f"missing: {line}")
            assert "Done Step Do Minutes" in own
    whole = next(sheet for sheet in one.pack.tests if sheet.time == "all")
    for test in whole.rows:
        line = (
            f"{test.frame} {test.direction} {test.number} "
            f"{channel_told(test.need, test.channel, test.name, test.spare)} {test.slot}: {test.card_channel}"
        )
        assert any(line in text for text in pages)
    for typed in one.pack.recorder:
        was = "new" if typed.old_number is None else f"{typed.old_frame} {typed.direction} {typed.old_number}"
        line = f"{was} {typed.frame} {typed.direction} {typed.number} {typed.name} {typed.signal}"
        assert any(line in text and "Old number New number" in text for text in pages)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kind", KINDS)
def test_the_sheet_for_the_rack_door_is_one_side_and_every_page_says_what_it_is_of(
    written: Callable[[str], Written], printed: Callable[[str, str], list[str]], kind: str, paper: str
) -> None:
    one, pages = written(kind), printed(kind, paper)
    frames = one.pack.report.builds[0].frames
    for frame in frames:
        begins = [n for n, text in enumerate(pages) if f"Frame {frame.name}: for the rack door" in text]
        ends = [n for n, text in enumerate(pages) if "wins over this sheet" in text and n in begins]
        assert len(begins) == 1
        assert begins == ends
        for word in ("Power up", "Power down", "Clock from", "Breaker", "Spares", "Call", "Known faults"):
            assert word in pages[begins[0]]
        assert ("hottest gap" in pages[begins[0]]) == bool(frame.cooling.slots)
        assert f"Slots of frame {frame.name}" in pages[begins[0] + 1]
    for number, text in enumerate(pages, start=1):
        assert one.pack.scenario in text
        assert f"2026-03-01, revision {one.pack.revision}" in text
        assert "Destroy older sheets" in text
        assert f"{number} of {len(pages)}" in text
        assert text.count("FAULTY") >= (2 if one.pack.faults else 0)
        assert bool(one.pack.faults) or "FAULTY" not in text


def test_a_name_is_shown_and_not_run(written: Callable[[str], Written], opened: Callable[..., Page]) -> None:
    page = opened(written("hostile").url)
    shown = " ".join(HOSTILE.split())
    assert " ".join(page.locator("h1").inner_text().split()).startswith(shown)
    assert page.locator("img").count() == 0
    first = page.locator("#channels tbody tr").first
    assert shown in re.sub(r"\s+", " ", first.inner_text())


def test_labels_are_as_wide_as_they_say(written: Callable[[str], Written], opened: Callable[..., Page]) -> None:
    """A millimetre is 96 / 25.4 of a pixel of CSS, which paper has to scale."""
    page = opened(written("labels").url)
    widths = "[...document.querySelectorAll('rect.cut')].map((cut) => cut.getBoundingClientRect().width * 25.4 / 96)"
    cuts = page.evaluate(widths)
    assert len(cuts) > 100
    assert all(abs(cut - 12.5) < 0.05 for cut in cuts)
    scale = page.evaluate("document.querySelector('.scale path').getBoundingClientRect().width * 25.4 / 96")
    assert abs(scale - 100) < 0.05
