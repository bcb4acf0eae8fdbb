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


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say which marked tests a run leaves out."""
    asked = config.option.markexpr
    for mark in (line.partition(":")[0] for line in config.getini("markers")):
        if f"not {mark}" in asked:
            terminalreporter.write_line(f"left out: tests marked {mark}; `python -m pytest -m {mark}` runs them")


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
