"""Builds made up from seeds through all that is handed over: no list, sheet or page falls over, and laws hold."""

from __future__ import annotations

import csv
import io
import json
import random
from collections import Counter
from contextlib import redirect_stdout
from datetime import date
from decimal import Decimal

from amounts import some_or_all
from connected import connected, with_bays
from hostile import PIECES, with_hostile_names
from two_builds import two_builds

from cli.page.draw import labels_html, page_html
from cli.screen.channels import show_channels
from cli.screen.diff import show_difference
from cli.screen.find import show_found
from cli.screen.input_list import show_list
from cli.screen.labels import show_labels
from cli.screen.looms import show_looms
from cli.screen.work_order import show_work_order
from solver.answers.asking import TESTED
from solver.answers.channels import channels
from solver.answers.diff import diff
from solver.answers.find import find
from solver.answers.input_list import input_list
from solver.answers.pack import pack
from solver.answers.work_order import work_order
from solver.files.reading import Loaded
from solver.room.build import Build
from solver.room.signals import NEVER_ON_JACKS

HOSTILE = 3
"""Every so many builds have hostile names."""


def _handed_over(seed: int) -> tuple[Loaded, Build, Build]:
    """A scenario with connectors, bays, and now and then hostile names, an earlier build of it and a later one."""
    pair, draw = two_builds(seed), random.Random(seed)
    loaded = Loaded(with_bays(seed, pair), connected(seed, pair.hardware))
    if seed % HOSTILE:
        return loaded, pair.old, pair.new
    named, new = with_hostile_names(seed, draw, pair, pair.new)
    bays = tuple(bay for bay in loaded.scenario.bay if not set(bay.signals) & NEVER_ON_JACKS)
    scenario = named.scenario.model_copy(update={"bay": bays})
    return Loaded(scenario, named.hardware), pair.old.model_copy(update={"frame": ()}), new


@some_or_all("seeds", range(12), range(5000))
def test_no_sheet_falls_over_and_laws_hold(seeds: range) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        loaded, old, new = _handed_over(seed)
        minutes = list(TESTED.values())[seed % 3]
        packed = pack(loaded, new, date(2026, 1, 2), old)
        order, difference = work_order(loaded, new, old, time=minutes), diff(loaded, old, new)
        rows = channels(loaded, new).rows
        told = io.StringIO()
        with redirect_stdout(told):
            show_channels(packed.channels)
            show_looms(packed.looms)
            show_labels(packed.labels)
            show_difference(difference)
            show_work_order(order)
            show_list(input_list(loaded, new))
        for row in rows[:: max(1, len(rows) // 4)]:
            asked, place = f"{row.frame}:{row.direction}:{row.number}", (row.frame, row.direction, row.number)
            found = find(loaded, new, asked)
            others = [own for own in found.channels if (own.frame, own.direction, own.number) != place]
            assert len(found.channels) - len(others) == 1, seed
            named = [{own.need, own.carries, (own.far_end or "").rpartition(" ")[0]} for own in others]
            assert all(asked in names for names in named), seed  # a need, channel or equipment of that name
            with redirect_stdout(told):
                show_found(found)
            met["found"] += 1
        numbers = Counter((row.frame, row.direction, row.number) for row in rows)
        assert max(numbers.values(), default=1) == 1, seed
        pins = Counter(
            (loom.name, pin)
            for loom in packed.looms.looms
            for line in loom.lines
            for pin in (line.hot, line.cold)
            if pin
        )
        assert max(pins.values(), default=1) == 1, seed
        assert diff(loaded, new, new).nothing_to_do, seed
        for name, text in packed.tables().items():
            widths = {len(line) for line in csv.reader(io.StringIO(text, newline=""))}
            assert len(widths) == 1, (seed, name)
        page, strips = page_html(packed), labels_html(packed, Decimal(50))
        assert page.count("<section") == page.count("</section>")
        run = [need.name for need in loaded.scenario.need if "<" in need.name and need.name not in PIECES]
        assert not [name for name in run if name in page or name in strips], seed
        assert json.loads(packed.as_json())["outcome"] == packed.outcome
        assert all(line.isprintable() for line in told.getvalue().split("\n")), seed
        met["steps"] += sum(len(section.steps) for section in order.sections)
        met["hostile"] += seed % HOSTILE == 0
    assert all(met[what] > len(seeds) // 4 for what in ("found", "steps", "hostile")), met
