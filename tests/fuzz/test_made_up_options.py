"""Options of every command, with values in and out of reason: an answer or words, and nothing written elsewhere."""

from __future__ import annotations

import os
from collections import Counter

import pytest
from amounts import some_or_all
from attempt import findings_of_options

from cli.main import cli

SEEDS = range(int(os.environ.get("STRAPWORK_OPTIONS", "250")))
"""Command lines that the slow test tries; the others are the first of them."""


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with a name are for POSIX")
@some_or_all("seeds", SEEDS[:100], SEEDS)
def test_made_up_command_lines(seeds: range) -> None:
    outcomes: Counter[str] = Counter()
    assert list(findings_of_options(seeds, outcomes)) == []
    # every command is met, and neither refuses everything nor takes everything
    codes = Counter(outcome.rsplit(" ", 1)[1] for outcome in outcomes.elements())
    assert len({outcome.split(" ", 1)[0] for outcome in outcomes}) == len(cli.every())
    assert min(codes["0"], codes["2"]) >= len(seeds) // 10
