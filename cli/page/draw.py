"""The page of a pack: one HTML file that fetches nothing, and says so to the browser."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import cache
from itertools import groupby
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from cli.page.elevation import elevation
from cli.page.rear import rear
from cli.page.strips import strips
from solver.reports import tree_words
from solver.reports.cards_set import settings_words
from solver.reports.channels import ChannelRow
from solver.reports.pack import Pack
from solver.reports.rack_words import LIFTING, facts, place_row
from solver.reports.wording import kilohertz
from solver.reports.work_order import TestRow
from solver.room.words import channel_told, write_ranges

RACK_HEADS = ("Units", "Thing", "kg", "Lift", "On rails", "mm deep", "Watts")
"""Headings of what stands in a rack."""

TEMPLATES = Path(__file__).parent / "templates"


def page_html(pack: Pack) -> str:
    """The whole page."""
    script = _environment().get_template("search.js").render()
    return _drawn(
        "page.html",
        pack,
        script,
        frames=[frame for build in pack.report.builds for frame in build.frames],
        rates=_rates(pack),
        clock_from=_clock_from(pack),
        trees={tree.room: tree for tree in (pack.clock.trees if pack.clock else []) if tree.lines},
        build=pack.report.builds[0],
    )


def labels_html(pack: Pack, wide: Decimal) -> str:
    """The sheet of labels, each so many millimetres wide."""
    return _drawn("labels.html", pack, None, wide=wide, strips=strips(pack, float(wide)))


def _drawn(template: str, pack: Pack, script: str | None, **more: object) -> str:
    """A template with what all of them have."""
    env = _environment()
    style = Markup(env.get_template("page.css").render(pack=pack, title=_title(pack)))
    allowed = _allowed(style, script)
    return env.get_template(template).render(
        pack=pack, title=_title(pack), style=style, script=Markup(script or ""), allowed=allowed, **more
    )


def _allowed(style: str, script: str | None) -> str:
    """A policy that lets nothing in but the style and the script that are in the page."""
    own = {"style-src": style, "script-src": script}
    told = [f"{what} 'sha256-{_digest(text)}'" for what, text in own.items() if text is not None]
    return "; ".join(["default-src 'none'", *told, "base-uri 'none'", "form-action 'none'"])


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _title(pack: Pack) -> str:
    room = f", {pack.room}" if pack.room else ""
    return f"{pack.scenario}{room}, {kilohertz(pack.sample_rate)}"


def _rates(pack: Pack) -> dict[str | None, str]:
    """The sample rate of each room, by its name."""
    return {None: kilohertz(pack.sample_rate)} | {room.name: kilohertz(room.sample_rate) for room in pack.report.rooms}


def _clock_from(pack: Pack) -> dict[tuple[str | None, str], str]:
    """What frames and other devices get their clock from, by room and name, where the scenario draws it."""
    trees = [] if pack.clock is None else pack.clock.trees
    return {(tree.room, name): source for tree in trees for name, source in tree_words.sources(tree).items()}


def css_string(text: str) -> str:
    """A text as a string of CSS, every sign in it by its number so that it ends neither the string nor the style."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text) + '"'


def mm(number: float | Decimal) -> str:
    """A length with as few digits as two decimals take."""
    return f"{number:.2f}".rstrip("0").rstrip(".")


def how(row: TestRow) -> tuple[str, str, str]:
    """How a number is tested, in three phrases."""
    return f"{row.signal} {row.direction}: send {row.send}", f"see it on {row.see}", f"expect {row.expect}"


def short_names(rows: Sequence[ChannelRow]) -> bool:
    """Whether cards, looms and bays have names that need no second line beside each other."""
    return all(len(text or "") <= 14 for row in rows for text in (row.card, row.loom, row.bay))


def letter(number: int) -> str:
    """``1`` as ``a``; from 27 on two letters."""
    return chr(ord("a") + number - 1) if number <= 26 else f"a{letter(number - 26)}"


def groups(rows: Sequence[object], *keys: str) -> list[tuple[tuple[object, ...], list[object]]]:
    """Rows that follow each other and have the same values, with these."""
    told = ((tuple(getattr(row, key) for key in keys), row) for row in rows)
    return [(own, [row for _, row in group]) for own, group in groupby(told, key=lambda pair: pair[0])]


def turned(things: Iterable[object], backwards: bool) -> list[object]:
    """The same from the other side where that is asked for."""
    return list(things)[::-1] if backwards else list(things)


@cache
def _environment() -> Environment:
    env = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=lambda name: name is not None and not name.endswith((".css", ".js")),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters.update(ranges=write_ranges, css_string=css_string, mm=mm, letter=letter, how=how)
    env.filters.update(groups=groups, turned=turned)
    env.globals.update(rear=rear, told=channel_told, settings_words=settings_words, short_names=short_names)
    env.globals.update(
        elevation=elevation, rack_columns=RACK_HEADS, rack_facts=facts, place_row=place_row, lifting=LIFTING
    )
    env.filters.update(kilohertz=kilohertz)
    env.globals.update(leads=tree_words.leads, clock_columns=tree_words.columns, clock_row=tree_words.line_row)
    env.globals.update(power_up=tree_words.power_up, down_with=tree_words.down_with)
    env.globals.update(clock_facts=tree_words.facts, clock_practice=tree_words.PRACTICE)
    return env
