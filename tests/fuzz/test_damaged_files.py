"""Damaged files end in an answer or in faults: no traceback, no internal error, nothing that takes long."""

from __future__ import annotations

from collections import Counter

import pytest
from amounts import some_or_all
from attempt import findings


@pytest.mark.usefixtures("timed")
@some_or_all("sets", 100, 300)
def test_damaged_sets_of_files(sets: int) -> None:
    outcomes: Counter[str] = Counter()
    assert list(findings(range(sets), outcomes)) == []
    # the damage is neither all harmless nor all fatal, and the search is met too
    assert min(outcomes["check exit 0"], outcomes["check exit 1"], outcomes["blocks exit 0"]) >= sets // 20
    assert outcomes["check exit 2"] >= sets // 3
    assert outcomes["plan exit 0"] + outcomes["plan exit 1"] >= sets // 100
