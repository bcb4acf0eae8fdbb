"""Makes other planners and the generators importable, keeps generated cases the same, and times without coverage."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

sys.path[:0] = [
    str(Path(__file__).parent / folder) for folder in (".", "oracle", "rules", "texts", "fuzz", "benchmarks")
]

settings.register_profile("ci", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None)
settings.load_profile("ci")


@pytest.fixture
def timed() -> Iterator[None]:
    """For a test that holds code to a time: where coverage is measured, that waits meanwhile."""
    coverage = sys.modules.get("coverage")
    measuring = coverage.Coverage.current() if coverage else None
    if measuring is not None:
        measuring.stop()
    yield
    if measuring is not None:
        measuring.start()
