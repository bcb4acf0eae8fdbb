"""How much of a thing every run of the tests takes, and how much the slow one does."""

from __future__ import annotations

import pytest


def some_or_all(name: str, some: object, everything: object) -> pytest.MarkDecorator:
    """Give a test some of what it is for in every run, and everything in the slow one."""
    slow = pytest.param(everything, marks=pytest.mark.slow, id="all")
    return pytest.mark.parametrize(name, [pytest.param(some, id="some"), slow])
