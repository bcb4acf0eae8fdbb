"""At 40 columns every word of a wide screen is there, whole."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from inside import strapwork

COMMANDS = [
    ("plan", "scenarios/quay-mix-rig.toml", "--top", "3"),
    ("plan", "scenarios/quay-tracking-96k.toml", "--top", "2"),
    ("plan", "scenarios/quay-impossible.toml"),
    ("check", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml"),
    ("why", "scenarios/quay-impossible.toml"),
    ("work-order", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml"),
    ("channels", "scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml"),
    ("looms", "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml"),
    ("find", "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml", "slot:M:3"),
    ("find", "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml", "M:out:3"),
    ("list", "scenarios/quay-drum-list.toml", "scenarios/quay-drum-list-drawn.toml"),
    ("labels", "scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml"),
    (
        "diff",
        "scenarios/quay-mix-rig.toml",
        "scenarios/quay-mix-rig-first-drawn.toml",
        "scenarios/quay-mix-rig-next-drawn.toml",
    ),
    ("explain", "scenarios/quay-mix-rig.toml"),
    ("blocks", "scenarios/hardware/quay.toml"),
    ("reach", "scenarios/quay-mix-rig.toml"),
    ("front", "scenarios/quay-mix-rig.toml", "--show", "2"),
]


@pytest.mark.parametrize("arguments", COMMANDS, ids=" ".join)
def test_nothing_is_cut_or_parted_at_40_columns(arguments: tuple[str, ...]) -> None:
    wide = strapwork(*arguments, columns=99)  # from 100 on a front is drawn beside its table
    narrow = strapwork(*arguments, columns=40)
    assert narrow.returncode == wide.returncode
    lines = narrow.stdout.splitlines()
    assert max(map(len, lines)) <= 40
    assert all(line == line.rstrip() for line in lines)
    assert Counter(_words(wide.stdout)) <= Counter(_words(narrow.stdout))


def _words(screen: str) -> list[str]:
    """The words of a screen without the drawn frames, which change with the room that there is."""
    drawn = ("slot |", "card |", "in   |", "out  |", "to  |", "|", "+-", "^")
    key = re.compile(r"([a-z] [a-z0-9-]+(, |,$|$))+")
    lines = [line.strip() for line in screen.splitlines()]
    return [
        word
        for line in lines
        if not line.startswith(drawn) and line != "hottest gap ^" and not key.fullmatch(line)
        for word in line.split()
    ]


@pytest.mark.parametrize("columns", ["0", "1", "19"])
def test_a_terminal_that_claims_to_have_hardly_a_column(columns: str) -> None:
    arguments = COMMANDS[3]
    told = strapwork(*arguments, columns=columns)
    assert told.returncode == 1
    assert told.stdout == strapwork(*arguments, columns=20).stdout
