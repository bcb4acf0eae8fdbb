"""Hostile names everywhere on a path: shown on every list, found again, run by no spreadsheet, nothing falls over."""

from __future__ import annotations

import csv
import io
import random
import unicodedata
from collections import Counter
from collections.abc import Iterator
from importlib import import_module
from typing import Any

import pytest
from amounts import some_or_all
from connected import connected
from hostile import PIECES, hostile, with_hostile_names
from two_builds import two_builds

from solver.answers.channels import channels
from solver.answers.find import find
from solver.answers.labels import labels
from solver.answers.looms import looms
from solver.files.cells import RUNS_A_FORMULA
from solver.files.reading import Loaded
from solver.reports.spreadsheet import csv_text
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.scenario import Need


def _asked(loaded: Loaded, build: Build, name: str) -> str:
    """What was asked, as the document has it, or why nothing was found."""
    try:
        return find(loaded, build, name).asked
    except WrongQuestion as wrong:
        return str(wrong)


@some_or_all("seeds", range(60), range(700))
def test_names_are_shown_and_found_again_whatever_they_are(seeds: Any) -> None:
    met: Counter[str] = Counter()
    for seed in seeds:
        draw = random.Random(seed)
        pair = two_builds(seed)
        loaded, build = with_hostile_names(seed, draw, pair, pair.new)
        document = channels(loaded, build, by="far-end")
        for text in (document.as_csv(), looms(loaded, build).as_csv(), labels(loaded, build).as_csv()):
            for line in csv.reader(io.StringIO(text, newline="")):
                assert not any(cell.startswith(RUNS_A_FORMULA) for cell in line)
            met["tables"] += 1
        for row in document.rows:
            if row.far_end is None or row.need is None:
                continue
            number = f"{row.frame}:{row.direction}:{row.number}"
            for name in filter(None, (number, f"far:{row.far_end}", f"{row.need} {row.channel}", row.name)):
                found = find(loaded, build, name).channels
                assert any((c.frame, c.direction, c.number) == (row.frame, row.direction, row.number) for c in found)
                met["found"] += 1
        for name in (hostile(draw) for _ in range(30)):
            told = _asked(loaded, build, name)
            assert len(told) < 700
            assert told.isprintable()
            met["asked"] += 1
    assert met["found"] > len(seeds)
    assert met["asked"] == 30 * len(seeds)


def test_the_names_are_hostile() -> None:
    draw = random.Random(1)
    names = [hostile(draw) for _ in range(2000)]
    assert len(set(names)) > 1400
    assert any(unicodedata.bidirectional(c) == "R" for name in names for c in name)
    assert sum(name.startswith(RUNS_A_FORMULA) for name in names) > 100
    for name in names:
        Need.model_validate({"name": name, "direction": "in", "signal": "mic", "channels": 1})


def _tables() -> Iterator[str]:
    """The tables of some builds, and one of names that a spreadsheet might run."""
    for seed, piece in enumerate(piece for piece in PIECES if piece.isprintable()):
        pair = two_builds(seed)
        loaded = Loaded(pair.scenario, connected(seed, pair.hardware))
        for document in (channels(loaded, pair.new), looms(loaded, pair.new), labels(loaded, pair.new)):
            yield document.as_csv()
        yield csv_text(("name", "number"), [(piece, 1), (f"={piece}", 2), (f"+{piece}", 3), (f"@{piece}", 4)])


def _kept(rows: list[list[str]]) -> list[list[tuple[str, str]]]:
    """Each cell of a workbook of openpyxl with what it is, saved and loaded; texts that begin with = are run."""
    openpyxl: Any = import_module("openpyxl")
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    file.seek(0)
    return [[(c.value or "", c.data_type) for c in row] for row in openpyxl.load_workbook(file).active.iter_rows()]


def test_a_workbook_has_every_cell_as_it_was_and_no_formula() -> None:
    met = 0
    for text in _tables():
        rows = list(csv.reader(io.StringIO(text, newline="")))
        assert len({len(row) for row in rows}) == 1
        kept = _kept(rows)
        assert [[value for value, _ in row] for row in kept] == rows
        assert "f" not in {kind for row in kept for _, kind in row}
        met += len(rows)
    assert met > 1000


@pytest.mark.parametrize("text", ["=1+1", "=SUM(A1)"])
def test_a_workbook_would_take_it_for_a_formula(text: str) -> None:
    assert _kept([[text]]) == [[(text, "f")]]
    ((_, guarded),) = csv.reader(io.StringIO(csv_text(("a", "b"), [("x", text)]).split("\r\n", 1)[1]))
    assert _kept([[guarded]])[0][0][1] == "s"
