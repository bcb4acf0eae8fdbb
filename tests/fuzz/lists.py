"""Seeded damage to the input list that ships: what spreadsheets, desks and hands leave behind."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

LIST = (Path(__file__).parents[2] / "scenarios/quay-drum-list.csv").read_text(encoding="utf-8")

CELLS = (
    "", " ", "0", "1", "7", "007", "-1", "1.5", "1025", "9" * 5000, "\u0663", "\u00b2", "mic", "Mic ", "mik", "line",
    "in", "OUT", "inn", "drums", "mic in", "name", "signal", "=1+1", "@SUM(A1)", "+4 dBu", "-10", "'=x", "'", '"', '""',
    "a;b", "a,b", "a\nb", "a\r\nb", "\t", "\x00", "\x1b[2J", "\u202e", "\u00a0", "\ufeff", "x" * 121, "x" * 5000,
    "\U0001f941", "Pr\u00e4senz",
)  # fmt: skip
"""What may stand in a cell, or should not."""

Damage = Callable[[random.Random, str], str]


def _cells(rng: random.Random, text: str) -> str:
    """A cell is another one; in quotes, where it has to be, more often than not."""
    lines = text.split("\n")
    at = rng.randrange(len(lines))
    cells = lines[at].split(",")
    cell = rng.choice(CELLS)
    if any(c in cell for c in ',;"\r\n') and rng.random() < 0.8:
        cell = '"' + cell.replace('"', '""') + '"'
    cells[rng.randrange(len(cells))] = cell
    lines[at] = ",".join(cells)
    return "\n".join(lines)


def _letter(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice("\0\a\t\n\r\",;'=\u00e9\u2028\u0085") + text[at + rng.choice((0, 1)) :]


def _cut(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + rng.choice((1, 2, 20, 10**6)) :]


def _lines(rng: random.Random, text: str) -> str:
    """Lines are lost, doubled or exchanged."""
    lines = text.split("\n")
    at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    how = rng.choice(("lost", "doubled", "often", "exchanged", "empty"))
    if how == "lost":
        del lines[at]
    elif how == "exchanged":
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines[at:at] = {"doubled": [lines[at]], "often": [lines[at]] * 1100, "empty": ["", ",,,,,,"]}[how]
    return "\n".join(lines)


def _column(rng: random.Random, text: str) -> str:
    """A column is lost, or stands there twice, or all are turned round."""
    rows = [line.split(",") for line in text.split("\n")]
    at = rng.randrange(len(rows[0]))
    how = rng.choice(("lost", "twice", "round", "many"))
    for row in rows:
        if how == "round":
            row.reverse()
        elif at < len(row):
            row[at : at + 1] = {"lost": [], "twice": [row[at]] * 2, "many": [row[at]] * 70}[how]
    return "\n".join(",".join(row) for row in rows)


def _numbers(rng: random.Random, text: str) -> str:
    """Lines ask for numbers, some of them twice."""
    lines = text.split("\n")
    return "\n".join(
        f"{rng.randint(1, 60)}{line}" if line.startswith(",") and rng.random() < 0.4 else line for line in lines
    )


def _separators(rng: random.Random, text: str) -> str:
    return text.replace(",", rng.choice((";", "\t", "|", " , ")))


DAMAGE: tuple[Damage, ...] = (_cells, _cells, _cells, _letter, _cut, _lines, _column, _numbers, _separators)


def damaged_list(seed: int) -> bytes:
    """The bytes of a list with one to three kinds of damage, in one of the forms that spreadsheets write."""
    rng = random.Random(f"list {seed}")
    text = LIST
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        text = rng.choice(DAMAGE)(rng, text)
    text = text.replace("\n", rng.choice(("\n", "\r\n", "\r")))
    code = rng.choice(("utf-8", "utf-8", "utf-8-sig", "cp1252", "utf-16", "latin-1", "cp437"))
    data = text.encode(code, "replace")
    if rng.random() < 0.05:
        at = rng.randrange(len(data) + 1)
        data = data[:at] + bytes([rng.randrange(256)]) + data[at:]
    return data
