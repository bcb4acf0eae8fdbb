"""Damaged files end in an answer or in faults: no traceback, no internal error, nothing that takes long."""

from __future__ import annotations

from collections import Counter

from attempt import findings


def test_three_hundred_damaged_sets_of_files() -> None:
    outcomes: Counter[str] = Counter()
    assert list(findings(range(300), outcomes)) == []
    # the damage is neither all harmless nor all fatal, and the search is met too
    assert min(outcomes["check exit 0"], outcomes["check exit 1"], outcomes["blocks exit 0"]) >= 15
    assert outcomes["check exit 2"] >= 100
    assert outcomes["plan exit 0"] + outcomes["plan exit 1"] >= 3
