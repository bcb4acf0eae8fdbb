"""Rows for a spreadsheet, of which it runs none."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from solver.files.cells import guarded


def csv_text(names: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows as RFC 4180 has them: a header, commas, lines that end with CR and LF.

    A text that a spreadsheet would run as a formula begins with an apostrophe; lists are joined by blanks, true is
    ``yes``, false and None are empty.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(names)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, list):
        value = " ".join(value)
    text = "" if value is None else str(value)
    return guarded(text) if isinstance(value, str) else text
